"""A network redrawn so that a litter is a tree within itself.

Belief propagation is exact on trees. A sire, a dam and two pups are none: each pup's table joins
both parents, and what they say goes round. So two variables that stand together in a table of
three become one knot, with a state for each pair of states; every table then joins a knot to one
more variable, and a knot is tied to its own two. All litters of a sire and a dam, or a litter
with all its candidate sires, are trees of such knots, and only the loops between families are
left.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from genetics.core.inference.factor_graph import Factor, Table

Scope = tuple[int, ...]


@dataclass(frozen=True)
class KnotGraph:
    """Nodes and the tables that join two of them.

    `scopes[k]`: the variables of node k, itself for the first of them (one for each variable),
    ascending pairs for the knots after. `weights[k]` (states of the node,): its own table,
    flattened. `edges` join node u to v by `tables` (states of u, states of v); `ties` tells which
    only tie a knot to one of its own variables. `neighbours[k]`: (edge, other node).
    """

    scopes: list[Scope]
    weights: list[Table]
    edges: list[tuple[int, int]]
    tables: list[Table]
    ties: list[bool]
    neighbours: list[list[tuple[int, int]]]


def knot_graph(states: Sequence[int], factors: Sequence[Factor]) -> KnotGraph:
    """Redraw factors of at most three variables. Raises ValueError for larger ones."""
    if any(len(factor.scope) > 3 for factor in factors):
        raise ValueError("a knot joins two variables, so a table may have no more than three")
    pair_of = _pairs(factors)
    pairs = sorted({pair for pair in pair_of if pair is not None})
    scopes: list[Scope] = [(variable,) for variable in range(len(states))] + list(pairs)
    node = {scope: number for number, scope in enumerate(scopes)}
    weights = [np.ones([states[variable] for variable in scope]) for scope in scopes]
    joined: dict[tuple[int, int], Table] = {}
    for factor, pair in zip(factors, pair_of, strict=True):
        scope, table = _ascending(factor, pair)
        if scope in node:
            weights[node[scope]] = weights[node[scope]] * table
            continue
        first, last = node[scope[:-1]], scope[-1]
        table = table.reshape(-1, states[last])
        joined[first, last] = joined.get((first, last), np.ones_like(table)) * table
    tables, ties = list(joined.values()), [False] * len(joined)
    edges = list(joined)
    for pair in pairs:
        for axis, variable in enumerate(pair):
            edges.append((node[pair], variable))
            tables.append(_tie([states[one] for one in pair], axis))
            ties.append(True)
    neighbours: list[list[tuple[int, int]]] = [[] for _ in scopes]
    for number, (u, v) in enumerate(edges):
        neighbours[u].append((number, v))
        neighbours[v].append((number, u))
    return KnotGraph(scopes, [one.ravel() for one in weights], edges, tables, ties, neighbours)


def _pairs(factors: Sequence[Factor]) -> list[Scope | None]:
    """For each table of three, the two of its variables that stand together most often."""
    together: Counter[Scope] = Counter()
    for factor in factors:
        together.update(combinations(sorted(factor.scope), 2))

    def best(scope: Scope) -> Scope:
        pairs = [tuple(sorted(pair)) for pair in combinations(scope, 2)]
        return max(pairs, key=lambda pair: together[pair])  # parents come first: they win a tie

    return [best(factor.scope) if len(factor.scope) == 3 else None for factor in factors]


def _ascending(factor: Factor, pair: Scope | None) -> tuple[Scope, Table]:
    """The factor with its axes ascending, but a table of three with its pair's first."""
    scope = factor.scope
    wanted = sorted(scope) if pair is None else [*pair, *(set(scope) - set(pair))]
    return tuple(wanted), factor.table.transpose([scope.index(variable) for variable in wanted])


def _tie(states: Sequence[int], axis: int) -> Table:
    """Table (states of the knot, states of its variable): 1 where they agree."""
    own = np.indices(states)[axis].ravel()
    tie: Table = np.eye(states[axis])[own]
    return tie
