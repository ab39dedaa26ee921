"""What each limit of a season's plan costs, other plans as good as it, and why there is none.

All by solving again: a limit is loosened by a notch and the best plans are held side by side.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation.coancestry_limit import NEAR
from genetics.core.mate_allocation.planner import (
    Constraints,
    MatingProblem,
    Pairs,
    Plan,
    plan_season,
)

# Ceilings on a litter's inbreeding that breeders know: cousins, half sibs, full sibs and between.
NOTCHES = (0.0, 0.03125, 0.0625, 0.125, 0.25, 0.375, 0.5, 1.0)
NOTCH_OF_COANCESTRY = 0.005

Tell = Callable[[str], object]


@dataclass(frozen=True)
class Cost:
    """A limit loosened by a notch, to `to`, and the plan that this makes possible.

    `limit`: 'pens', 'capacity', 'inbreeding', 'coancestry', 'resting', 'held', 'forbidden', 'least'
    with its `number`, or a name of the caller's for pairs that the herd leaves out. `gain`: how
    much more the best plan found is worth; `at_most`: the bound on it. They are one where both
    plans are proven.
    """

    limit: str
    to: float
    plan: Plan
    gain: float
    at_most: float
    number: int = 0


def looser(limits: Constraints) -> Iterator[tuple[str, float, Constraints, int]]:
    """Each limit that stands, loosened by a notch: its name, what it becomes, the limits, which."""
    yield "pens", limits.pens + 1, replace(limits, pens=limits.pens + 1), 0
    more = tuple(sows + 1 if sows else 0 for sows in limits.capacity)
    yield "capacity", max(more, default=0), replace(limits, capacity=more), 0
    if limits.inbreeding is not None:
        to = next(notch for notch in (*NOTCHES, 2.0) if notch > limits.inbreeding + 1e-9)
        yield "inbreeding", to, replace(limits, inbreeding=to), 0
    if limits.coancestry is not None:
        to = min(limits.coancestry + NOTCH_OF_COANCESTRY, 1.0)
        yield "coancestry", to, replace(limits, coancestry=to), 0
    if limits.resting:
        yield "resting", 0, replace(limits, resting=frozenset()), 0
    if limits.held:
        yield "held", 0, replace(limits, held=()), 0
    if limits.forbidden:
        yield "forbidden", 0, replace(limits, forbidden=()), 0
    for number, amount in enumerate(limits.least):
        if amount > 0:
            less = max(amount - 1, 0.0)
            least = (*limits.least[:number], less, *limits.least[number + 1 :])
            yield "least", less, replace(limits, least=least), number


def costs(
    herd: MatingProblem,
    limits: Constraints,
    best: Plan,
    *,
    seconds: float = 5.0,
    tell: Tell | None = None,
) -> tuple[Cost, ...]:
    """What each limit costs: the best plan with it a notch looser. `seconds` for each."""
    found = []
    for limit, to, loosened, number in looser(limits):
        if tell is not None:
            tell(limit)
        found.append(cost_of(limit, herd, loosened, best, to=to, number=number, seconds=seconds))
    return tuple(found)


def cost_of(
    limit: str,
    herd: MatingProblem,
    limits: Constraints,
    best: Plan,
    *,
    to: float = 0.0,
    number: int = 0,
    seconds: float = 5.0,
) -> Cost:
    """What the best plan costs beside one of a herd or of limits that leave more open."""
    plan = plan_season(herd, limits, seconds=seconds, start=best.pairs)
    at_most = max(plan.bound - best.value, 0.0)
    gain = max(plan.value - best.value, 0.0)
    return Cost(limit, to, plan, gain, at_most, number)


def other_plans(
    herd: MatingProblem,
    limits: Constraints,
    best: Plan,
    *,
    wanted: int = 2,
    different: int = 3,
    share: float = 0.05,
    seconds: float = 5.0,
    tell: Tell | None = None,
) -> tuple[Plan, ...]:
    """Up to `wanted` other plans: the best with at least `different` pairs changed from each.

    A plan of fewer pairs than that must have all of them changed but those that are held. Plans
    that lose more than `share` of the best one's value are left out.
    """
    unlike: tuple[tuple[Pairs, int], ...] = ()
    found: list[Plan] = []
    last = best
    while len(found) < wanted:
        if tell is not None:
            tell("other")
        changed = max(min(different, len(last.pairs) - len(limits.held)), 1)
        unlike = (*unlike, (last.pairs, changed))
        try:
            last = plan_season(herd, limits, seconds=seconds, unlike=unlike)
        except NoPlanError:
            break
        if last.value < (1 - share) * best.value - 1e-9:
            break
        found.append(last)
    return tuple(found)


@dataclass(frozen=True)
class Trouble:
    """One reason why there is no plan: a limit that, taken away alone, would leave one.

    `limit` as in `Cost`, or 'pairs' where no pair may be made at all, 'held-sow' and 'held-boar'
    where `number` is held to several or too many, 'held-pens' where more are held than there are
    pens, 'held-forbidden' where pair `number` of those held may not be made. `reach`: how far a
    plan within the other limits comes, NaN where that says nothing: of 'coancestry' the least that
    was found in the time, of 'least' the most.
    """

    limit: str
    number: int = 0
    reach: float = float("nan")


def troubles(
    herd: MatingProblem, limits: Constraints, *, seconds: float = 3.0
) -> tuple[Trouble, ...]:
    """Which limits to loosen where no plan keeps within them all; empty where no single one is."""
    if plainly := tuple(_plainly(herd, limits)):
        return plainly
    found = []
    for limit, number, without in _without(limits):
        try:
            plan = plan_season(herd, without, seconds=seconds)
        except NoPlanError:
            continue
        reach = float("nan")
        if limit == "coancestry":
            reach = _least_coancestry(herd, without, limits.coancestry or 0.0, plan, seconds)
        if limit == "least":
            reach = _most(herd, without, number, seconds)
        found.append(Trouble(limit, number, reach))
    return tuple(found)


def _plainly(herd: MatingProblem, limits: Constraints) -> Iterator[Trouble]:
    may = limits.allowed(herd)
    sows, boars = may.shape
    hers = np.bincount([sow for sow, _ in limits.held], minlength=sows)
    his = np.bincount([boar for _, boar in limits.held], minlength=boars)
    yield from (Trouble("held-sow", int(sow)) for sow in np.flatnonzero(hers > 1))
    over = his > np.asarray(limits.capacity)
    yield from (Trouble("held-boar", int(boar)) for boar in np.flatnonzero(over & (his > 1)))
    if len(limits.held) > limits.pens:
        yield Trouble("held-pens")
    for number, pair in enumerate(limits.held):
        if not may[pair]:
            yield Trouble("held-forbidden", number)
    if not may.any():
        yield Trouble("pairs")


def _without(limits: Constraints) -> Iterator[tuple[str, int, Constraints]]:
    """Each limit taken away alone."""
    if limits.coancestry is not None:
        yield "coancestry", 0, replace(limits, coancestry=None)
    for number in range(len(limits.least)):
        least = tuple(0.0 if n == number else amount for n, amount in enumerate(limits.least))
        yield "least", number, replace(limits, least=least)
    if limits.inbreeding is not None:
        yield "inbreeding", 0, replace(limits, inbreeding=None)
    sows = 10**6
    yield "pens", 0, replace(limits, pens=sows)
    yield "capacity", 0, replace(limits, capacity=tuple(sows if n else 0 for n in limits.capacity))
    if limits.held:
        yield "held", 0, replace(limits, held=())
    if limits.forbidden:
        yield "forbidden", 0, replace(limits, forbidden=())
    if limits.resting:
        yield "resting", 0, replace(limits, resting=frozenset())


def _most(herd: MatingProblem, limits: Constraints, number: int, seconds: float) -> float:
    """The most of what is counted that any plan within these limits holds."""
    table = np.where(np.isnan(herd.value), np.nan, herd.counted[number])
    return plan_season(replace(herd, value=table), limits, seconds=seconds).value


def _least_coancestry(
    herd: MatingProblem, limits: Constraints, out_of_reach: float, plan: Plan, seconds: float
) -> float:
    """The least mean coancestry found of a plan within these limits, whatever the plan is worth.

    The ceiling comes down by halves towards one that is `out_of_reach`; `plan` is one to begin at.
    """
    ends, low, least = time.monotonic() + seconds, out_of_reach, plan.coancestry
    while least - low > NEAR and (left := ends - time.monotonic()) > 0:
        ceiling = (low + least) / 2
        try:
            # Any plan will do, so the first that keeps within the limits ends the search; where
            # neither a plan nor a proof is found, a higher ceiling is tried in the time left.
            nearer = replace(limits, coancestry=ceiling)
            least = plan_season(herd, nearer, seconds=left / 3, gap=1.0).coancestry
        except NoPlanError:
            low = ceiling
    return least
