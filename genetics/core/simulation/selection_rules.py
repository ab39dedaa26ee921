"""Rules by which a breeder pairs and keeps, season after season.

A rule sees what a breeder sees of grown animals: self, marked or overmarked, and who is kin to
whom. Which kind a rule asks for first, and what it falls back on where there is none left, stands
in tables; among equals it takes the least akin, or draws lots.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.mendel import transmission

Table = NDArray[np.float64]

ONE_DOSE = 1
_STEP = 4.0  # a kind of pair outweighs any difference in kinship, which is at most 1


@dataclass(frozen=True)
class Policy:
    """A rule.

    `pairs` (3, 3): what a mating of a boar of each dose (rows) with a sow of each is worth; `kin`:
    among pairs worth the same the closest kin (1), the least kin (-1), or any (0). `boars` and
    `sows` (3,): what an animal of each dose is worth as breeding stock; `least_kin_kept`: of
    equals, whether those least akin to the herd are kept, rather than any.
    """

    pairs: Table
    boars: Table
    sows: Table
    kin: int = 0
    least_kin_kept: bool = False

    def worth_of_pairs(self, boars: NDArray[np.int8], sows: NDArray[np.int8]) -> Table:
        """For doses (r, b) and (r, s), what each pair (r, s, b) is worth, before kinship."""
        worth: Table = _STEP * self.pairs[boars[:, None, :], sows[:, :, None]]
        return worth

    def worth_of_stock(self, doses: NDArray[np.int8], kin: Table, *, are_boars: bool) -> Table:
        """What animals of these doses, with mean kinship `kin` to the herd, are worth."""
        worth: Table = _STEP * (self.boars if are_boars else self.sows)[doses]
        return worth - kin if self.least_kin_kept else worth


def _wanted(*pairs: tuple[int, int]) -> Table:
    """Pairs of the wanted kind first, then those with the larger share of one-dose pups."""
    worth = transmission()[:, :, ONE_DOSE].copy()
    for boar, sow in pairs:
        worth[boar, sow] += 2
        if boar != sow:
            worth[sow, boar] += 2
    return worth


_MARKED_FIRST = np.array([0.0, 2.0, 1.0])
_SELF_FIRST = np.array([2.0, 1.0, 0.0])
_OVERMARKED_FIRST = np.array([0.0, 1.0, 2.0])
_ANY_PAIR = np.zeros((3, 3))

#: Always a marked animal to a self, of these the least akin: marked boars and self sows are kept.
ONE_DOSE_TO_SELF = Policy(_wanted((1, 0)), np.array([1.0, 2.0, 0.0]), _SELF_FIRST, kin=-1)
#: An overmarked animal to a self, of these the least akin: overmarked boars and self sows are kept.
OVERMARKED_TO_SELF = Policy(_wanted((2, 0)), _OVERMARKED_FIRST, _SELF_FIRST, kin=-1)
#: Each sow to the boar least akin to her; marked young are kept, of equals the least akin.
LEAST_KIN = Policy(_ANY_PAIR, _MARKED_FIRST, _MARKED_FIRST, kin=-1, least_kin_kept=True)
#: Each sow to her closest kin among the boars; marked young are kept.
CLOSEST_KIN = Policy(_ANY_PAIR, _MARKED_FIRST, _MARKED_FIRST, kin=1)
