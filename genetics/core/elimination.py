"""In what order to eliminate the variables of a network, and what that costs.

Greedy orders by min-fill and by least weight, as in Koller D, Friedman N 2009, Probabilistic
Graphical Models, sec. 9.4.3.2 (cited from memory); the cheaper one is taken. Where that is still
dear, a few more orders with ties broken at random (seeded, so that the same network always gets
the same order) are tried.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from random import Random

DEAR = 3.0e4  # table entries; above it, more orders are tried
TRIES = 24


@dataclass(frozen=True)
class Plan:
    """An order of elimination and its price: the sum of the tables' entries."""

    order: tuple[int, ...]
    price: float


def plan(states: Sequence[int], scopes: Iterable[tuple[int, ...]]) -> Plan:
    """The cheapest order found for variables 0..n-1 with `states`, coupled by `scopes`."""
    neighbours = _neighbours(len(states), scopes)
    best = min(
        (_greedy(states, neighbours, score, None) for score in (_fill, _weight)),
        key=lambda found: found.price,
    )
    if best.price > DEAR:
        chance = Random(len(states))
        for _ in range(TRIES):
            found = _greedy(states, neighbours, _fill, chance)
            best = min(best, found, key=lambda found: found.price)
    return best


def _neighbours(count: int, scopes: Iterable[tuple[int, ...]]) -> list[int]:
    """For each variable, the bits of those it shares a scope with."""
    neighbours = [0] * count
    for scope in scopes:
        bits = 0
        for variable in scope:
            bits |= 1 << variable
        for variable in scope:
            neighbours[variable] |= bits & ~(1 << variable)
    return neighbours


def members(bits: int) -> list[int]:
    """The numbers of the bits that are set, ascending."""
    found = []
    while bits:
        low = bits & -bits
        found.append(low.bit_length() - 1)
        bits ^= low
    return found


Score = Callable[[int, list[int], list[float]], float]


def _fill(variable: int, neighbours: list[int], logs: list[float]) -> float:
    """How many pairs of neighbours elimination would newly join."""
    around = neighbours[variable]
    missing = sum((around & ~neighbours[other]).bit_count() - 1 for other in members(around))
    return missing / 2


def _weight(variable: int, neighbours: list[int], logs: list[float]) -> float:
    """The logarithm of the table that elimination would make."""
    return logs[variable] + sum(logs[other] for other in members(neighbours[variable]))


def _greedy(
    states: Sequence[int], start: Sequence[int], score: Score, chance: Random | None
) -> Plan:
    neighbours = list(start)
    logs = [math.log(count) for count in states]
    current: list[tuple[float, float, float] | None] = [None] * len(neighbours)
    heap: list[tuple[tuple[float, float, float], int]] = []

    def rate(variable: int) -> None:
        tie = chance.random() if chance else 0.0
        rating = (
            score(variable, neighbours, logs),
            tie if chance else _weight(variable, neighbours, logs),
            tie,
        )
        current[variable] = rating
        heapq.heappush(heap, (rating, variable))

    for variable in range(len(neighbours)):
        rate(variable)
    order: list[int] = []
    price = 0.0
    while heap:
        rating, variable = heapq.heappop(heap)
        if current[variable] != rating:
            continue
        current[variable] = None
        order.append(variable)
        price += math.exp(_weight(variable, neighbours, logs))
        for other in _eliminate(variable, neighbours):
            rate(other)
    return Plan(tuple(order), price)


def _eliminate(variable: int, neighbours: list[int]) -> list[int]:
    """Join the neighbours of a variable and drop it; whose score may have changed."""
    around = neighbours[variable]
    bit = 1 << variable
    touched = around
    for other in members(around):
        new = around & ~neighbours[other] & ~(1 << other)
        if new:
            touched |= neighbours[other]
        neighbours[other] = (neighbours[other] | new) & ~bit
    return members(touched & ~bit)
