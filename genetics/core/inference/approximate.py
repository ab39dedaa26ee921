"""Figures for what is too tangled to be exact: belief propagation, then exact neighbourhoods.

Each animal asked for is reckoned exactly within the largest neighbourhood that the budget allows
(`neighbourhoods`), with the messages of belief propagation at its edge. What the figure moved when
the neighbourhood grew from half that size, when it was refined at all, and what those of its
family moved, says how far it may still be off. The estimates are scaled on simulated herds so that
at least 95 per cent of true errors lie below (`tests/benchmarks/errors.py`); they are not bounds.

Messages that start otherwise may settle elsewhere, where a family could as well be one way round
as the other: then any one answer is wrong. So they are started thrice, what they disagree on is
added to the estimate, and a figure whose estimate comes to `USELESS` is not given.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from genetics.core.inference.belief_propagation import Beliefs, pass_messages
from genetics.core.inference.cluster_graph import knot_graph
from genetics.core.inference.exact import Component
from genetics.core.inference.factor_graph import Table
from genetics.core.inference.neighbourhoods import Neighbourhood, Surroundings

NEAR = 2  # steps from a neighbourhood's centre to parents, mates and young
WORK = 0.2  # budgets to spend on all neighbourhoods of a component, if more than LEAST each
LEAST = 1e4  # table entries that a neighbourhood may cost, however many there are
MOST = 2000  # neighbourhoods of a component; the animals left are approximate
PROBES = 12  # neighbourhoods to measure belief propagation by, where not all are asked for
# How the estimates were scaled: tests/benchmarks/errors.md.
BY_GROWTH = 0.65
BY_REFINING = 0.13
BY_FAMILY = 0.2
UNREFINED = 2.0
FAMILY_SHARE = 0.97  # the share of refined animals whose move stands for the family's
LEANINGS = (3.0, -3.0)  # of the first messages, besides flat ones
USELESS = 0.25  # an estimate that says too little to give a figure with
SMALLEST = 1e-7  # what rounding and unfinished messages may add


@dataclass(frozen=True)
class Approximation:
    """`shares`, estimated absolute `errors` and whether each was `refined`, by local variable.

    `rounds` and the last `change` of messages. Where they did not settle, or settled too far
    apart, the estimate is USELESS or more, and `told` says that there is no figure.
    """

    shares: list[Table]
    errors: list[float]
    refined: list[bool]
    rounds: int
    change: float

    def told(self, variable: int) -> bool:
        """Whether a variable's shares are good for anything."""
        return self.errors[variable] < USELESS


def approximate(part: Component, asked: Collection[int], budget: float) -> Approximation:
    """Shares of all variables of a component, refined for those asked for (local numbers).

    Raises ContradictionError, but not for every contradiction there is.
    """
    graph = knot_graph(part.states, part.factors)
    beliefs = pass_messages(graph)
    count = len(part.variables)
    if not beliefs.settled:
        shares = beliefs.shares[:count]
        return Approximation(shares, [1.0] * count, [False] * count, beliefs.rounds, beliefs.change)
    spread = np.zeros(count)
    for leaning in LEANINGS:
        other = pass_messages(graph, leaning)
        moves = [_distance(beliefs.shares[one], other.shares[one]) for one in range(count)]
        spread = np.maximum(spread, moves)
    around = Surroundings(part.states, graph, beliefs)
    return _Refining(part, around, beliefs, spread, budget).run(asked)


class _Refining:
    """Neighbourhood after neighbourhood; each serves its centre and those close to it."""

    def __init__(
        self,
        part: Component,
        around: Surroundings,
        beliefs: Beliefs,
        spread: Table,
        budget: float,
    ) -> None:
        self.count = len(part.variables)
        self.around = around
        self.beliefs = beliefs
        self.spread = spread
        self.budget = budget
        self.shares = list(beliefs.shares[: self.count])
        self.growth: dict[int, float] = {}

    def run(self, asked: Collection[int]) -> Approximation:
        unasked = sorted(set(range(self.count)) - set(asked))
        probes = unasked[:: max(1, len(unasked) // PROBES)]
        price = min(self.budget, max(LEAST, self.budget * WORK / max(1, len(asked))))
        self.serve(asked, price)
        self.serve(probes, min(price, max(LEAST, self.budget * WORK / PROBES)))
        moved = {
            variable: _distance(self.shares[variable], self.beliefs.shares[variable])
            for variable in self.growth
        }
        family = float(np.quantile(list(moved.values()), FAMILY_SHARE)) if moved else 1.0
        errors = [
            BY_GROWTH * self.growth[variable] + BY_REFINING * moved[variable] + BY_FAMILY * family
            if variable in self.growth
            else UNREFINED * family
            for variable in range(self.count)
        ]
        return Approximation(
            self.shares,
            np.minimum(1.0, SMALLEST + np.array(errors) + self.spread).tolist(),
            [variable in self.growth for variable in range(self.count)],
            self.beliefs.rounds,
            self.beliefs.change,
        )

    def serve(self, variables: Collection[int], price: float) -> None:
        """Refine variables, the most connected first, and those of them that are near each."""
        wanted = set(variables)
        neighbours = self.around.graph.neighbours
        centres = 0
        for centre in sorted(wanted, key=lambda variable: (-len(neighbours[variable]), variable)):
            if centre in self.growth or centres == MOST:
                continue
            centres += 1
            found = self.around.largest(centre, price)
            self.take(found, wanted)

    def take(self, found: Neighbourhood, wanted: set[int]) -> None:
        """Enter a neighbourhood's shares of its centre and those near, with how they moved."""
        shares = self.around.shares(found)
        half = self.around.shares(self.around.half_of(found))
        distances = zip(found.nodes, found.distances, strict=True)
        near = [node for node, distance in distances if distance <= NEAR]
        for variable in near:
            if variable in wanted and variable not in self.growth and variable in half:
                self.growth[variable] = _distance(shares[variable], half[variable])
                self.shares[variable] = shares[variable]


def _distance(one: Table, other: Table) -> float:
    return float(np.abs(one - other).max())
