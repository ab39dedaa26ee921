"""From a pedigree file to the arrays that the reckoning works on, animals in the file's order."""

import numpy as np
from numpy.typing import NDArray

from genetics.core.evidence import look_likelihood
from genetics.core.pedigree import Litter, Pedigree
from herdbook.exchange.pedigree_file import AnimalRow, PedigreeFile


def pedigree_of(file: PedigreeFile) -> Pedigree:
    """The file's litters. A row without a litter but with a parent is a litter of its own; one
    without either is a founder."""
    place = {row.id: number for number, row in enumerate(file.rows)}
    litters: dict[str | int, list[int]] = {}
    for number, row in enumerate(file.rows):
        if row.litter or row.sires or row.dams:
            litters.setdefault(row.litter or number, []).append(number)
    return Pedigree(
        ids=tuple(row.id for row in file.rows),
        litters=tuple(_litter(pups, file.rows[pups[0]], place) for pups in litters.values()),
    )


def _litter(pups: list[int], first: AnimalRow, place: dict[str, int]) -> Litter:
    return Litter(
        pups=tuple(pups),
        sires=tuple(place[sire] for sire in first.sires),
        sire_weights=first.sire_weights,
        dams=tuple(place[dam] for dam in first.dams),
        dam_weights=first.dam_weights,
    )


def likelihood_of(file: PedigreeFile) -> NDArray[np.float64]:
    """The chance (n, 3) of all that was seen of each animal at dose 0, 1 and 2, the largest made
    one so that any scale will do; all ones where nothing was seen."""
    likelihood = np.ones((len(file.rows), 3))
    for number, row in enumerate(file.rows):
        if row.likelihood is not None:
            likelihood[number] = row.likelihood
        elif row.points:
            likelihood[number] = look_likelihood(row.points, (row.seen - row.born).days)
    return likelihood / likelihood.max(axis=1, keepdims=True)
