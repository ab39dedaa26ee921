"""From a network to the shares of each variable's states, component by component."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from genetics.core.exceptions import ContradictionError
from genetics.core.inference.elimination_order import TRIES, Plan, plan
from genetics.core.inference.factor_graph import (
    Factor,
    Network,
    ReducedNetwork,
    Table,
    reduce_network,
)
from genetics.core.inference.junction_tree import Scope, marginals, possible

MOST_ORDERED = 20_000  # variables of a component: the search holds a bit for each pair of them
ONCE = (0, 300.0)  # no last tries, and what is hopeless, where `dear` has its own


@dataclass(frozen=True)
class Component:
    """A connected part of a settled network, its variables renumbered from 0.

    `variables` are the network's numbers; `kept` their states that are still possible, out of
    `all_states`; `factors` run over the kept states only. `together`: variables whose joint shares
    are wanted, each in one table.
    """

    variables: list[int]
    kept: list[tuple[int, ...]]
    all_states: list[int]
    factors: list[Factor]
    plan: Plan
    together: list[Scope] = field(default_factory=list)

    @property
    def states(self) -> list[int]:
        return [len(kept) for kept in self.kept]

    def spread(self, shares: list[Table]) -> Iterator[tuple[int, Table]]:
        """Each variable's number in the network and its shares of all states."""
        for row in zip(self.variables, shares, self.kept, self.all_states, strict=True):
            yield row[0], _spread(*row[1:])

    def spread_joint(self, joint: dict[Scope, Table]) -> Iterator[tuple[Scope, Table]]:
        """The network's numbers of variables that are wanted together, and their joint shares of
        all states."""
        for wanted, shares in joint.items():
            full = np.zeros([self.all_states[one] for one in wanted])
            full[np.ix_(*(self.kept[one] for one in wanted))] = shares
            yield tuple(self.variables[one] for one in wanted), full


@dataclass(frozen=True)
class Solution:
    """`shares[v]` is None for variables of a component whose price exceeds the budget.

    `tangled` lists those components. `prices` are those of all, in table entries; `log_weight` is
    the logarithm of the network's whole weight, but for the tangled components. `joint`: shares of
    the variables wanted together, where all of them are known.
    """

    shares: list[Table | None]
    tangled: list[Component]
    prices: list[float]
    log_weight: float
    joint: dict[Scope, Table] = field(default_factory=dict)


def solve(network: Network, budget: float, once: bool = False) -> Solution:
    """Marginals of every component that the budget allows. Raises ContradictionError.

    `once`: what exceeds it may yet be tried by `dear`, which searches for an order of its own.
    """
    settled = reduce_network(network)
    solution = Solution([None] * len(network.states), [], [], settled.log_weight)
    for variable, kept in enumerate(settled.kept):
        if len(kept) == 1:
            solution.shares[variable] = _spread(np.ones(1), kept, network.states[variable])
    log_weight = settled.log_weight
    part_of: dict[int, int] = {}
    pieces: dict[Scope, Table] = {}
    for number, part in enumerate(components(network, settled, budget, once=once)):
        solution.prices.append(part.plan.price)
        if part.plan.price > budget:
            solution.tangled.append(part)
            continue
        found = marginals(part.states, part.plan.order, part.factors, part.together)
        log_weight += found.log_weight
        for variable, shares in part.spread(found.shares):
            solution.shares[variable] = shares
        part_of.update(dict.fromkeys(part.variables, number))
        pieces.update(part.spread_joint(found.joint))
    joint = {
        wanted: _joint(wanted, part_of, solution.shares, pieces)
        for wanted in network.together
        if all(solution.shares[variable] is not None for variable in wanted)
    }
    return replace(solution, log_weight=log_weight, joint=joint)


def _joint(
    wanted: Scope, part_of: dict[int, int], shares: list[Table | None], pieces: dict[Scope, Table]
) -> Table:
    """Joint shares of variables: the product over the components that they are of."""
    groups: dict[int, list[int]] = {}
    for variable in wanted:
        groups.setdefault(part_of.get(variable, ~variable), []).append(variable)
    operands: list[Any] = []
    for own in groups.values():
        operands.append(shares[own[0]] if len(own) == 1 else pieces[tuple(own)])
        operands.append([wanted.index(variable) for variable in own])
    joint: Table = np.einsum(*operands, list(range(len(wanted))))
    return joint


def quick_price(network: Network) -> float:
    """What a network costs by the first order found, in table entries; infinite where nothing is
    possible."""
    try:
        settled = reduce_network(network)
    except ContradictionError:
        return math.inf
    return sum(part.plan.price for part in components(network, settled, math.inf, tries=0))


def can_be(network: Network, budget: float) -> bool | None:
    """Whether a network has a weight above zero; None where that would exceed the budget."""
    try:
        parts = list(components(network, reduce_network(network), budget))
    except ContradictionError:
        return False
    answers = [
        possible(part.states, part.plan.order, part.factors) if part.plan.price <= budget else None
        for part in parts
    ]
    if False in answers:
        return False
    return None if None in answers else True


def components(
    network: Network,
    settled: ReducedNetwork,
    budget: float,
    tries: int = TRIES,
    once: bool = False,
) -> Iterator[Component]:
    """The connected parts of a settled network, each with an order searched for as in `plan`."""
    for variables, factors in settled.components():
        place = {variable: number for number, variable in enumerate(variables)}
        local = [
            Factor(tuple(place[variable] for variable in factor.scope), factor.table)
            for factor in factors
        ]
        kept = [settled.kept[variable] for variable in variables]
        states = [len(one) for one in kept]
        scopes = (
            tuple(place[variable] for variable in wanted if variable in place)
            for wanted in network.together
        )
        together = [scope for scope in scopes if len(scope) > 1]
        local += _joining(together, local, states)
        order = _ordered(states, local, budget, tries, once)
        all_states = [network.states[variable] for variable in variables]
        yield Component(variables, kept, all_states, local, order, together)


def _ordered(
    states: list[int], factors: list[Factor], budget: float, tries: int, once: bool
) -> Plan:
    """An order for a component; none, at an infinite price, where there is a budget and the
    component is so large that the search alone would take too much time and memory."""
    if len(states) > MOST_ORDERED and math.isfinite(budget):
        return Plan((), math.inf)
    scopes = (factor.scope for factor in factors)
    return plan(states, scopes, budget, tries, *(ONCE if once else ()))


def _joining(together: list[Scope], factors: list[Factor], states: list[int]) -> list[Factor]:
    """Tables that say nothing, for variables whose own was taken apart."""
    joined = [set(factor.scope) for factor in factors if len(factor.scope) > 1]
    return [
        Factor(wanted, np.ones([states[variable] for variable in wanted]))
        for wanted in together
        if not any(scope.issuperset(wanted) for scope in joined)
    ]


def _spread(shares: Table, kept: tuple[int, ...], states: int) -> Table:
    """Shares of the kept states as shares of all states."""
    full = np.zeros(states)
    full[list(kept)] = shares
    return full
