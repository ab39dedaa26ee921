"""Animals with their ancestors and all their figures, read a generation at a time.

One reader for the animal's page, the charts and the sheet. Its queries grow with the generations
asked for, never with the number of animals.
"""

from collections.abc import Iterable

from herdbook.book.models import Animal


def read_ancestors(keys: Iterable[int], generations: int) -> dict[int, Animal]:
    """The animals of these keys and all that may be their ancestors, by key.

    Each comes with its figure, its litter, the boars that may be the sire and their shares. Dam
    and boars stand in the litters ready to use for ``generations`` back from the animals asked
    for; those of the last generation do not.
    """
    found: dict[int, Animal] = {}
    wanted = set(keys)
    for _generation in range(generations + 1):
        found |= {animal.pk: animal for animal in _read(wanted)}
        wanted = {key for one in wanted for key in _parent_keys(found[one])} - found.keys()
        if not wanted:
            break
    for animal in found.values():
        _set_parents(animal, found)
    return found


def _read(keys: Iterable[int]) -> Iterable[Animal]:
    animals = Animal.objects.filter(pk__in=keys).select_related("litter", "herd", "figure")
    return animals.prefetch_related("litter__sires", "litter__sire_shares")


def _parent_keys(animal: Animal) -> Iterable[int]:
    boars = [candidate.boar_id for candidate in animal.litter.sires.all()]
    return boars if animal.litter.dam_id is None else [animal.litter.dam_id, *boars]


def _set_parents(animal: Animal, found: dict[int, Animal]) -> None:
    if animal.litter.dam_id in found:
        animal.litter.dam = found[animal.litter.dam_id]
    for candidate in animal.litter.sires.all():
        if candidate.boar_id in found:
            candidate.boar = found[candidate.boar_id]
