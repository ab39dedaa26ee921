"""From a network to the shares of each variable's states, component by component."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from genetics.core.elimination import TRIES, Plan, plan
from genetics.core.factors import Contradiction, Factor, Network, Settled, Table, settle
from genetics.core.propagation import marginals, possible


@dataclass(frozen=True)
class Component:
    """A connected part of a settled network, its variables renumbered from 0.

    `variables` are the network's numbers; `kept` their states that are still possible, out of
    `all_states`; `factors` run over the kept states only.
    """

    variables: list[int]
    kept: list[tuple[int, ...]]
    all_states: list[int]
    factors: list[Factor]
    plan: Plan

    @property
    def states(self) -> list[int]:
        return [len(kept) for kept in self.kept]

    def spread(self, shares: list[Table]) -> Iterator[tuple[int, Table]]:
        """Each variable's number in the network and its shares of all states."""
        for row in zip(self.variables, shares, self.kept, self.all_states, strict=True):
            yield row[0], _spread(*row[1:])


@dataclass(frozen=True)
class Solution:
    """`shares[v]` is None for variables of a component whose price exceeds the budget.

    `tangled` lists those components. `prices` are those of all, in table entries; `log_weight` is
    the logarithm of the network's whole weight, but for the tangled components.
    """

    shares: list[Table | None]
    tangled: list[Component]
    prices: list[float]
    log_weight: float


def solve(network: Network, budget: float) -> Solution:
    """Marginals of every component that the budget allows. Raises Contradiction."""
    settled = settle(network)
    solution = Solution([None] * len(network.states), [], [], settled.log_weight)
    for variable, kept in enumerate(settled.kept):
        if len(kept) == 1:
            solution.shares[variable] = _spread(np.ones(1), kept, network.states[variable])
    log_weight = settled.log_weight
    for part in components(network, settled, budget):
        solution.prices.append(part.plan.price)
        if part.plan.price > budget:
            solution.tangled.append(part)
            continue
        found = marginals(part.states, part.plan.order, part.factors)
        log_weight += found.log_weight
        for variable, shares in part.spread(found.shares):
            solution.shares[variable] = shares
    return Solution(solution.shares, solution.tangled, solution.prices, log_weight)


def quick_price(network: Network) -> float:
    """What a network costs by the first order found, in table entries; infinite where nothing is
    possible."""
    try:
        settled = settle(network)
    except Contradiction:
        return math.inf
    return sum(part.plan.price for part in components(network, settled, math.inf, tries=0))


def can_be(network: Network, budget: float) -> bool | None:
    """Whether a network has a weight above zero; None where that would exceed the budget."""
    try:
        parts = list(components(network, settle(network), budget))
    except Contradiction:
        return False
    answers = [
        possible(part.states, part.plan.order, part.factors) if part.plan.price <= budget else None
        for part in parts
    ]
    if False in answers:
        return False
    return None if None in answers else True


def components(
    network: Network, settled: Settled, budget: float, tries: int = TRIES
) -> Iterator[Component]:
    """The connected parts of a settled network, each with an order searched for as in `plan`."""
    for variables, factors in settled.components():
        place = {variable: number for number, variable in enumerate(variables)}
        local = [
            Factor(tuple(place[variable] for variable in factor.scope), factor.table)
            for factor in factors
        ]
        kept = [settled.kept[variable] for variable in variables]
        scopes = (factor.scope for factor in local)
        order = plan([len(one) for one in kept], scopes, budget, tries)
        all_states = [network.states[variable] for variable in variables]
        yield Component(variables, kept, all_states, local, order)


def _spread(shares: Table, kept: tuple[int, ...], states: int) -> Table:
    """Shares of the kept states as shares of all states."""
    full = np.zeros(states)
    full[list(kept)] = shares
    return full
