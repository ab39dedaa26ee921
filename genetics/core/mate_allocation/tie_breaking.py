"""Of season's plans worth as good as the same, the one whose herd to come is least related.

Many sows are alike to the calculation, selfs above all, so many plans are worth the same, or so
nearly that no chance is known that well. What the best is worth, but for what may be given up, is
held as one more row of the programme, and the ceiling on mean coancestry comes
down by halves, each time solved again, until none worth as much keeps below it. Mean coancestry
goes by which animals are parents and how often, not by who goes to whom: of plans with the same
parents, the one whose litters are least inbred is taken at last.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import numpy as np

from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation.coancestry_limit import NEAR, mean_coancestry
from genetics.core.mate_allocation.local_search import reduce_coancestry
from genetics.core.mate_allocation.planner import (
    Constraints,
    MatingProblem,
    Pairs,
    Plan,
    parents_used,
    plan_season,
)

_TINY = 1e-6


@dataclass(frozen=True)
class Settled:
    """A plan, and whether none worth as much is less related by `NEAR` or more."""

    plan: Plan
    proven: bool


def least_related(
    herd: MatingProblem,
    limits: Constraints,
    best: Plan,
    *,
    given_up: float = 0.0,
    seconds: float = 2.0,
) -> Settled:
    """The plan of the least mean coancestry among those worth what `best` is, but for rounding and
    for what may be `given_up`.

    `seconds`: how long to look; past that the least so far is given, and is not proven. A best plan
    that was not proven took its time already: single changes are tried on it, and no more.
    """
    ends = time.monotonic() + (seconds if best.proven else 0.0)
    held, within = _as_good_as(best.value - given_up, herd, limits)
    least, proven = _lowered(held, within, _nearby(herd, limits, best), ends)
    return Settled(_least_inbred(herd, within, least, best, seconds / 2), proven)


def _lowered(
    herd: MatingProblem, limits: Constraints, least: Plan, ends: float
) -> tuple[Plan, bool]:
    """The ceiling brought down until no plan is left, or time."""
    low, ceiling = 0.0, least.coancestry - NEAR
    while ceiling > low and least.coancestry - low > NEAR:
        left = ends - time.monotonic()
        if left <= 0:
            return least, False
        try:
            least = plan_season(herd, replace(limits, coancestry=ceiling), seconds=left)
        except NoPlanError as none:
            if not none.proven:
                return least, False
            low = ceiling
        ceiling = (low + least.coancestry) / 2
    return least, True


def _as_good_as(
    value: float, herd: MatingProblem, limits: Constraints
) -> tuple[MatingProblem, Constraints]:
    """The same problem, of plans that are worth no less."""
    counted = (*herd.counted, np.nan_to_num(herd.value))
    least = limits.least or (0.0,) * len(herd.counted)
    return replace(herd, counted=counted), replace(limits, least=(*least, value))


def _nearby(herd: MatingProblem, limits: Constraints, best: Plan) -> Plan:
    """A plan worth as much that single changes lead to, if it keeps the limits; else the best."""
    pairs = reduce_coancestry(
        best.pairs,
        np.nan_to_num(herd.value),
        limits.allowed(herd),
        capacity=np.asarray(limits.capacity),
        locked=frozenset(sow for sow, _ in limits.held),
        kinship=herd.kinship,
    )
    counted = zip(herd.counted, limits.least, strict=False)
    kept = all(sum(table[pair] for pair in pairs) >= least - _TINY for table, least in counted)
    return _with(herd, best, pairs) if kept else best


def _least_inbred(
    herd: MatingProblem, limits: Constraints, least: Plan, best: Plan, seconds: float
) -> Plan:
    """The same parents as often, put to each other so that the litters are least inbred; the value
    held by `limits.least` is the last."""
    sows, boars = herd.value.shape
    used = parents_used(least.pairs, sows, boars)
    may = limits.allowed(herd)
    worst = float(herd.inbreeding[may].max())
    saved = np.where(may, worst - herd.inbreeding, np.nan)
    value, matings = np.nan_to_num(herd.value), np.ones((sows, boars))
    counted = (*herd.counted, value, matings)
    same = replace(
        limits,
        pens=len(least.pairs),
        capacity=tuple(used[:boars].astype(int).tolist()),
        coancestry=None,
        resting=frozenset(np.flatnonzero(used[boars:] == 0).tolist()),
        least=(*limits.least, len(least.pairs)),
    )
    found = plan_season(
        MatingProblem(saved, herd.inbreeding, herd.kinship, counted),
        same,
        seconds=seconds,
        gap=_TINY,
        start=least.pairs,
    )
    return _with(herd, best, found.pairs)


def _with(herd: MatingProblem, best: Plan, pairs: Pairs) -> Plan:
    """What is known of the best plan, said of one that is worth as much."""
    sows, boars = herd.value.shape
    coancestry = mean_coancestry(herd.kinship, parents_used(pairs, sows, boars))
    value = float(sum(herd.value[pair] for pair in pairs))
    bound = max(best.bound, value)
    return replace(
        best, pairs=tuple(sorted(pairs)), value=value, bound=bound, coancestry=coancestry
    )
