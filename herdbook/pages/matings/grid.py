"""All pairs of the herd at once: sows by boars, and the same as a list, best first."""

from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.core.paginator import Page
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from genetics.figures.refresh import ensure_current
from genetics.matings.ranking import Prospect, prospects
from herdbook.book.models import Animal, Herd, Limits, RankingWeights
from herdbook.book.models.animal import Sex
from herdbook.book.rules.mating_cautions import TimeTogether

from ..common.access import herd_of
from ..herd.limits import beyond_sources
from .best import Ranked, best_of, kept_out
from .forms import TimeForm
from .ranking import PairTable, available_pages, pair_address, with_records
from .ranking_weights import WeightsForm

# A wider or longer grid cannot be read; the list below it holds all pairs.
MOST_SOWS, MOST_BOARS = 60, 24
A_PAGE = 20
# So many of a herd are paired at a time; more are on further pages, asked for by these names.
PAIRED: dict[str, int] = {Sex.SOW: 120, Sex.BOAR: 40}
ASKED: dict[str, str] = {Sex.SOW: "sows", Sex.BOAR: "boars"}
# Cells are shaded in so many steps, by their place in the list; what stands last is left white.
STEPS = 3


@dataclass(frozen=True)
class Cell:
    """One pair: showable pups, inbreeding, how many cautions, and how dark it is shaded."""

    prospect: Prospect
    address: str
    shade: int


@dataclass(frozen=True)
class GridRow:
    """A sow of the grid, with a cell for each boar."""

    sow: Animal
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Grid:
    """The best sows by the best boars; ``left_out``: some pairs stand in the list alone."""

    boars: tuple[Animal, ...]
    rows: tuple[GridRow, ...]
    left_out: bool


@require_safe
@login_required
def show_grid(request: HttpRequest) -> HttpResponse:
    """Every available sow with every available boar, a large herd's page by page."""
    standing = ensure_current()
    herd, today = herd_of(request), timezone.localdate()
    limits = Limits.of(herd)
    form = TimeForm(request.GET, limits=limits, today=today)
    weights_form = WeightsForm(request, herd)
    context = {
        "standing": standing,
        "form": form,
        "weights_form": weights_form,
        "beyond": beyond_sources(limits),
    }
    if form.is_valid():
        sows = _page(request, herd, Sex.SOW, form.together)
        boars = _page(request, herd, Sex.BOAR, form.together)
        each = with_records(list(sows.object_list)), with_records(list(boars.object_list))
        found = prospects(herd, *each, form.together, limits, on=today)
        context |= {"together": form.together, "found": found, "sows": sows, "boars": boars}
        if found:
            context |= _shown(request, found, weights_form.weights, form.days_written)
    return render(request, "matings/grid.html", context)


def _page(request: HttpRequest, herd: Herd, sex: str, together: TimeTogether) -> Page:
    """The page of sows or boars that is asked for: a large herd has too many pairs for one."""
    pages = available_pages(herd, sex, together, most=PAIRED[sex])
    return pages.get_page(request.GET.get(ASKED[sex]))


def _shown(request: HttpRequest, found, weights: RankingWeights, days: dict[str, str]) -> dict:
    ranked = found.ranked(weights)
    rows = [
        Ranked(
            prospect,
            prospect.mating.boar,
            pair_address(prospect.mating.sow, prospect.mating.boar, days),
            prospect.score(weights),
            prospect.cautions,
            prospect.mating.least_known,
        )
        for prospect in ranked
    ]
    table = PairTable(rows)
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return {
        "table": table,
        "grid": lay_out(rows),
        "best": best_of([(_pair(row), row) for row in rows], ranked),
        "kept_out": kept_out(ranked),
        "outlook": found.outlook,
    }


def _pair(row: Ranked) -> str:
    mating = row.prospect.mating
    return _("%(sow)s to %(boar)s") % {
        "sow": mating.sow.full_name,
        "boar": mating.boar.full_name,
    }


def lay_out(rows: list[Ranked]) -> Grid:
    """Sows and boars in the order of their best pair, each pair in its cell."""
    sows = list({row.prospect.mating.sow.pk: row.prospect.mating.sow for row in rows}.values())
    boars = list({row.prospect.mating.boar.pk: row.prospect.mating.boar for row in rows}.values())
    best = sum(not row.prospect.grave for row in rows)
    cells = {
        (row.prospect.mating.sow.pk, row.prospect.mating.boar.pk): Cell(
            row.prospect,
            row.address,
            0 if row.prospect.grave else STEPS - (STEPS * place) // best,
        )
        for place, row in enumerate(rows)
    }
    shown = tuple(boars[:MOST_BOARS])
    return Grid(
        shown,
        tuple(
            GridRow(sow, tuple(cells[sow.pk, boar.pk] for boar in shown))
            for sow in sows[:MOST_SOWS]
        ),
        len(sows) > MOST_SOWS or len(boars) > MOST_BOARS,
    )
