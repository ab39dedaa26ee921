"""Looking ahead: the settings of a run, and its result."""

from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from genetics.herd.projection import (
    FIRST_MATED_DAYS,
    RUNS,
    ProjectionRequest,
    losses_of,
    start_look_ahead,
    stock_of,
)
from genetics.matings.showable_rate import outlook_of
from genetics.models import LookAhead
from herdbook.book.models import Animal, Herd, Limits

from ..common.access import herd_of
from ..common.formatting import coefficient, rounded
from .forms import NAMES, AheadForm
from .plot import Plot, Row, plot_rules

_EARLIER = 5


@dataclass(frozen=True)
class Measure:
    """A figure of the runs: its name, and how a value of it is written."""

    name: str
    title: str | Promise
    word: Callable[[float], str]


def _count(value: float) -> str:
    return rounded(value, 1)


MEASURES = (
    Measure("one_dose", gettext_lazy("Clean marked"), _count),
    Measure("showable", gettext_lazy("Showable"), _count),
    Measure("overmarked", gettext_lazy("Overmarked"), _count),
    Measure("selfs", gettext_lazy("Selfs"), _count),
    Measure("inbreeding", gettext_lazy("Inbreeding"), coefficient),
    Measure("lines", gettext_lazy("Founders kept"), _count),
)


@dataclass(frozen=True)
class Cell:
    """A measure of one season in words: the median, and the range of eight in ten runs."""

    title: str | Promise
    median: str
    band: str = ""
    mean: str = ""


@dataclass(frozen=True)
class Rule:
    """One rule as the page shows it; `last` is its last season, `seasons` all."""

    number: int
    name: str
    last: tuple[Cell, ...]
    seasons: tuple[tuple[int, tuple[Cell, ...]], ...]


@login_required
def ask_ahead(request: HttpRequest) -> HttpResponse:
    """Choose the settings of a run, or open an earlier one."""
    herd = herd_of(request)
    today = timezone.localdate()
    stock = stock_of(herd, today)
    outlook = outlook_of(herd, on=today)
    form = AheadForm(
        request.POST if request.method == "POST" else None,
        herd=herd,
        stock=stock,
        losses=losses_of(herd, outlook),
        good=outlook.good,
    )
    can = bool(stock.boars and stock.sows)
    if can and form.is_valid():
        row = start_look_ahead(herd, request.user, form.asked, today)
        return redirect("look-ahead", row.public_id)
    earlier = [(row, _names(row, herd)) for row in LookAhead.objects.filter(herd=herd)[:_EARLIER]]
    context = {"form": form, "stock": stock, "can": can, "earlier": earlier, "runs": RUNS}
    return render(request, "ahead/ask.html", context)


@require_safe
@login_required
def show_ahead(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """The result of a run, or how far it has come."""
    herd = herd_of(request)
    row = get_object_or_404(
        LookAhead.objects.filter(herd=herd).select_related("job"), public_id=public_id
    )
    asked = ProjectionRequest.from_plain(row.asked)
    context = {
        "row": row,
        "asked": asked,
        "found": row.found,
        "first_mated_days": FIRST_MATED_DAYS,
        "mated_from_days": Limits.of(herd).sow_mated_from_days,
    }
    if "series" in row.found:
        measures = [one for one in MEASURES if one.name != "showable" or asked.showable is not None]
        names = _names(row, herd)
        context |= {
            "measures": measures,
            "rules": [
                _rule(number, name, one["measures"], measures)
                for number, (name, one) in enumerate(zip(names, row.found["series"], strict=True))
            ],
            "plots": _plots(row.found["series"], asked),
            "first_lines": _cell(MEASURES[-1], row.found["lines"]),
        }
    return render(request, "ahead/ahead.html", context)


def _names(row: LookAhead, herd: Herd) -> list[str]:
    """The rules of a run, in order, in words."""
    asked = ProjectionRequest.from_plain(row.asked)
    boar = Animal.objects.filter(herd=herd, pk=asked.lost_boar).first() if asked.lost_boar else None
    name = boar.full_name if boar else _("a boar no longer on record")
    return [
        _("%(rule)s, without %(boar)s") % {"rule": NAMES[policy], "boar": name}
        if lost
        else str(NAMES[policy])
        for policy, lost in asked.series
    ]


def _rule(number: int, name: str, found: dict, measures: list[Measure]) -> Rule:
    seasons = len(found["lines"])
    told = tuple(
        (season + 1, tuple(_cell(one, found[one.name][season]) for one in measures))
        for season in range(seasons)
    )
    return Rule(number, name, told[-1][1], told)


def _cell(measure: Measure, row: Row) -> Cell:
    values = [value for value in row if value is not None]
    if len(values) < len(row):
        return Cell(measure.title, "–")
    low, median, high, _mean = (measure.word(value) for value in values)
    mean = measure.word(values[3]) if measure.word is coefficient else rounded(values[3], 2)
    return Cell(measure.title, median, _("%(low)s to %(high)s") % {"low": low, "high": high}, mean)


def _plots(series: list[dict], asked: ProjectionRequest) -> list[Plot]:
    """Clean marked pups (those good enough, where that is known), inbreeding, and founders."""
    pups = MEASURES[0] if asked.showable is None else MEASURES[1]
    return [
        plot_rules(one.name, title, [rule["measures"][one.name] for rule in series], _tick(one))
        for one, title in (
            (
                pups,
                _("Clean marked pups per litter")
                if pups is MEASURES[0]
                else _("Showable pups per litter"),
            ),
            (MEASURES[4], _("Inbreeding of the pups")),
            (MEASURES[5], _("Founders kept")),
        )
    ]


def _tick(measure: Measure) -> Callable[[float], str]:
    """A value of an axis: no more places than its steps need."""

    def word(value: float) -> str:
        percent = measure.name == "inbreeding"
        shown = round(100 * value if percent else value, 6)
        places = (
            0 if shown == round(shown) else 1 if round(10 * shown, 6) == round(10 * shown) else 2
        )
        return rounded(shown, places) + ("%" if percent else "")

    return word
