"""An animal's ancestors, read a generation at a time and handed to the chart as plain values."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from herdbook.book.models import Animal
from herdbook.book.models.animal import State
from herdbook.charts import Ancestor, CannotDraw, Chart, Sex, ancestors_chart
from herdbook.charts import Animal as Drawn

from ..wording import likeliest_dose
from .filters import PROVED

GENERATIONS = (3, 4, 5)


def draw_ancestors(animal: Animal, generations: int) -> tuple[Chart | None, str]:
    """The chart of so many generations, or None with a sentence that says why there is none."""
    try:
        return ancestors_chart(read_ancestors(animal, generations), generations), ""
    except CannotDraw as error:
        return None, str(error)


def read_ancestors(animal: Animal, generations: int) -> Ancestor:
    """The animal with its parents and theirs, in a few queries a generation."""
    found: dict[int, Animal] = {}
    wanted = {animal.pk}
    for _generation in range(generations + 1):
        found |= {one.pk: one for one in _read(wanted)}
        wanted = set(_parent_keys(found[key] for key in wanted)) - found.keys()
        if not wanted:
            break
    return _ancestor(animal.pk, found, generations)


def _read(keys: Iterable[int]) -> Iterable[Animal]:
    animals = Animal.objects.filter(pk__in=keys).select_related("litter", "figure")
    return animals.prefetch_related("litter__sires")


def _parent_keys(animals: Iterable[Animal]) -> Iterable[int]:
    for animal in animals:
        if animal.litter.dam_id:
            yield animal.litter.dam_id
        for candidate in animal.litter.sires.all():
            yield candidate.boar_id


def _ancestor(key: int, found: dict[int, Animal], left: int) -> Ancestor:
    animal = found[key]
    if left == 0:
        return Ancestor(drawn_animal(animal))
    sires = (candidate.boar_id for candidate in animal.litter.sires.all())
    dam = animal.litter.dam_id
    figure = getattr(animal, "figure", None)
    return Ancestor(
        drawn_animal(animal),
        sires=tuple(_ancestor(sire, found, left - 1) for sire in sires),
        dam=_ancestor(dam, found, left - 1) if dam else None,
        parents_related=figure.inbreeding > 0 if figure else None,
    )


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
