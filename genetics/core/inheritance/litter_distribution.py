"""What the next litter will hold.

Littermates share their parents, so their doses are not independent until the parents' are known:
every figure here is a mixture over the joint posterior of the two parents' doses.
"""

from __future__ import annotations

from math import comb

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.mendel import transmission

Chances = NDArray[np.float64]


def litter_forecast(joint: Chances) -> Chances:
    """Chance (3,) that a pup has 0, 1, 2 doses.

    `joint` (3, 3) is the chance of the sire's dose (rows) and the dam's, as `joint_dose` gives
    it; for parents that share no records it is the outer product of their chances. NaN in, NaN
    out.
    """
    per_pup: Chances = np.einsum("sd,sdp->p", joint, transmission())
    return per_pup


def litter_counts(joint: Chances, size: int) -> Chances:
    """Chance (3, size + 1) that k of `size` pups have each dose: binomial, mixed over `joint`."""
    if size < 0:
        raise ValueError(f"a litter has no {size} pups")
    number = np.arange(size + 1)
    ways = np.array([comb(size, k) for k in number], dtype=np.float64)
    chance = transmission()[..., None]
    binomial = ways * chance**number * (1 - chance) ** (size - number)
    counts: Chances = np.einsum("sd,sdpk->pk", joint, binomial)
    return counts


def at_least(joint: Chances, size: int) -> Chances:
    """Chance (3, size + 1) that at least k of `size` pups have each dose, k = 0 .. size."""
    tails: Chances = litter_counts(joint, size)[:, ::-1].cumsum(axis=1)[:, ::-1]
    return tails
