"""Networks of factors: nonnegative tables over variables with few states.

A variable may be a genotype, a choice among candidate sires, or anything else that has states;
nothing here knows which. `reduce_network` takes what hard evidence decides out of a network: states
that no table allows are struck, variables with one state left are conditioned on, and tables that
have become products of smaller ones are taken apart, which cuts the network into components.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import ContradictionError

Table = NDArray[np.float64]
ROUNDING = 8 * np.finfo(np.float64).eps  # relative slack when a table is taken apart


@dataclass(frozen=True)
class Factor:
    """A table with one axis for each variable of its scope."""

    scope: tuple[int, ...]
    table: Table


@dataclass
class Network:
    """Variables, by their number of states, and the factors whose product is their weight.

    `together`: variables of one table whose joint shares are wanted besides.
    """

    states: list[int] = field(default_factory=list)
    factors: list[Factor] = field(default_factory=list)
    together: list[tuple[int, ...]] = field(default_factory=list)

    def variable(self, states: int) -> int:
        """A new variable with that many states; returns its number."""
        self.states.append(states)
        return len(self.states) - 1

    def factor(self, scope: tuple[int, ...], table: Table) -> None:
        """Multiply the network by a table over `scope`."""
        self.factors.append(Factor(scope, table))


@dataclass(frozen=True)
class ReducedNetwork:
    """What is left of a network when hard evidence has been taken out of it.

    `kept[v]` lists the states of variable v that are still possible; `factors` run over those
    states only and over variables that have at least two; `log_weight` is what was taken out.
    """

    kept: list[tuple[int, ...]]
    factors: list[Factor]
    log_weight: float

    def components(self) -> list[tuple[list[int], list[Factor]]]:
        """Unsettled variables that factors connect, with those factors."""
        leader = {v: v for v, kept in enumerate(self.kept) if len(kept) > 1}

        def find(variable: int) -> int:
            while leader[variable] != variable:
                leader[variable] = leader[leader[variable]]
                variable = leader[variable]
            return variable

        for factor in self.factors:
            for variable in factor.scope[1:]:
                leader[find(variable)] = find(factor.scope[0])
        parts: dict[int, tuple[list[int], list[Factor]]] = {}
        for variable in leader:
            parts.setdefault(find(variable), ([], []))[0].append(variable)
        for factor in self.factors:
            parts[find(factor.scope[0])][1].append(factor)
        return list(parts.values())


def reduce_network(network: Network) -> ReducedNetwork:
    """Strike impossible states and take apart what then falls apart. Raises ContradictionError."""
    return _Settling(network).run()


Kept = tuple[int, ...]
Pieces = tuple[float, tuple[tuple[tuple[int, ...], Table], ...]]


class _Settling:
    """One run of `reduce_network`; equal tables over equal states are worked on once."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.kept: list[Kept] = [tuple(range(states)) for states in network.states]
        self.factors_of: list[list[int]] = [[] for _ in network.states]
        for number, factor in enumerate(network.factors):
            for variable in factor.scope:
                self.factors_of[variable].append(number)
        self.supports: dict[tuple[int, tuple[Kept, ...]], tuple[Kept, ...]] = {}
        self.pieces: dict[tuple[int, tuple[Kept, ...]], Pieces] = {}

    def run(self) -> ReducedNetwork:
        self.prune_states()
        log_weight, factors = 0.0, []
        for factor in self.network.factors:
            log, pieces = self.taken_apart(factor)
            log_weight += log
            for axes, table in pieces:
                factors.append(Factor(tuple(factor.scope[axis] for axis in axes), table))
        return ReducedNetwork(self.kept, factors, log_weight)

    def prune_states(self) -> None:
        """Keep only states that every table supports, to a fixed point."""
        waiting = deque(range(len(self.network.factors)))
        queued = set(waiting)
        while waiting:
            number = waiting.popleft()
            queued.discard(number)
            factor = self.network.factors[number]
            for variable, kept in zip(factor.scope, self.supported(factor), strict=True):
                if kept != self.kept[variable]:
                    self.kept[variable] = kept
                    for other in self.factors_of[variable]:
                        if other not in queued:
                            queued.add(other)
                            waiting.append(other)

    def key(self, factor: Factor) -> tuple[int, tuple[Kept, ...]]:
        return id(factor.table), tuple(self.kept[variable] for variable in factor.scope)

    def supported(self, factor: Factor) -> tuple[Kept, ...]:
        key = self.key(factor)
        if key not in self.supports:
            positive = factor.table[np.ix_(*key[1])] > 0
            if not positive.any():
                raise ContradictionError
            axes = range(positive.ndim)
            self.supports[key] = tuple(
                tuple(np.array(kept)[positive.any(axis=tuple(set(axes) - {axis}))].tolist())
                for axis, kept in zip(axes, key[1], strict=True)
            )
        return self.supports[key]

    def taken_apart(self, factor: Factor) -> Pieces:
        key = self.key(factor)
        if key not in self.pieces:
            table = factor.table[np.ix_(*key[1])]
            axes = [axis for axis, states in enumerate(table.shape) if states > 1]
            table = table.reshape([states for states in table.shape if states > 1])
            top = float(table.max())
            self.pieces[key] = (math.log(top), tuple(_pieces(axes, table / top)))
        return self.pieces[key]


def _pieces(axes: list[int], table: Table) -> Iterable[tuple[tuple[int, ...], Table]]:
    """The tables, each over a few of `axes` and at most 1, whose product is `table`."""
    axes = list(axes)
    axis = 0
    while len(axes) > 1 and axis < len(axes):
        split = _split_off(table, axis)
        if split is None:
            axis += 1
            continue
        column, table = split
        if not (column == 1).all():
            yield (axes[axis],), column
        del axes[axis]
        axis = 0
    if axes and not (table == 1).all():
        yield tuple(axes), table


def _split_off(table: Table, axis: int) -> tuple[Table, Table] | None:
    """The two tables whose outer product along `axis` is `table` (its maximum is 1), or None."""
    rows = np.moveaxis(table, axis, 0).reshape(table.shape[axis], -1)
    state, column = np.unravel_index(rows.argmax(), rows.shape)
    product = np.outer(rows[:, column], rows[state])
    if (np.abs(rows - product) <= ROUNDING * product).all():
        return rows[:, column].copy(), np.take(table, state, axis=axis)
    return None
