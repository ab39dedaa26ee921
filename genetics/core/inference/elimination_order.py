"""In what order to eliminate the variables of a network, and what that costs.

Variables whose neighbours are all joined already are eliminated first, which is never a mistake.
The rest follows greedy orders by min-fill and by least weight, as in Koller D, Friedman N 2009,
Probabilistic Graphical Models, sec. 9.4.3.2 (cited from memory); the cheaper one is taken. Where
that is still dear, more orders with scores shaken at random are tried, seeded, so that the same
network always gets the same order.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from random import Random

DEAR = 1.0e5  # table entries that take about as long as trying one more order
TRIES = 24
LAST_TRIES = 72  # more of them where the cheapest is still not affordable
HOPELESS = 30  # times what is affordable: shaken orders hardly ever make up for that
SHAKE = 0.3


@dataclass(frozen=True)
class Plan:
    """An order of elimination and its price: the sum of the tables' entries.

    `sure`: how many go first because their neighbours are all joined already.
    """

    order: tuple[int, ...]
    price: float
    sure: int = 0


def plan(
    states: Sequence[int],
    scopes: Iterable[tuple[int, ...]],
    affordable: float = math.inf,
    tries: int = TRIES,
    last_tries: int = LAST_TRIES,
    hopeless: float = HOPELESS,
) -> Plan:
    """The cheapest order found for variables 0..n-1 with `states`, coupled by `scopes`.

    A price above `affordable` makes the search longer by `last_tries` before it gives up; one
    that is `hopeless` times above it ends the search, and its order may then be cut short, and
    the price be what it cost so far. `tries`: how many shaken orders a dear network is worth;
    none where a quick answer is wanted.
    """
    graph = _Graph([math.log(count) for count in states], neighbours_by(len(states), scopes))
    start = graph.eliminate_joined()
    most = hopeless * affordable
    best = graph.greedy(_fill, None, most)
    if tries:
        best = min(best, graph.greedy(_weight, None, most), key=_price)
    chance = Random(len(states))
    for number in range(tries + last_tries if tries else 0):
        whole = start.price + best.price
        enough = DEAR * (number + 1) if number < tries else affordable
        if whole <= enough or whole > most:
            break
        shaken = graph.greedy(_SHAKEN[number % len(_SHAKEN)], chance, best.price)
        best = min(best, shaken, key=_price)
    return Plan(start.order + best.order, start.price + best.price, len(start.order))


def _price(found: Plan) -> float:
    return found.price


def neighbours_by(count: int, scopes: Iterable[tuple[int, ...]]) -> list[int]:
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


Score = Callable[[int, float, float], float]  # of neighbours, missing pairs and weight


def _fill(neighbours: int, missing: float, weight: float) -> float:
    return missing


def _weight(neighbours: int, missing: float, weight: float) -> float:
    return weight


def _fill_and_weight(neighbours: int, missing: float, weight: float) -> float:
    return missing + weight / 2


def _fill_for_each(neighbours: int, missing: float, weight: float) -> float:
    return missing / (neighbours + 1)


_SHAKEN: tuple[Score, ...] = (_fill, _fill_and_weight, _fill, _fill_for_each)


class _Graph:
    """Which variables share a table, as bits, and the logarithms of their states."""

    def __init__(self, logs: list[float], neighbours: list[int]) -> None:
        self.logs = logs
        self.neighbours = neighbours
        self.left = set(range(len(logs)))

    def measured(self, variable: int, neighbours: list[int]) -> tuple[int, float, float]:
        """Number of neighbours, pairs of them not joined yet, log of the table of them all."""
        around = neighbours[variable]
        others = members(around)
        missing = 0
        weight = self.logs[variable]
        for other in others:
            missing += (around & ~neighbours[other]).bit_count() - 1
            weight += self.logs[other]
        return len(others), missing / 2, weight

    def eliminate_joined(self) -> Plan:
        """Take out, for good, every variable whose neighbours are all joined."""
        order: list[int] = []
        price = 0.0
        waiting = sorted(self.left, reverse=True)
        while waiting:
            variable = waiting.pop()
            if variable not in self.left:
                continue
            _, missing, weight = self.measured(variable, self.neighbours)
            if missing == 0:
                self.left.discard(variable)
                order.append(variable)
                price += math.exp(weight)
                waiting += joined_by_leaving(variable, self.neighbours)
        return Plan(tuple(order), price)

    def greedy(self, score: Score, chance: Random | None, most: float) -> Plan:
        """An order for the variables left, the lowest score first, ties by weight; cut short
        when it costs more than `most`."""
        neighbours = list(self.neighbours)
        weights: dict[int, float] = {}
        rating: dict[int, tuple[float, float]] = {}

        def rate(variable: int) -> None:
            size, missing, weight = self.measured(variable, neighbours)
            shaken = score(size, missing, weight)
            if chance:
                shaken *= 1 + SHAKE * chance.random()
            weights[variable] = weight
            rating[variable] = (shaken, chance.random() if chance else weight)

        for variable in sorted(self.left):
            rate(variable)
        order: list[int] = []
        price = 0.0
        waiting = [(rated, variable) for variable, rated in rating.items()]
        heapify(waiting)
        while waiting and price <= most:
            rated, variable = heappop(waiting)
            if rating.get(variable) != rated:
                continue  # it was rated again
            del rating[variable]
            order.append(variable)
            price += math.exp(weights[variable])
            for other in joined_by_leaving(variable, neighbours):
                rate(other)
                heappush(waiting, (rating[other], other))
        return Plan(tuple(order), price)


def joined_by_leaving(variable: int, neighbours: list[int]) -> list[int]:
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
