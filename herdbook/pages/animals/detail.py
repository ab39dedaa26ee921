"""One animal's page: who it is, its dose, its family, what it weighed and what it showed."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from genetics.figures.refresh import ensure_current
from herdbook.book import limits
from herdbook.book.models import Animal, Litter
from herdbook.book.models.animal import Sex, State

from ..common.access import own_or_404
from ..common.identification import told_apart
from ..common.sires import sire_lines
from ..history import changes_of
from .ancestry import GENERATIONS, draw_ancestors
from .carriers import carried_lines
from .dose import dose_bar
from .family import LitterRow
from .looks import looks_of
from .weights import plot_weights, weights_of

# The last one kept is what is said today.
MOST_SAID = 20


@require_safe
@login_required
def show_animal(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """All that the book knows of an animal, and what follows from it."""
    standing = ensure_current()
    animals = Animal.objects.with_parents().select_related("figure", "photo")
    animal = own_or_404(request, animals, public_id)
    weights = weights_of(animal)
    context = {
        "animal": animal,
        "may_litter": animal.state in (State.IN_HERD, State.ON_LOAN),
        "may_have_littered": _may_have_littered(animal),
        "told_apart": told_apart(animal, timezone.localdate()),
        "standing": standing,
        "figure": getattr(animal, "figure", None),
        "dose_bar": dose_bar(getattr(animal, "figure", None)),
        "carried": carried_lines(animal),
        "said": animal.said.all()[1 : 1 + MOST_SAID],
        "sires": sire_lines(animal.litter),
        "littermates": animal.litter.pups.exclude(pk=animal.pk),
        "litters": _litters(animal),
        "weights": weights[::-1],
        "plot": plot_weights(weights),
        "looks": looks_of(animal),
        "judgements": animal.judgements.order_by("-on", "-pk"),
        **_ancestors(request, animal),
    }
    return render(request, "animals/animal.html", context)


@require_safe
@login_required
def show_changes(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Every change of an animal: who, when, before and after."""
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    return render(
        request, "animals/changes.html", {"animal": animal, "changes": changes_of(animal)}
    )


def _may_have_littered(animal: Animal) -> bool:
    """A sow that is old enough, or of unknown age."""
    grown = limits.SOW_CONCEIVES_FROM_DAYS + limits.GESTATION_SHORTEST_DAYS
    age = animal.age_days(timezone.localdate())
    return animal.sex == Sex.SOW and (age is None or age >= grown)


def _litters(animal: Animal) -> list[LitterRow]:
    own = Q(dam=animal) | Q(sires__boar=animal)
    litters = Litter.objects.filter(own).distinct().with_family()
    return [LitterRow(litter, animal) for litter in litters]


def _ancestors(request: HttpRequest, animal: Animal) -> dict:
    asked = request.GET.get("generations", "")
    generations = int(asked) if asked in map(str, GENERATIONS) else GENERATIONS[0]
    chart, why_none = None, ""
    if animal.litter.has_known_parent:
        chart, why_none = draw_ancestors(animal, generations)
    return {
        "chart": chart,
        "why_no_chart": why_none,
        "generations": generations,
        "generations_to_choose": GENERATIONS,
    }
