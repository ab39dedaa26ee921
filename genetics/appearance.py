"""The book's words for how an animal looks, as likelihoods: the side door beside ``reading.py``."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.loci import Gene
from genetics.reading import Reading
from herdbook.book.models import Animal
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
    weeks."""
    animals = Animal.objects.select_related("litter").in_bulk(reading.keys)
    rows = [animals[key] for key in reading.keys]
    parents = {row for litter in reading.recorded.litters for row in litter.candidates}
    lived = [row in parents or _outlived(animal) for row, animal in enumerate(rows)]
    return [words_of(animal) for animal in rows], np.array(lived, dtype=bool)


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
