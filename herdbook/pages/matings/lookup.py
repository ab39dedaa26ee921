"""Before a mating: one sow and one boar, or all available mates of one animal."""

from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from genetics.colours.lethal_risks import risks_of_pair
from genetics.colours.litter import litter_colours
from genetics.figures.refresh import ensure_current
from genetics.matings.lookup import LookUp, Mating, look_up
from genetics.matings.ranking import showable_pups
from genetics.matings.showable_rate import outlook_of
from genetics.matings.sow_growth import growth_of_sows
from herdbook.book.models import Animal, Limits
from herdbook.book.rules.genes import cautions_of_genes
from herdbook.book.rules.matings import mating_cautions

from ..animals.ancestry import GENERATIONS
from ..animals.dose import dose_bar
from ..common.access import herd_of
from ..herd.limits import beyond_sources
from .colours import tell_colours
from .forms import MatingForm
from .kinship import (
    draw_litters_ancestors,
    inbreeding_line,
    possible_sires_line,
    tell_kinship,
)
from .ranking import RankingTable, rank_mates
from .ranking_weights import WeightsForm
from .shows import ShowForm, class_rows, classes_at
from .verdict import gravest_first, verdict_of

A_PAGE = 100
MOST_COUNTED = 3


@require_safe
@login_required
def show_mating(request: HttpRequest) -> HttpResponse:
    """The look-up of a pair, or the ranking for one animal; the form alone before any is chosen."""
    standing = ensure_current()
    herd, today = herd_of(request), timezone.localdate()
    limits = Limits.of(herd)
    show_form = ShowForm(request.GET, limits=limits, today=today)
    days = show_form.answer.together if show_form.answer else None
    form = MatingForm(request.GET, herd=herd, limits=limits, today=today, days=days)
    context = {
        "form": form,
        "show_form": show_form,
        "standing": standing,
        "beyond": beyond_sources(limits),
    }
    if form.is_valid():
        sow, boar = form.cleaned_data["sow"], form.cleaned_data["boar"]
        context |= {"sow": sow, "boar": boar, "together": form.together}
        if sow and boar:
            context |= _pair(request, form, sow, boar)
        else:
            context |= _ranking(request, form, sow or boar)
    return render(request, "matings/mating.html", context)


def _pair(request: HttpRequest, form: MatingForm, sow: Animal, boar: Animal) -> dict:
    found, growth = look_up(sow, boar), growth_of_sows(sow.herd)
    show_on = form.cleaned_data["show_on"]
    colours = litter_colours(sow, boar)
    lethal, satin = risks_of_pair(sow, boar, colours) if found else (0.0, 0.0)
    cautions = gravest_first(
        (
            *mating_cautions(
                sow,
                boar,
                form.together,
                form.limits,
                inbreeding=found.mating.inbreeding if found else None,
                lightest=growth.lightest(sow, form.together) if growth else None,
                doubted=found.doubted if found else None,
            ),
            *cautions_of_genes(sow, boar, lethal=lethal, satin=satin),
        )
    )
    context = {
        "found": found,
        "classes": class_rows(form.together, form.limits),
        "show_on": show_on,
        "at_the_show": classes_at(form.together, show_on, form.limits) if show_on else "",
        "cautions": cautions,
        "verdict": verdict_of(cautions),
        "colours": colours,
        "colour_parts": tell_colours(colours) if colours else [],
    }
    return context | _computed(request, form, found, lethal) if found else context


def _computed(request: HttpRequest, form: MatingForm, found: LookUp, lethal: float) -> dict:
    asked = request.GET.get("generations", "")
    generations = int(asked) if asked in map(str, GENERATIONS) else GENERATIONS[0]
    chart, why_no_chart = draw_litters_ancestors(found, generations)
    outlook = outlook_of(found.mating.sow.herd, on=form.today)
    return {
        "mating": found.mating,
        "outlook": outlook,
        "showable": showable_pups(found.mating, outlook, lethal=lethal),
        "lethal": lethal,
        "inbreeding_line": inbreeding_line(found.mating.inbreeding, form.limits),
        "possible_sires_line": possible_sires_line(found),
        "dose_bar": dose_bar(found.mating),
        "counts": counts(found.mating),
        "kinship": tell_kinship(found),
        "sides": (
            (found.mating.boar, found.mating.sire_known),
            (found.mating.sow, found.mating.dam_known),
        ),
        "chart": chart,
        "why_no_chart": why_no_chart,
        "generations": generations,
        "generations_to_choose": GENERATIONS,
    }


def _ranking(request: HttpRequest, form: MatingForm, animal: Animal) -> dict:
    weights_form = WeightsForm(request, animal.herd)
    ranking = rank_mates(
        animal,
        form.together,
        form.limits,
        weights_form.weights,
        form.days_written,
        on=form.today,
    )
    context = {"animal": animal, "weights_form": weights_form}
    if ranking is None:
        return context
    table = RankingTable(ranking.rows)
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return context | {
        "table": table,
        "cautions": ranking.of_all,
        "best": ranking.best,
        "kept_out": ranking.kept_out,
        "outlook": ranking.outlook,
    }


@dataclass(frozen=True)
class Count:
    """A size of litter, and the chance of at least one, two, three one-dose pups in it."""

    pups: int
    is_likely: bool
    chances: tuple[float | None, ...]


def counts(mating: Mating) -> list[Count]:
    """The likely size of litter between one less and one more; None where there are too few."""
    found = []
    for pups in range(max(1, mating.size.pups - 1), mating.size.pups + 2):
        chances = mating.at_least(pups)[1 : MOST_COUNTED + 1]
        padded = (*chances, *(None,) * (MOST_COUNTED - len(chances)))
        if chances:
            found.append(Count(pups, pups == mating.size.pups, padded))
    return found
