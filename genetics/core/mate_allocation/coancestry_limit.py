"""The mean coancestry of the herd to come, and a limit on it as a cone with tangents.

Of two pups drawn from the litters to come, each litter alike, and of different litters or of one
litter of many pups, the mean kinship is c' K c, where c holds each parent's share of the parents
of the herd to come: Meuwissen THE 1997, Maximizing the response of selection with a predefined
rate of inbreeding, J Anim Sci 75:934-940 (from memory). With s the number of litters of each
parent and N that of all litters, c = s / 2N, so a ceiling t asks that

    s' K s <= 4 t N^2.

A sow has one litter or none, so her s^2 is s itself: with R = K - d on the sows' diagonal, for
any d that leaves R positive semidefinite, the same is s' R s <= 4 t N^2 - d N, whose tangents lie
closer to the plans. sqrt(s' R s) is convex and sqrt(4 t N^2 - d N) concave in N, so a tangent cuts
off no plan that keeps within the limit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float64]

# A mean coancestry this little above the ceiling counts as within it: solvers' figures are rounded.
TOLERANCE = 1e-7
# Mean coancestries that are nearer than this no page would tell apart.
NEAR = 0.0005


def mean_coancestry(kinship: Table, used: Table) -> float:
    """Of the herd to come, where parent i has `used[i]` litters; the formula is above."""
    share = used / used.sum()
    return float(share @ kinship @ share)


@dataclass(frozen=True)
class Cone:
    """A ceiling on mean coancestry. `boars` is how many of the parents are boars."""

    kinship: Table
    boars: int
    ceiling: float
    moved: float
    rest: Table

    @classmethod
    def of(cls, kinship: Table, boars: int, ceiling: float) -> Cone:
        """Move as much of the sows' diagonal as leaves the rest positive semidefinite."""
        if not 0 < ceiling <= 1:
            raise ValueError(f"a mean coancestry lies between 0 and 1, and is not {ceiling}")
        his, between, hers = (
            kinship[:boars, :boars],
            kinship[:boars, boars:],
            kinship[boars:, boars:],
        )
        schur = hers - between.T @ np.linalg.pinv(his, hermitian=True) @ between
        moved = max(float(np.linalg.eigvalsh(schur)[0]) * 0.999 - 1e-9, 0.0)
        rest = kinship.copy()
        sows = np.arange(boars, len(kinship))
        rest[sows, sows] -= moved
        return cls(kinship, boars, ceiling, moved, rest)

    def holds(self, used: Table) -> bool:
        """Whether a plan keeps within the ceiling itself, tangents aside."""
        return mean_coancestry(self.kinship, used) <= self.ceiling + TOLERANCE

    def room(self, used: Table) -> float:
        """4 t N^2 - d N - s' R s: not negative within the limit."""
        litters = used[self.boars :].sum()
        return float(self.squared(litters) - used @ self.rest @ used)

    def squared(self, litters: float) -> float:
        return float(4 * self.ceiling * litters**2 - self.moved * litters)

    def tangent(self, used: Table) -> tuple[Table, float]:
        """Coefficients (boars + sows,) and right side: their product with s is to be no greater.

        Where so few litters leave no room at all, the tangent of twice as many is taken.
        """
        litters = float(used[self.boars :].sum())
        norm = np.sqrt(max(float(used @ self.rest @ used), 1e-12))
        row = self.rest @ used / norm
        at = max(litters, 2 * self.moved / (4 * self.ceiling), 1e-6)
        root = np.sqrt(self.squared(at))
        slope = (8 * self.ceiling * at - self.moved) / (2 * root)
        row[self.boars :] -= slope
        return row, float(root - slope * at)
