"""Why sows rest in a season's plan: which limit stands against each, found by trying.

A sow is added where there is a pen and a boar with room, and put in each chosen sow's place in
turn: what then keeps her out, or what the exchange would lose, is the reason.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.mate_allocation.coancestry_limit import TOLERANCE, Table, mean_coancestry
from genetics.core.mate_allocation.planner import (
    Constraints,
    MatingProblem,
    Pairs,
    Plan,
    parents_used,
)

# Worths that differ by less than this are called the same: no page tells tenths of a tenth.
SAME = 0.05
# Exchanges that are held against the limits for each sow, the best first.
_MOST_TRIED = 50


@dataclass(frozen=True)
class Rest:
    """A sow that goes to nobody.

    `why`: 'asked' (she is to rest), 'no-boar' (none may go to her), 'pens' (they are full), 'boars'
    (those that may go to her, `boars`, have all the sows they may), 'coancestry' (a litter of hers
    would take the herd to come over the ceiling), 'little' (a litter of hers adds next to nothing)
    or 'unsettled' (a plan with her is worth more, and was not found in the time). Of 'pens' and
    'boars', `instead` is a chosen sow in whose place she would be worth as much, -1 where none was
    found, and `less` whether every exchange for her loses.
    """

    sow: int
    why: str
    boars: tuple[int, ...] = ()
    instead: int = -1
    less: bool = False


def rests(
    herd: MatingProblem, limits: Constraints, plan: Plan, *, same: float = SAME
) -> tuple[Rest, ...]:
    """Every sow that rests in a plan, and why; worths that differ by `same` count as the same."""
    trial = _Trial(herd, limits, plan, same)
    chosen = {sow for sow, _ in plan.pairs}
    return tuple(trial.rest(sow) for sow in range(len(herd.value)) if sow not in chosen)


class _Trial:
    def __init__(self, herd: MatingProblem, limits: Constraints, plan: Plan, same: float) -> None:
        self.herd, self.limits, self.pairs, self.same = herd, limits, plan.pairs, same
        self.value, self.may = np.nan_to_num(herd.value), limits.allowed(herd)
        self.count = np.bincount([boar for _, boar in plan.pairs], minlength=herd.value.shape[1])
        self.room: NDArray[np.bool_] = self.count < np.asarray(limits.capacity)
        self.free = [pair for pair in plan.pairs if pair not in limits.held]

    def rest(self, sow: int) -> Rest:
        if sow in self.limits.resting:
            return Rest(sow, "asked")
        if not self.may[sow].any():
            return Rest(sow, "no-boar")
        if len(self.pairs) >= self.limits.pens:
            return self._exchanged(sow, "pens")
        if not (self.may[sow] & self.room).any():
            return self._exchanged(sow, "boars")
        return self._added(sow)

    def _added(self, sow: int) -> Rest:
        kept = [
            self.value[sow, boar]
            for boar in np.flatnonzero(self.may[sow] & self.room).tolist()
            if self._keeps((*self.pairs, (sow, boar)))
        ]
        if not kept:
            return Rest(sow, "coancestry")
        return Rest(sow, "little" if max(kept) <= self.same else "unsettled")

    def _exchanged(self, sow: int, why: str) -> Rest:
        """What comes of putting her in the place of each sow that is not held."""
        boars = tuple(np.flatnonzero(self.may[sow]).tolist())
        gain = self._gains(sow)
        order = np.argsort(-gain, axis=None, kind="stable")[:_MOST_TRIED]
        for place in order.tolist():
            out, boar = divmod(place, gain.shape[1])
            if gain[out, boar] < -self.same:
                break
            left = tuple(pair for pair in self.pairs if pair != self.free[out])
            if self._keeps((*left, (sow, boar))):
                if gain[out, boar] > self.same:
                    return Rest(sow, "unsettled")
                return Rest(sow, why, boars, self.free[out][0])
        return Rest(sow, why, boars, less=bool((gain < -self.same).all()))

    def _gains(self, sow: int) -> Table:
        """Of each free pair (pairs, boars) exchanged for her and a boar; minus infinity where he
        may not go to her or has no room."""
        gain = np.full((len(self.free), len(self.room)), -np.inf)
        for number, (out, boar) in enumerate(self.free):
            room = self.room.copy()
            room[boar] = True
            may = self.may[sow] & room
            gain[number, may] = self.value[sow, may] - self.value[out, boar]
        return gain

    def _keeps(self, pairs: Pairs) -> bool:
        """Whether a plan keeps what single pairs, pens and boars do not tell."""
        counted = zip(self.herd.counted, self.limits.least, strict=False)
        if any(sum(table[pair] for pair in pairs) < least - 1e-9 for table, least in counted):
            return False
        if self.limits.coancestry is None:
            return True
        used = parents_used(pairs, *self.value.shape)
        return mean_coancestry(self.herd.kinship, used) <= self.limits.coancestry + TOLERANCE
