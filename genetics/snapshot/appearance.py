"""The book's words for how an animal looks, as likelihoods: the side door beside ``reading.py``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.loci import Gene, Words
from genetics.snapshot.reading import Reading
from herdbook.book import limits
from herdbook.book.coat_type import CoatType
from herdbook.book.models import Animal, Look
from herdbook.book.models.animal import Coat, EyeColour, PointColour, State
from herdbook.book.models.litter import Source


def words_of(animal: Animal) -> dict[str, set[str]]:
    """What stands in the book of how an animal looks, by the fields that `loci.toml` names.

    'Other' and what is not known say nothing, and notes are not searched for words.
    """
    return {
        "coat": {animal.coat} - {Coat.UNKNOWN, Coat.OTHER},
        "point_colour": {animal.point_colour} - {PointColour.UNKNOWN},
        "eye_colour": {animal.eye_colour} - {EyeColour.UNKNOWN, EyeColour.OTHER},
        "coat_type": set(animal.coat_type.split()),
    }


def appearances(reading: Reading) -> tuple[list[dict[str, set[str]]], NDArray[np.bool_]]:
    """The words for each animal of a reading, and which (n,) are known to have outlived their first
    weeks.

    A white pup of two roans may be white by either gene: of one that is not known to have lived,
    and of which nothing else is written that a breeder sees later, the white says nothing.
    """
    animals = Animal.objects.select_related("litter").in_bulk(reading.keys)
    rows = [animals[key] for key in reading.keys]
    parents = {row for litter in reading.recorded.litters for row in litter.candidates}
    grown = _seen_grown()
    lived = np.array(
        [
            row in parents or animal.pk in grown or _outlived(animal)
            for row, animal in enumerate(rows)
        ],
        dtype=bool,
    )
    words = [words_of(animal) for animal in rows]
    for row in _of_two_roans(reading, words):
        if not (lived[row] or words[row]["point_colour"] or words[row]["coat_type"]):
            words[row]["coat"] -= {Coat.WHITE}
    return words, lived


def _of_two_roans(reading: Reading, words: Sequence[Words]) -> Iterator[int]:
    """The pups of which dam and sire, or all that may be, are written as roan."""
    for litter in reading.recorded.litters:
        sides = (litter.sires, litter.dams)
        if all(
            side and all(CoatType.ROAN in words[row]["coat_type"] for row in side) for side in sides
        ):
            yield from litter.pups


def _seen_grown() -> set[int]:
    """The white animals that were looked at when a lethal white would have been lost."""
    looks = Look.objects.filter(animal__coat=Coat.WHITE).select_related("animal__litter")
    return {
        look.animal_id
        for look in looks
        if (age := look.animal.age_days(look.on)) is not None and age >= limits.LOSS_DAYS
    }


def appearance_likelihood(
    gene: Gene, words: Sequence[dict[str, set[str]]], lived: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Likelihood (n, g) of what animals look like; of those that `lived` (n,), of that too."""
    by_words: dict[tuple, NDArray[np.float64]] = {}
    table = np.ones((len(words), len(gene.pool)))
    for row, one in enumerate(words):
        key = tuple(sorted((field, *sorted(said)) for field, said in one.items()))
        if key not in by_words:
            by_words[key] = gene.likelihood(one)
        table[row] = by_words[key]
    table[lived] *= gene.lives
    return table


def _outlived(animal: Animal) -> bool:
    """Whether an animal came from elsewhere or went to somebody, so that it was weaned."""
    return animal.state in (State.SOLD, State.ON_LOAN) or animal.litter.source == Source.PAPER
