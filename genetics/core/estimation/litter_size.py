"""How many pups to expect of a sow, from the few litters that she and her herd have had.

A sow's mean is mostly luck: her litters differ nearly as much among themselves as sows do, so it is
drawn towards the herd's, and a small herd's towards what is usual.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# How alike the litters of one sow are (repeatability of the number born alive). Guinea pigs'
# heritability of it was .06 +- .02 and .16 +- .31 in one selection experiment (718 dams), .09 to
# .14 +- .03 in three lines of another study (abstracts); repeatability is no less. The number
# itself: common practice, no source.
REPEATABILITY = 0.15
# How many of a herd's litters what is usual is worth (common practice, no source).
USUAL_WORTH = 10


def herds_mean(usual: float, herd: float, litters: int) -> float:
    """Pups born alive to expect of a litter of a herd of that mean over so many litters."""
    return (usual * USUAL_WORTH + herd * litters) / (USUAL_WORTH + litters)


def expected_size(mean: float, own: ArrayLike, litters: ArrayLike) -> NDArray[np.float64]:
    """Pups (n,) to expect of the next litter of sows of whose `litters` (n,) the mean is `own` (n,)
    in a herd of this `mean`; without a litter her own mean says nothing.

    mean + b (own - mean), b = n r / (1 + (n - 1) r), r the repeatability: a sow's most probable
    producing ability (Lush 1945, Animal Breeding Plans; cited from memory).
    """
    count, own = np.asarray(litters, dtype=float), np.asarray(own, dtype=float)
    weight = count * REPEATABILITY / (1 + (count - 1) * REPEATABILITY)
    expected: NDArray[np.float64] = mean + weight * np.where(count > 0, own - mean, 0.0)
    return expected
