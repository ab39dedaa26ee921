"""Exact reckoning near an animal, with what belief propagation says of the rest at its edge.

A neighbourhood grows from a variable outwards, nearest nodes first, until its tables would cost
more than is allowed. Inside, everything is exact; each message that comes in from outside stands
for all that lies beyond. The loops that make belief propagation err near the animal are inside.
Where a message says the same of all states, nothing can come that way and it is not followed.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from genetics.core.inference.belief_propagation import Beliefs
from genetics.core.inference.cluster_graph import KnotGraph
from genetics.core.inference.elimination_order import Plan, plan
from genetics.core.inference.factor_graph import Factor, Table
from genetics.core.inference.junction_tree import marginals

FIRST = 64  # nodes of the first neighbourhood tried
GROWTH = 2  # how many times larger the next one is
CLOSE = 4  # a price within this factor of what is allowed is not bettered
CLOSER = 8  # nor is a bracket of sizes this small in proportion searched further
FLAT = 1e-9  # messages whose states differ less say nothing


@dataclass(frozen=True)
class Neighbourhood:
    """Nodes around a centre, their distance from it, and the network they make."""

    nodes: list[int]
    distances: list[int]
    variables: list[int]
    factors: list[Factor]
    plan: Plan
    whole: bool  # nothing that says anything was left out


class Surroundings:
    """The graph, its states and its messages, from which neighbourhoods are cut."""

    def __init__(self, states: Sequence[int], graph: KnotGraph, beliefs: Beliefs) -> None:
        self.states = states
        self.graph = graph
        self.beliefs = beliefs
        self.size = FIRST
        self.flat = [
            tuple(bool(np.ptp(message) < FLAT) for message in both) for both in beliefs.incoming
        ]

    def message(self, edge: int, to: int) -> Table:
        """What came along an edge to the node `to`."""
        ends = self.graph.edges[edge]
        return self.beliefs.incoming[edge][ends.index(to)]

    def says_nothing(self, edge: int, to: int) -> bool:
        """Whether what came along an edge to the node `to` is the same for all its states."""
        return self.flat[edge][self.graph.edges[edge].index(to)]

    def by_distance(self, centre: int, most: int) -> tuple[list[int], list[int]]:
        """Up to about `most` nodes, nearest first, a knot always with its variables."""
        distance = {centre: 0}
        waiting = deque([centre])
        while waiting and len(distance) < most:
            node = waiting.popleft()
            for edge, other in self.graph.neighbours[node]:
                if other in distance or self.says_nothing(edge, node):
                    continue
                distance[other] = distance[node] + 1
                waiting.append(other)
                for variable in self.graph.scopes[other]:
                    if variable not in distance:
                        distance[variable] = distance[other] + 1
                        waiting.append(variable)
        return list(distance), list(distance.values())

    def cut(self, nodes: list[int], distances: list[int]) -> Neighbourhood:
        """The network of some nodes with the messages from outside."""
        inside = set(nodes)
        for node in nodes:
            inside.update(self.graph.scopes[node])
        variables = sorted({variable for node in nodes for variable in self.graph.scopes[node]})
        place = {variable: number for number, variable in enumerate(variables)}
        factors, whole = [], True
        for node in sorted(inside):
            scope = self.graph.scopes[node]
            weight = self.graph.weights[node]
            for edge, other in self.graph.neighbours[node]:
                if other not in inside:
                    whole = whole and self.says_nothing(edge, node)
                    weight = weight * self.message(edge, node)
                elif edge_is_table(self.graph, edge, node):
                    both = (*scope, *self.graph.scopes[other])
                    table = self.graph.tables[edge].reshape([self.states[one] for one in both])
                    factors.append(Factor(tuple(place[one] for one in both), table))
            if (weight != weight[0]).any():
                shape = [self.states[variable] for variable in scope]
                top = weight.max()
                table = (weight / top if top > 0 else weight).reshape(shape)
                factors.append(Factor(tuple(place[one] for one in scope), table))
        states = [self.states[variable] for variable in variables]
        order = plan(states, (factor.scope for factor in factors), tries=0)
        return Neighbourhood(nodes, distances, variables, factors, order, whole)

    def largest(self, centre: int, price: float) -> Neighbourhood:
        """A neighbourhood about as large as can be had for at most `price`.

        The size that did for the last one asked for is tried first.
        """
        best: Neighbourhood | None = None
        low, high, size = 0, 0, self.size
        while not high or high - low > max(1, low // CLOSER):
            nodes, distances = self.by_distance(centre, size)
            tried = self.cut(nodes, distances)
            if tried.plan.price <= price or size == 1:
                best, low = tried, size
                if len(nodes) < size or tried.plan.price > price / CLOSE:
                    break
            else:
                high = size
            size = low * GROWTH if not high else (low + high) // 2 or 1
        assert best is not None  # a centre alone is always had
        self.size = low
        return best

    def half_of(self, found: Neighbourhood) -> Neighbourhood:
        """The inner half of a neighbourhood's nodes."""
        half = (len(found.nodes) + 1) // 2
        return self.cut(found.nodes[:half], found.distances[:half])

    def shares(self, found: Neighbourhood) -> dict[int, Table]:
        """Exact shares of a neighbourhood's variables. Raises ContradictionError."""
        states = [self.states[variable] for variable in found.variables]
        shares = marginals(states, found.plan.order, found.factors).shares
        return dict(zip(found.variables, shares, strict=True))


def edge_is_table(graph: KnotGraph, edge: int, node: int) -> bool:
    """Whether an edge inside is a table of its own, told once, from its first end."""
    return not graph.ties[edge] and graph.edges[edge][0] == node
