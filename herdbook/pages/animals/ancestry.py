"""An animal's ancestors, handed to the chart as plain values."""

from dataclasses import replace

from django.utils.translation import gettext as _

from genetics.figures.ancestors import read_ancestors
from herdbook.book.models import Animal, Litter
from herdbook.book.models.animal import State
from herdbook.charts import Ancestor, Chart, DrawingError, Sex, ancestors_chart
from herdbook.charts import Animal as Drawn

from ..common.formatting import chance, likeliest_dose
from .filters import PROVED

GENERATIONS = (3, 4, 5)


def draw_ancestors(animal: Animal, generations: int) -> tuple[Chart | None, str]:
    """The chart of so many generations, or None with a sentence that says why there is none."""
    read = read_ancestors([animal.pk], generations)[animal.pk]
    try:
        return ancestors_chart(drawn_ancestors(read, generations), generations), ""
    except DrawingError as error:
        return None, str(error)


def drawn_ancestors(animal: Animal, generations: int) -> Ancestor:
    """The animal with its parents and theirs for the chart, as `read_ancestors` gives them."""
    if generations == 0:
        return Ancestor(drawn_animal(animal))
    sires = (
        replace(drawn_ancestors(boar, generations - 1), share=share)
        for boar, share in _possible_sires(animal.litter)
    )
    dam = animal.litter.dam
    figure = getattr(animal, "figure", None)
    return Ancestor(
        drawn_animal(animal),
        sires=tuple(sires),
        dam=drawn_ancestors(dam, generations - 1) if dam else None,
        parents_related=figure.inbreeding > 0 if figure else None,
    )


def _possible_sires(litter: Litter) -> list[tuple[Animal, str]]:
    """The boars that may be the sire, the likeliest first, with the share of each by
    all records, or as written where nothing is worked out; '' where it can be but one."""
    candidates = list(litter.sires.all())
    if len(candidates) == 1:
        return [(candidates[0].boar, "")]
    total = sum(candidate.weight for candidate in candidates)
    shares = {candidate.boar: candidate.weight / total for candidate in candidates}
    reckoned = {row.boar_id: row.share for row in litter.sire_shares.all()}
    shares |= {boar: reckoned[boar.pk] for boar in shares if boar.pk in reckoned}
    likeliest_first = sorted(shares.items(), key=lambda one: -one[1])
    return [(boar, chance(share)) for boar, share in likeliest_first]


def drawn_animal(animal: Animal) -> Drawn:
    """What a box of a chart says of an animal; its litter and figure are fetched already."""
    figure = getattr(animal, "figure", None)
    return Drawn(
        key=animal.pk,
        name=animal.full_name if animal.name else "",
        number=animal.number or animal.tag,
        sex=Sex(animal.sex or Sex.UNKNOWN),
        born=str(animal.born.year) if animal.born else "",
        look=_look(animal),
        dose=likeliest_dose(figure),
        copies=_proved_dose(figure),
        link=animal.get_absolute_url(),
        died=animal.state == State.DIED,
    )


def _look(animal: Animal) -> str:
    body = animal.get_coat_display() if animal.coat else ""
    points = animal.get_point_colour_display() if animal.point_colour else ""
    return (
        _("%(body)s, points %(points)s") % {"body": body, "points": points}
        if (body and points)
        else body or points
    )


def _proved_dose(figure) -> int | None:
    if figure is None or figure.likeliest is None:
        return None
    return figure.likeliest if figure.chances[figure.likeliest] >= PROVED else None
