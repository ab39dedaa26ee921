"""All marginals of a network in two passes over a tree of tables.

Variables are eliminated in a given order; each leaves a message for the next one it was joined
to, which makes a tree (a junction tree with one clique for each variable). A second pass
back down the tree gives every marginal, dividing out what a branch itself had sent: Jensen FV,
Lauritzen SL, Olesen KG 1990, Bayesian updating in causal probabilistic networks by local
computations, Comput Stat Q 4:269-282 (cited from memory). Messages are scaled to a maximum of 1.
Should a table still come near the smallest number that a computer holds, or any entry that is not
zero fall below it, the whole is done again in logarithms, so that nothing is lost: a state that
looks hopeless half-way along a line may yet be the one that the rest of it speaks for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import ContradictionError, UnderflowError
from genetics.core.inference.factor_graph import Factor, Table

Scope = tuple[int, ...]

FAINT = 1e-150  # a table whose maximum lies below this is done again in logarithms
LARGE = 4096  # entries; larger tables are made a second time rather than kept


class Arithmetic(Protocol):
    """How tables are multiplied and summed."""

    def load(self, table: Table) -> Table: ...
    def times(self, left: Table, right: Table) -> Table: ...
    def plus(self, left: Table, right: Table) -> Table: ...
    def divide(self, whole: Table, part: Table) -> Table: ...
    def scale(self, table: Table) -> tuple[Table, float]: ...
    def shares(self, column: Table) -> Table: ...
    def weights(self, columns: Table) -> Table: ...


LOST = (
    UnderflowError,
    FloatingPointError,
)  # the latter of an entry, by `np.errstate(under="raise")`


class Plain:
    """Numbers as they are. Raises UnderflowError."""

    def load(self, table: Table) -> Table:
        return table

    def times(self, left: Table, right: Table) -> Table:
        return left * right

    def plus(self, left: Table, right: Table) -> Table:
        return left + right

    def divide(self, whole: Table, part: Table) -> Table:
        share: Table = np.divide(whole, part, out=np.zeros_like(whole), where=part > 0)
        return share

    def scale(self, table: Table) -> tuple[Table, float]:
        top = float(table.max())
        if top < FAINT:
            raise UnderflowError
        return table / top, math.log(top)

    def shares(self, column: Table) -> Table:
        shares: Table = column / column.sum()
        return shares

    def weights(self, columns: Table) -> Table:
        top = columns.max(axis=0)
        if (top < FAINT).any():
            raise UnderflowError
        scaled: Table = columns / top
        return scaled


class Logs:
    """Logarithms, slower. Raises ContradictionError where a whole table is zero."""

    def load(self, table: Table) -> Table:
        with np.errstate(divide="ignore"):
            logs: Table = np.log(table)
        return logs

    def times(self, left: Table, right: Table) -> Table:
        return left + right

    def plus(self, left: Table, right: Table) -> Table:
        both: Table = np.logaddexp(left, right)
        return both

    def divide(self, whole: Table, part: Table) -> Table:
        lost = np.full_like(whole, -np.inf)
        share: Table = np.subtract(whole, part, out=lost, where=part > -np.inf)
        return share

    def scale(self, table: Table) -> tuple[Table, float]:
        top = float(table.max())
        if top == -np.inf:
            raise ContradictionError
        return table - top, top

    def shares(self, column: Table) -> Table:
        shares = np.exp(column - column.max())
        scaled: Table = shares / shares.sum()
        return scaled

    def weights(self, columns: Table) -> Table:
        scaled: Table = np.exp(columns - columns.max(axis=0))
        return scaled


class Possibility(Plain):
    """Only whether anything is above zero. Raises ContradictionError."""

    def load(self, table: Table) -> Table:
        return (table > 0).astype(np.float64)

    def scale(self, table: Table) -> tuple[Table, float]:
        if not table.any():
            raise ContradictionError
        return (table > 0).astype(np.float64), 0.0


@dataclass(frozen=True)
class Marginals:
    """Shares of each variable's states, and the logarithm of the network's whole weight; `joint`:
    those of several, by the variables."""

    shares: list[Table]
    log_weight: float
    joint: dict[Scope, Table]


def marginals(
    states: Sequence[int],
    order: Sequence[int],
    factors: Sequence[Factor],
    together: Sequence[Scope] = (),
) -> Marginals:
    """Marginals of variables 0..n-1, eliminated in `order`, and of those that share a factor.
    Raises ContradictionError."""
    try:
        with np.errstate(under="raise"):
            return _Tree(states, order, factors, Plain()).marginals(together)
    except LOST:
        return _Tree(states, order, factors, Logs()).marginals(together)


def draw(
    states: Sequence[int],
    order: Sequence[int],
    factors: Sequence[Factor],
    draws: int,
    random: np.random.Generator,
) -> NDArray[np.int16]:
    """States (n, draws) of all variables together, drawn by the network's weight.

    Eliminated in `order`, then drawn in the opposite order, each variable given those it was
    joined to: forward filtering, backward sampling. Raises ContradictionError.
    """
    try:
        with np.errstate(under="raise"):
            return _Tree(states, order, factors, Plain()).draw(draws, random)
    except LOST:
        return _Tree(states, order, factors, Logs()).draw(draws, random)


def possible(states: Sequence[int], order: Sequence[int], factors: Sequence[Factor]) -> bool:
    """Whether any states of the variables have a weight above zero."""
    try:
        _Tree(states, order, factors, Possibility()).pass_up()
    except ContradictionError:
        return False
    return True


Part = tuple[tuple[int, ...], Table]


class _Tree:
    """One clique for each variable, numbered by its place in the order of elimination."""

    def __init__(
        self,
        states: Sequence[int],
        order: Sequence[int],
        factors: Sequence[Factor],
        arithmetic: Arithmetic,
    ) -> None:
        self.count = len(order)
        self.order = order
        self.arithmetic = arithmetic
        self.states = [states[variable] for variable in order]
        self.parts: list[list[Part]] = [[] for _ in order]
        self.children: list[list[int]] = [[] for _ in order]
        self.sent: list[Part] = []
        self.products: dict[int, Part] = {}
        self.log_weight = 0.0
        self.wanted: list[list[Scope]] = [[] for _ in order]
        self.joint: dict[Scope, Table] = {}
        self.place = place = np.empty(self.count, dtype=np.int64)
        place[list(order)] = np.arange(self.count)
        for factor in factors:
            places = place[list(factor.scope)]
            axes = np.argsort(places)
            table = arithmetic.load(factor.table).transpose(axes)
            self.parts[int(places.min())].append((tuple(places[axes].tolist()), table))

    def marginals(self, together: Sequence[Scope]) -> Marginals:
        for wanted in together:
            self.wanted[int(min(self.place[one] for one in wanted))].append(wanted)
        self.pass_up()
        shares = self.pass_down()
        by_variable: list[Table] = [np.empty(0)] * self.count
        for place, variable in enumerate(self.order):
            by_variable[variable] = shares[place]
        return Marginals(by_variable, self.log_weight, self.joint)

    def draw(self, draws: int, random: np.random.Generator) -> NDArray[np.int16]:
        """States of all variables (n, draws), from the last eliminated to the first."""
        self.pass_up()
        self.products.clear()
        found = np.zeros((self.count, draws), dtype=np.int16)
        by_place = np.empty_like(found)
        for clique in reversed(range(self.count)):
            ones = np.ones((self.states[clique], draws))
            weight = self.arithmetic.load(ones)
            for scope, table in self.parts[clique]:
                given = table[(slice(None), *(by_place[place] for place in scope[1:]))]
                weight = self.arithmetic.times(weight, given.reshape(len(ones), -1))
            climbing = self.arithmetic.weights(weight).cumsum(axis=0)
            by_place[clique] = (random.random(draws) * climbing[-1] >= climbing).sum(axis=0)
            found[self.order[clique]] = by_place[clique]
        return found

    def pass_up(self) -> None:
        """Eliminate each variable in turn and send the rest to the next in its clique."""
        for clique in range(self.count):
            scope, message = self.eliminated(clique)
            message, log = self.arithmetic.scale(message)
            self.log_weight += log
            self.sent.append((scope, message))
            if scope:
                self.parts[scope[0]].append((scope, message))
                self.children[scope[0]].append(clique)

    def eliminated(self, clique: int) -> Part:
        """The product of a clique's tables, summed over its own variable."""
        parts = sorted(self.parts[clique], key=lambda part: part[1].size)
        if not parts:
            ones = self.arithmetic.load(np.ones(self.states[clique]))
            parts = [((clique,), ones)]
        scope = _union(parts)
        if math.prod(self.states[place] for place in scope) <= LARGE:
            product = self.product(parts)
            self.products[clique] = product
            return scope[1:], self.summed(product[1], (0,))
        rest = self.product(parts[:-1]) if len(parts) > 1 else None
        last = _aligned(parts[-1], scope)
        if rest is None:
            return scope[1:], self.summed(last, (0,))
        left = _aligned(rest, scope)
        return scope[1:], self.sum_of_products(left, last)

    def sum_of_products(self, left: Table, right: Table) -> Table:
        """Sum over the first axis of a product, one slice at a time to save memory."""
        total = None
        for state in range(max(left.shape[0], right.shape[0])):
            piece = self.arithmetic.times(
                left[min(state, left.shape[0] - 1)], right[min(state, right.shape[0] - 1)]
            )
            total = piece if total is None else self.arithmetic.plus(total, piece)
        assert total is not None
        return total

    def product(self, parts: list[Part]) -> Part:
        """The product of tables, small ones first so that few multiplications are large."""
        scope, table = parts[0]
        for part in parts[1:]:
            both = _union([(scope, table), part])
            table = self.arithmetic.times(_aligned((scope, table), both), _aligned(part, both))
            scope = both
        return scope, table

    def pass_down(self) -> list[Table]:
        """Marginals of all cliques' own variables, from the last eliminated to the first."""
        shares: list[Table] = [np.empty(0)] * self.count
        received: dict[int, Part] = {}
        for clique in reversed(range(self.count)):
            scope, belief = self.belief(clique, received.pop(clique, None))
            belief, _ = self.arithmetic.scale(belief)
            own = self.summed(belief, tuple(range(1, belief.ndim)))
            shares[clique] = self.arithmetic.shares(own)
            for wanted in self.wanted[clique]:
                self.joint[wanted] = self.arithmetic.shares(self.of(wanted, scope, belief))
            for child in self.children[clique]:
                kept, sent = self.sent[child]
                axes = tuple(axis for axis, place in enumerate(scope) if place not in kept)
                message = self.arithmetic.divide(self.summed(belief, axes), sent)
                received[child] = (kept, self.arithmetic.scale(message)[0])
        return shares

    def of(self, wanted: Scope, scope: tuple[int, ...], belief: Table) -> Table:
        """A clique's table summed over all but some of its variables, in their order."""
        places = [int(self.place[variable]) for variable in wanted]
        others = (axis for axis, place in enumerate(scope) if place not in places)
        table = self.summed(belief, tuple(others))
        return table.transpose(np.argsort(np.argsort(places)))

    def belief(self, clique: int, received: Part | None) -> Part:
        """The product of a clique's tables and of what came down to it."""
        parts = sorted(self.parts[clique], key=lambda part: part[1].size)
        product = self.products.pop(clique, None) or self.product(parts)
        return product if received is None else self.product([received, product])

    def summed(self, table: Table, axes: tuple[int, ...]) -> Table:
        """Sum over axes, the outermost first, adding whole slices."""
        for gone, axis in enumerate(axes):
            slices = np.moveaxis(table, axis - gone, 0)
            total = slices[0]
            for piece in slices[1:]:
                total = self.arithmetic.plus(total, piece)
            table = total
        return table


def _union(parts: Sequence[Part]) -> tuple[int, ...]:
    if len(parts) == 1:
        return parts[0][0]
    return tuple(sorted({place for scope, _ in parts for place in scope}))


def _aligned(part: Part, scope: tuple[int, ...]) -> Table:
    """The table with an axis of length 1 for each place of `scope` that it lacks."""
    own, table = part
    if own == scope:
        return table
    lengths = dict(zip(own, table.shape, strict=True))
    return table.reshape([lengths.get(place, 1) for place in scope])
