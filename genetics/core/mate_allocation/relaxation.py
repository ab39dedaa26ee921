"""Where the best plan lies if litters could be split: the place for the first tangents.

A barrier method (Boyd S, Vandenberghe L 2004, Convex Optimization, chapter 11): Newton steps on
the value less the logarithms of all that must stay positive. There are thousands of pairs but few
parents, so a step costs one system as large as the number of parents, by Woodbury's identity.
Nothing rests on its exactness: a tangent is valid wherever it touches.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.mate_allocation.coancestry_limit import Cone, Table

Pairs = tuple[tuple[int, int], ...]

_CONE = 1000.0  # weight of the cone beside thousands of pairs, so that it is not run into
_NEAR = 5e-4  # share of the value to come near to
_STEPS = 40


def centre(
    value: Table,
    may: NDArray[np.bool_],
    pens: int,
    capacity: Sequence[int],
    held: Pairs,
    cone: Cone,
    seconds: float,
) -> list[Table]:
    """Litters of each parent (boars + sows,) at the best split plan; none where there is no room.

    As near to it as `seconds` allow. Where no plan is found within the ceiling, the split plan of
    the least coancestry found.
    """
    ends = time.monotonic() + seconds
    spread = _Spread.of(value, may, pens, capacity, held, cone)
    if spread is None:
        return []
    pairs, inside = spread.into_the_cone(ends)
    if not inside:
        return [spread.parents(pairs)]
    push, worth = 1.0, 1.0
    terms = len(pairs) + 2 * len(spread.most) + _CONE
    while terms / push > _NEAR * worth and time.monotonic() < ends:
        push *= 16
        pairs = spread.climb(pairs, push, ends)
        worth = max(float(spread.value @ pairs), 1.0)
    return [spread.parents(pairs)]


@dataclass
class _Spread:
    """Pairs that are open, as shares from 0 to 1; `fixed` litters of parents come on top."""

    value: Table
    sow: NDArray[np.int64]
    boar: NDArray[np.int64]
    fixed: Table
    most: Table
    pens: float
    cone: Cone

    @classmethod
    def of(
        cls,
        value: Table,
        may: NDArray[np.bool_],
        pens: int,
        capacity: Sequence[int],
        held: Pairs,
        cone: Cone,
    ) -> _Spread | None:
        sows, boars = value.shape
        fixed = np.zeros(boars + sows)
        for hers, his in held:
            fixed[[his, boars + hers]] += 1
        most = np.r_[np.minimum(capacity, sows), np.ones(sows)].astype(float)
        full = most - fixed <= 0
        free = may & ~full[boars:, None] & ~full[None, :boars]
        if len(held) >= pens or not free.any():
            return None
        most[full] += 1  # nothing more goes there: no limit is felt
        sow, boar = np.nonzero(free)
        # a little over the pens, so that a plan that fills them lies inside
        return cls(value[sow, boar], sow, boar, fixed, most, pens + 1e-3, cone)

    @property
    def boars(self) -> int:
        return self.cone.boars

    def parents(self, pairs: Table) -> Table:
        used: Table = self.fixed + self._gather(pairs)
        return used

    def _gather(self, pairs: Table) -> Table:
        sows = len(self.most) - self.boars
        his, hers = np.bincount(self.boar, pairs, self.boars), np.bincount(self.sow, pairs, sows)
        gathered: Table = np.concatenate([his, hers])
        return gathered

    def into_the_cone(self, ends: float) -> tuple[Table, bool]:
        """Pairs with less and less coancestry until there is room; whether there is."""
        hers = np.bincount(self.sow, minlength=len(self.most) - self.boars)
        his = np.bincount(self.boar, minlength=self.boars)
        pens_left = self.pens - self.fixed[self.boars :].sum()
        room = (self.most - self.fixed) / np.maximum(np.r_[his, hers], 1)
        used = np.r_[his, hers] > 0
        pairs = np.full(len(self.sow), 0.5 * min(room[used].min(), pens_left / len(self.sow)))
        for push in (1.0, 10.0, 100.0, 1000.0, 10000.0):
            for _ in range(_STEPS):
                if self.cone.room(self.parents(pairs)) > 1e-6:
                    return pairs, True
                step, gain = self._step(pairs, self._away(pairs, push), 0.0)
                if gain < 1e-3 or time.monotonic() > ends:
                    break
                pairs = pairs + self._longest(pairs, step) * step
        return pairs, False

    def _away(self, pairs: Table, push: float) -> tuple[Table, Table]:
        """Slope and curvature of s' R s, with the litters' part taken as straight."""
        used = self.parents(pairs)
        litters = used[self.boars :].sum()
        slope = 2 * self.cone.rest @ used
        slope[self.boars :] -= 8 * self.cone.ceiling * litters - self.cone.moved
        return push * slope, push * 2 * self.cone.rest

    def climb(self, pairs: Table, push: float, ends: float) -> Table:
        """Newton's steps to the centre for this weight of the value."""
        for _ in range(_STEPS):
            step, gain = self._step(pairs, self._cone_barrier(pairs), push)
            if gain < 1e-2 or time.monotonic() > ends:
                break
            length = self._longest(pairs, step)
            while length > 1e-9 and self.cone.room(self.parents(pairs + length * step)) <= 0:
                length *= 0.7
            before = self._height(pairs, push)
            while length > 1e-9 and (
                self._height(pairs + length * step, push) > before - 0.01 * length * gain
            ):
                length *= 0.5
            if length <= 1e-9:
                break
            pairs = pairs + length * step
        return pairs

    def _cone_barrier(self, pairs: Table) -> tuple[Table, Table]:
        used, sows = self.parents(pairs), self._sows()
        room = self.cone.room(used)
        litters = used @ sows
        slope = (8 * self.cone.ceiling * litters - self.cone.moved) * sows
        slope -= 2 * self.cone.rest @ used
        bend = 8 * self.cone.ceiling * np.outer(sows, sows) - 2 * self.cone.rest
        return -_CONE * slope / room, _CONE * (np.outer(slope, slope) / room**2 - bend / room)

    def _sows(self) -> Table:
        sows = np.zeros(len(self.most))
        sows[self.boars :] = 1
        return sows

    def _step(self, pairs: Table, of_cone: tuple[Table, Table], push: float) -> tuple[Table, float]:
        """Newton's step and how much it promises."""
        used, sows = self.parents(pairs), self._sows()
        left, pens_left = self.most - used, self.pens - used @ sows
        slope = 1 / left + sows / pens_left + of_cone[0]
        curve = np.diag(1 / left**2) + np.outer(sows, sows) / pens_left**2 + of_cone[1]
        down = -push * self.value - 1 / pairs + slope[self.boar] + slope[self.boars + self.sow]
        weight = pairs**2
        root = root_of(curve)
        small = np.eye(len(used)) + root.T @ self._crossed(weight) @ root
        through = root @ np.linalg.solve(small, root.T @ self._gather(weight * down))
        step = -weight * (down - through[self.boar] - through[self.boars + self.sow])
        return step, float(-down @ step)

    def _crossed(self, weight: Table) -> Table:
        """The pairs' weights, summed over what two parents share."""
        size = len(self.most)
        table = np.zeros((size, size))
        table[self.boar, self.boars + self.sow] = weight
        table += table.T
        table[np.arange(size), np.arange(size)] = self._gather(weight)
        return table

    def _longest(self, pairs: Table, step: Table) -> float:
        """The longest part of a step that stays inside."""
        used, moved = self.parents(pairs), self._gather(step)
        sows = self._sows()
        ways = [
            (pairs, -step),
            (self.most - used, moved),
            (np.array([self.pens - used @ sows]), np.array([moved @ sows])),
        ]
        least = min(
            (float((room[out > 0] / out[out > 0]).min()) for room, out in ways if (out > 0).any()),
            default=1.0,
        )
        return min(1.0, 0.95 * least)

    def _height(self, pairs: Table, push: float) -> float:
        used = self.parents(pairs)
        return float(
            -push * self.value @ pairs
            - np.log(pairs).sum()
            - np.log(self.most - used).sum()
            - np.log(self.pens - used @ self._sows())
            - _CONE * np.log(self.cone.room(used))
        )


def root_of(curve: Table) -> Table:
    """A matrix whose product with its transpose is the curvature; where rounding has bent that the
    wrong way, close to the edge of the cone, the nearest that is not."""
    try:
        root = np.asarray(np.linalg.cholesky(curve), dtype=np.float64)
    except np.linalg.LinAlgError:
        values, vectors = np.linalg.eigh(curve)
        root = np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)), dtype=np.float64)
    return root
