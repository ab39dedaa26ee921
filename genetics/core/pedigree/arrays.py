"""A pedigree as flat arrays, for loops over many animals at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from genetics.core.pedigree.litter import Litter

Numbers = NDArray[np.int32]
Figures = NDArray[np.float64]


@dataclass(frozen=True)
class Parentage:
    """Who is whose parent, of n animals in m litters.

    `litter_of` (n,) is each animal's litter, -1 for a founder. Litter k has two sides, the
    possible sires `candidates[start[2k]:start[2k + 1]]` and the possible dams
    `candidates[start[2k + 1]:start[2k + 2]]`, each side's `weights` summing to one; none where
    the parent is unknown. `start` (2m + 1,). Trusted to hold no cycle.
    """

    litter_of: Numbers
    start: Numbers
    candidates: Numbers
    weights: Figures

    @classmethod
    def of(cls, litters: Sequence[Litter], litter_of: Numbers) -> Parentage:
        """From the litters of a pedigree, which has checked them."""
        sides = list(chain.from_iterable((one.sires, one.dams) for one in litters))
        weights = chain.from_iterable((one.sire_weights, one.dam_weights) for one in litters)
        start = _starts(np.fromiter(map(len, sides), np.int32, len(sides)))
        return cls(
            litter_of,
            start,
            np.fromiter(chain.from_iterable(sides), np.int32, start[-1]),
            np.fromiter(chain.from_iterable(weights), np.float64, start[-1]),
        )


def _starts(counts: NDArray[np.generic]) -> Numbers:
    start = np.zeros(len(counts) + 1, dtype=np.int32)
    np.cumsum(counts, out=start[1:])
    return start
