"""A plan a little too inbred for the herd to come, mended by small changes.

Each change moves one sow to another boar, puts a resting sow in another's place, lets a sow rest
or pairs one more. The one that costs least for what it brings is taken until the ceiling holds,
then those that gain most within it. Or, of a plan that is within it, those that lose nothing and
make the herd to come less related. It proves nothing: it gives the search good plans early.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.mate_allocation.coancestry_limit import TOLERANCE, Cone, Table

Pairs = tuple[tuple[int, int], ...]

_MOST_CHANGES = 400


def repair(
    pairs: Pairs,
    value: Table,
    may: NDArray[np.bool_],
    *,
    pens: int,
    capacity: NDArray[np.int64],
    locked: frozenset[int],
    cone: Cone,
) -> Pairs | None:
    """A plan within the ceiling near to this one, or None; `locked` sows stay as they are."""
    plan = _Plan(pairs, value, may, pens, capacity, locked, cone)
    for _ in range(_MOST_CHANGES):
        if not plan.change():
            break
    return plan.pairs() if plan.over() <= 0 and plan.to.max() >= 0 else None


def reduce_coancestry(
    pairs: Pairs,
    value: Table,
    may: NDArray[np.bool_],
    *,
    capacity: NDArray[np.int64],
    locked: frozenset[int],
    kinship: Table,
) -> Pairs:
    """As many matings worth as much, of parents less related, as far as single changes lead."""
    cone = Cone(kinship, value.shape[1], 1.0, 0.0, kinship)
    plan = _Plan(pairs, value, may, len(pairs), capacity, locked, cone)
    for _ in range(_MOST_CHANGES):
        if not plan.reduce_coancestry():
            break
    return plan.pairs()


@dataclass
class _Changes:
    """Sows that leave and come (-1 for none), the boar of whoever comes, gain and coancestry."""

    out: NDArray[np.int64]
    into: NDArray[np.int64]
    boar: NDArray[np.int64]
    gain: Table
    adds: Table


class _Plan:
    def __init__(
        self,
        pairs: Pairs,
        value: Table,
        may: NDArray[np.bool_],
        pens: int,
        capacity: NDArray[np.int64],
        locked: frozenset[int],
        cone: Cone,
    ) -> None:
        self.value, self.may, self.pens, self.capacity = value, may, pens, capacity
        self.cone, self.boars = cone, cone.boars
        self.to = np.full(len(value), -1)
        for sow, boar in pairs:
            self.to[sow] = boar
        self.free = np.ones(len(value), dtype=bool)
        self.free[list(locked)] = False

    def pairs(self) -> Pairs:
        return tuple((int(sow), int(self.to[sow])) for sow in np.flatnonzero(self.to >= 0))

    def used(self) -> Table:
        used = np.zeros(self.boars + len(self.to))
        there = np.flatnonzero(self.to >= 0)
        used[: self.boars] = np.bincount(self.to[there], minlength=self.boars)
        used[self.boars + there] = 1
        return used

    def over(self) -> float:
        """How far s' K s is above 4 t N^2."""
        return self._over(self.used())

    def _over(self, used: Table) -> float:
        litters = used[self.boars :].sum()
        allowed = self.cone.ceiling + TOLERANCE / 2
        return float(used @ self.cone.kinship @ used - 4 * allowed * litters**2)

    def change(self) -> bool:
        """Make the best change; False where none helps."""
        over = self.over()
        changes = [one for one in self._changes() if len(one.gain)]
        if not changes:
            return False
        gain = np.concatenate([one.gain for one in changes])
        adds = np.concatenate([one.adds for one in changes])
        if over > 0:
            helps = adds < -1e-9
            price = np.where(helps, (1e-3 - gain) / np.minimum(-adds, over).clip(1e-9), np.inf)
            best = int(np.argmin(price))
            if not helps[best]:
                return False
        else:
            worth = np.where(over + adds <= 0, gain, -np.inf)
            best = int(np.argmax(worth))
            if worth[best] <= 1e-9:
                return False
        self._make(changes, best)
        return True

    def reduce_coancestry(self) -> bool:
        """Make the change that takes most off s' K s and loses nothing; False where none does."""
        changes = [one for one in self._changes(as_many=True) if len(one.gain)]
        if not changes:
            return False
        gain = np.concatenate([one.gain for one in changes])
        adds = np.concatenate([one.adds for one in changes])
        adds = np.where(gain >= -1e-9, adds, np.inf)
        best = int(np.argmin(adds))
        if adds[best] >= -1e-9:
            return False
        self._make(changes, best)
        return True

    def _make(self, changes: list[_Changes], number: int) -> None:
        for some in changes:
            if number < len(some.gain):
                if some.out[number] >= 0:
                    self.to[some.out[number]] = -1
                if some.into[number] >= 0:
                    self.to[some.into[number]] = some.boar[number]
                return
            number -= len(some.gain)

    def _changes(self, *, as_many: bool = False) -> list[_Changes]:
        """All single changes, or those that leave as many matings as there are."""
        used = self.used()
        slope = 2 * self.cone.kinship @ used
        there = np.flatnonzero((self.to >= 0) & self.free)
        resting = np.flatnonzero(self.to < 0)
        room = used[: self.boars] < self.capacity
        found = [self._to_others(there, room, slope), self._in_place(there, resting, slope)]
        if as_many:
            return found
        found.append(self._rests(there, slope, used))
        if used[self.boars :].sum() < self.pens:
            found.append(self._joins(resting, room, slope, used))
        return found

    def _to_others(
        self, there: NDArray[np.int64], room: NDArray[np.bool_], slope: Table
    ) -> _Changes:
        allowed = self.may[there] & room[None, :]
        which, boar = np.nonzero(allowed)
        sow = there[which]
        now = self.to[sow]
        return _Changes(
            sow,
            sow,
            boar,
            self.value[sow, boar] - self.value[sow, now],
            self._swapped(now, boar, slope),
        )

    def _in_place(
        self, there: NDArray[np.int64], resting: NDArray[np.int64], slope: Table
    ) -> _Changes:
        which, other = np.nonzero(self.may[resting][:, self.to[there]].T)
        sow, into = there[which], resting[other]
        boar = self.to[sow]
        return _Changes(
            sow,
            into,
            boar,
            self.value[into, boar] - self.value[sow, boar],
            self._swapped(self.boars + sow, self.boars + into, slope),
        )

    def _swapped(self, out: NDArray[np.int64], into: NDArray[np.int64], slope: Table) -> Table:
        kin = self.cone.kinship
        return slope[into] - slope[out] + kin[out, out] + kin[into, into] - 2 * kin[out, into]

    def _rests(self, there: NDArray[np.int64], slope: Table, used: Table) -> _Changes:
        boar = self.to[there]
        adds = self._paired(there, boar, slope, -1.0, used)
        none = np.full(len(there), -1)
        return _Changes(there, none, boar, -self.value[there, boar], adds)

    def _joins(
        self, resting: NDArray[np.int64], room: NDArray[np.bool_], slope: Table, used: Table
    ) -> _Changes:
        which, boar = np.nonzero(self.may[resting] & room[None, :])
        sow = resting[which]
        none = np.full(len(sow), -1)
        adds = self._paired(sow, boar, slope, 1.0, used)
        return _Changes(none, sow, boar, self.value[sow, boar], adds)

    def _paired(
        self,
        sow: NDArray[np.int64],
        boar: NDArray[np.int64],
        slope: Table,
        sign: float,
        used: Table,
    ) -> Table:
        kin, hers = self.cone.kinship, self.boars + sow
        own = kin[hers, hers] + kin[boar, boar] + 2 * kin[hers, boar]
        litters = used[self.boars :].sum()
        allowed = 4 * (self.cone.ceiling + TOLERANCE / 2)
        added: Table = sign * (slope[hers] + slope[boar]) + own
        added -= allowed * ((litters + sign) ** 2 - litters**2)
        return added
