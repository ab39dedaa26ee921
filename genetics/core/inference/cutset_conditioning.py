"""Networks whose tables need too much room, worked out in turn with a variable held at each state.

What came of each state is mixed by the states' weights: Pearl J 1988, Probabilistic Reasoning in
Intelligent Systems, sec. 4.4, conditioning (cited from memory). A table that held the variable is
smaller by its states, and where it stood in most of the dear tables all turns together cost hardly
more than one without it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from genetics.core.inference.elimination_order import joined_by_leaving, members, neighbours_by
from genetics.core.inference.factor_graph import Factor, Table
from genetics.core.inference.junction_tree import Marginals

Scope = tuple[int, ...]


def choose_cutset(
    states: Sequence[int], scopes: Sequence[Scope], order: Sequence[int]
) -> tuple[int, float]:
    """The variable that is held most cheaply in an order of elimination, and the entries of all
    tables of all its turns."""
    neighbours = neighbours_by(len(states), scopes)
    price, with_it = 0.0, [0.0] * len(states)
    for variable in order:
        clique = [variable, *members(neighbours[variable])]
        entries = float(math.prod(states[one] for one in clique))
        price += entries
        for one in clique:
            with_it[one] += entries
        joined_by_leaving(variable, neighbours)
    prices = [
        with_it[one] + (price - with_it[one]) * count if count > 1 else math.inf
        for one, count in enumerate(states)
    ]
    best = min(range(len(states)), key=prices.__getitem__)
    return best, prices[best]


def condition_on(factors: Sequence[Factor], variable: int, state: int) -> list[Factor]:
    """The tables where a variable has but one state."""
    return [
        Factor(one.scope, one.table.take([state], axis=one.scope.index(variable)))
        if variable in one.scope
        else one
        for one in factors
    ]


def combine_conditionals(turns: Sequence[Marginals], variable: int) -> Marginals:
    """What comes of the turns of a variable, one for each of its states."""
    logs = np.array([turn.log_weight for turn in turns])
    weights = np.exp(logs - logs.max())
    log_weight = float(logs.max()) + math.log(weights.sum())
    weights /= weights.sum()

    def mix(tables: Sequence[Table], axis: int | None) -> Table:
        weighed = [weight * table for weight, table in zip(weights, tables, strict=True)]
        return sum(weighed[1:], weighed[0]) if axis is None else np.concatenate(weighed, axis)

    shares = [
        mix([turn.shares[one] for turn in turns], 0 if one == variable else None)
        for one in range(len(turns[0].shares))
    ]
    joint = {
        pair: mix([turn.joint[pair] for turn in turns], _axis(pair, variable))
        for pair in turns[0].joint
    }
    return Marginals(shares, log_weight, joint)


def _axis(scope: Scope, variable: int) -> int | None:
    return scope.index(variable) if variable in scope else None
