"""A season's matings chosen together: which sow goes to which boar, and who rests.

An integer programme, solved by HiGHS (Huangfu Q, Hall JAJ 2018, Parallelizing the dual revised
simplex method, Math Prog Comp 10:119-142). All limits are linear but one: the mean coancestry of
the herd to come is quadratic in how often each parent is used. It is kept by tangents, added in
rounds, and at the end each plan is held against the quadratic limit itself; `coancestry_limit`
says how. What is given back is the best plan found and a bound that no plan within the limits can
exceed.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation.coancestry_limit import Cone, mean_coancestry
from genetics.core.mate_allocation.local_search import repair
from genetics.core.mate_allocation.milp import Programme

Table = NDArray[np.float64]
Pairs = tuple[tuple[int, int], ...]

# A plan whose value is this near to the bound, as a share of it, is called the best.
PROVEN = 1e-4
MOST_ROUNDS = 200
_TINY = 1e-9


@dataclass(frozen=True)
class MatingProblem:
    """What is to be chosen among.

    `value` (sows, boars): what each litter is worth, say in expected pups; not negative, NaN where
    the pair is out of the question. `inbreeding` (sows, boars): of the litter. `kinship` (boars +
    sows, the same): of the parents, the boars first, with (1 + F)/2 on the diagonal. `counted`:
    tables like `value` of which a plan may have to hold at least so much.
    """

    value: Table
    inbreeding: Table
    kinship: Table
    counted: tuple[Table, ...] = ()

    def __post_init__(self) -> None:
        sows, boars = self.value.shape
        if self.inbreeding.shape != (sows, boars):
            raise ValueError("inbreeding needs a row for each sow and a column for each boar")
        if self.kinship.shape != (boars + sows, boars + sows):
            raise ValueError("kinship needs a row and a column for each boar and each sow")
        if any(table.shape != (sows, boars) for table in self.counted):
            raise ValueError("what is counted needs a row for each sow and a column for each boar")
        if (self.value < 0).any():
            raise ValueError("a litter's value is not negative")


@dataclass(frozen=True)
class Constraints:
    """What a plan must keep within.

    `pens`: most matings. `capacity` (boars,): most sows to each boar. `inbreeding`: of any litter
    at most; `coancestry`: mean of the herd to come at most (see `mean_coancestry`). `resting`:
    sows that go to nobody. `held` and `forbidden`: pairs (sow, boar) that are in every plan, or in
    none. `least`: how much of each of `MatingProblem.counted` a plan must hold.
    """

    pens: int
    capacity: tuple[int, ...]
    inbreeding: float | None = None
    coancestry: float | None = None
    resting: frozenset[int] = frozenset()
    held: Pairs = ()
    forbidden: Pairs = ()
    least: tuple[float, ...] = ()

    def allowed(self, herd: MatingProblem) -> NDArray[np.bool_]:
        """Which pairs (sows, boars) may be made."""
        may = ~np.isnan(herd.value)
        if self.inbreeding is not None:
            may &= herd.inbreeding <= self.inbreeding + _TINY
        may[list(self.resting)] = False
        for sow, boar in self.forbidden:
            may[sow, boar] = False
        may[:, np.asarray(self.capacity) < 1] = False
        return may


@dataclass(frozen=True)
class Plan:
    """Pairs (sow, boar), what they are worth, and the bound that no plan can exceed.

    `coancestry`: the mean of the herd to come, worked out from the pairs. `proven`: the bound is
    within `PROVEN` of the value. `rounds`: integer programmes solved.
    """

    pairs: Pairs
    value: float
    bound: float
    coancestry: float
    proven: bool
    rounds: int


@dataclass(frozen=True)
class Round:
    """How far a search has come: plans solved for, the best so far (NaN for none), the bound."""

    number: int
    value: float
    bound: float


def plan_season(
    herd: MatingProblem,
    limits: Constraints,
    *,
    seconds: float = 20.0,
    gap: float = PROVEN,
    unlike: tuple[tuple[Pairs, int], ...] = (),
    start: Pairs | None = None,
    tell: Callable[[Round], object] | None = None,
) -> Plan:
    """The plan worth most, of one mating at least.

    `seconds`: how long to look; past that the best so far is given with its bound. `gap`: share of
    the bound that is near enough. `unlike`: plans with the number of their pairs that must not be
    in this one. `start`: a plan within the limits, if one is known. `tell` hears of each round.

    Raises NoPlanError, and ValueError for values that cannot be.
    """
    return _Search(herd, limits, gap, unlike).run(seconds, start, tell)


class _Search:
    def __init__(
        self,
        herd: MatingProblem,
        limits: Constraints,
        gap: float,
        unlike: tuple[tuple[Pairs, int], ...],
    ) -> None:
        self.herd, self.limits, self.gap = herd, limits, gap
        self.value = np.nan_to_num(herd.value)
        self.may = limits.allowed(herd)
        self.unlike = unlike
        ceiling = limits.coancestry
        boars = herd.value.shape[1]
        self.cone = None
        if ceiling is not None and self.may.any():
            self.cone = Cone.of(herd.kinship, boars, ceiling)
        self.programme = Programme(
            self.value,
            self.may,
            pens=limits.pens,
            capacity=np.asarray(limits.capacity),
            held=limits.held,
            least=tuple(zip(herd.counted, limits.least, strict=True)) if limits.least else (),
            unlike=unlike,
        )
        self.best: Plan | None = None
        self.bound = float("inf")

    def run(
        self, seconds: float, start: Pairs | None, tell: Callable[[Round], object] | None
    ) -> Plan:
        if not self.programme.fits:
            raise NoPlanError(proven=True)
        ends = time.monotonic() + seconds
        if start is not None:
            self._take(start)
        for number in range(1, MOST_ROUNDS + 1):
            over = self._round(number, max(ends - time.monotonic(), 0.5))
            if tell is not None:
                tell(Round(number, self.best.value if self.best else float("nan"), self.bound))
            if over or time.monotonic() > ends:
                break
        if self.best is None:
            raise NoPlanError(proven=self.bound == -float("inf"))
        bound = max(self.bound, self.best.value)
        return replace(
            self.best, bound=bound, proven=self._near(self.best.value, bound), rounds=number
        )

    def _round(self, number: int, seconds: float) -> bool:
        """One integer programme; whether the search is over."""
        found = self.programme.solve(seconds, self.gap)
        if found.infeasible:
            self.bound = self.best.value if self.best else -float("inf")
            return True
        self.bound = min(self.bound, found.bound)
        kept = True
        for pairs in found.plans:
            kept = self._within(pairs)
            self._take(pairs if kept else self._repaired(pairs))
            if not kept and self.cone is not None:
                self.programme.add(*self.cone.tangent(self._parents(pairs)))
        if not found.plans:
            return found.out_of_time
        done = self.best is not None and self._near(self.best.value, self.bound)
        return done or (kept and not found.out_of_time)

    def _parents(self, pairs: Pairs) -> Table:
        sows, boars = self.value.shape
        return parents_used(pairs, sows, boars)

    def _within(self, pairs: Pairs) -> bool:
        return self.cone is None or self.cone.holds(self._parents(pairs))

    def _repaired(self, pairs: Pairs) -> Pairs | None:
        """The same brought within the coancestry allowed by small changes, where that can be."""
        assert self.cone is not None
        return repair(
            pairs,
            self.value,
            self.may,
            pens=self.limits.pens,
            capacity=np.asarray(self.limits.capacity),
            locked=frozenset(sow for sow, _ in self.limits.held),
            cone=self.cone,
        )

    def _take(self, pairs: Pairs | None) -> None:
        """Keep a plan if it is within all limits and the best so far."""
        if not pairs or not self._within(pairs) or not self.programme.keeps(pairs):
            return
        value = float(sum(self.value[pair] for pair in pairs))
        if self.best is None or value > self.best.value + _TINY:
            co = mean_coancestry(self.herd.kinship, self._parents(pairs))
            self.best = Plan(tuple(sorted(pairs)), value, float("inf"), co, False, 0)

    def _near(self, value: float, bound: float) -> bool:
        return bound - value <= max(self.gap * abs(bound), 1e-6)


def parents_used(pairs: Pairs, sows: int, boars: int) -> Table:
    """How many litters each boar and each sow (boars + sows,) has in a plan."""
    used = np.zeros(boars + sows)
    for sow, boar in pairs:
        used[boar] += 1
        used[boars + sow] += 1
    return used
