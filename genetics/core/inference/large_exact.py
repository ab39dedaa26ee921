"""Networks that are dear, exact all the same: better orders, fewer states, compiled sums.

What a greedy order makes dear is redrawn with mixtures, so that gametes may stand where parents
stood (`mixtures`), put in a better order by rotations (`rotations`), and summed by a kernel
(`contraction`): up the tree of tables and down again, each message but the receiver's own
multiplied in, so that nothing is divided. What comes down takes the place of what went up. Where
the tables need more room than there is, they are made in turns (`holding`).
"""

from __future__ import annotations

import math
import threading
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from genetics.core.exceptions import UnderflowError
from genetics.core.inference.contraction import Floats, contract
from genetics.core.inference.cutset_conditioning import (
    choose_cutset,
    combine_conditionals,
    condition_on,
)
from genetics.core.inference.elimination_order import (
    Plan,
    joined_by_leaving,
    members,
    neighbours_by,
)
from genetics.core.inference.factor_decomposition import insert_gamete_variables
from genetics.core.inference.factor_graph import Factor
from genetics.core.inference.junction_tree import FAINT, Marginals
from genetics.core.inference.order_annealing import EliminationTreeSearch
from genetics.core.numerics.kernels import available

ONE_OFF_BUDGET_FACTOR = 10**1.5  # times as much as the budget is allowed here: 10^8.9 table entries
ROOM = 6e7  # entries held at once: 480 MB
HOPEFUL = 10.0  # times as much again: no search makes up for more
SOON = 1.2e7  # entries summed in the time of a round of the search
ROUNDS, LAST_ROUNDS = 6, 15  # the latter where the network is not affordable yet
CLIMB = 3  # rounds until the search begins again from the first order
SMALL = 16  # a group of tables so many times smaller than their clique is multiplied beforehand
SHARED = 1e5  # entries summed from which on threads share the work
THREADS = 2  # kernels let go of the interpreter's lock
SPREAD = 2000  # entries: a smaller sum is made in two steps
LEAST = 1e-290  # products of entries above zero that may lie below this are not trusted

NOTHING: Floats = np.empty(0)

Scope = tuple[int, ...]
_ALONE = threading.Lock()  # so that no two take all that room at a time


def large_exact_marginals(
    states: Sequence[int],
    factors: Sequence[Factor],
    plan: Plan,
    budget: float,
    together: Sequence[Scope] = (),
) -> Marginals | None:
    """Marginals of a network of which the plan costs more than the budget, and of pairs that
    share a factor, or None: where it stays too dear, where tables or some of their entries come
    near the smallest number that a computer holds, where more than pairs are wanted, or where
    nothing can be compiled."""
    most = ONE_OFF_BUDGET_FACTOR * budget
    if plan.price > HOPEFUL * most or len(plan.order) < len(states) or not available():
        return None
    if any(len(wanted) > 2 for wanted in together):
        return None
    core = frozenset(plan.order[plan.sure :])
    redrawn, tables = insert_gamete_variables(states, factors, core)
    tables += [Factor(pair, np.ones([states[one] for one in pair])) for pair in together]
    scopes = tuple(table.scope for table in tables)
    better = better_plan(tuple(redrawn), scopes, plan.order, plan.sure, most)
    if better.price > most:
        return None
    with _ALONE:
        try:
            return _in_room(redrawn, tables, better.order, len(states), together, most)
        except UnderflowError:
            return None


def _in_room(
    states: Sequence[int],
    tables: Sequence[Factor],
    order: Scope,
    count: int,
    together: Sequence[Scope],
    most: float,
) -> Marginals | None:
    """Marginals of the first `count` variables with no more entries at once than there is room
    for; None where that costs too much. Raises UnderflowError."""
    tree = _Tree(states, order, tables)
    if tree.room <= ROOM:
        with tree.threads:
            return tree.marginals(count, together)
    variable, price = choose_cutset(states, [table.scope for table in tables], order)
    if price > most:
        return None
    turns = []
    for state in range(states[variable]):
        held = [1 if one == variable else number for one, number in enumerate(states)]
        left = most / states[variable]
        turn = _in_room(held, condition_on(tables, variable, state), order, count, together, left)
        if turn is None:
            return None
        turns.append(turn)
    return combine_conditionals(turns, variable)


@lru_cache(maxsize=32)
def better_plan(
    states: Scope, scopes: tuple[Scope, ...], order: Scope, sure: int, most: float
) -> Plan:
    """A cheaper order than one of the first variables, the others of `states` before them.

    Those that are `sure` stay first. The search ends early where `most` is out of reach.
    """
    neighbours = neighbours_by(len(states), scopes)
    price = 0.0
    for variable in order[:sure]:
        price += math.prod(states[one] for one in (variable, *members(neighbours[variable])))
        joined_by_leaving(variable, neighbours)
    left = [*range(len(order), len(states)), *order[sure:]]
    place = {variable: number for number, variable in enumerate(left)}
    around = [sum(1 << place[one] for one in members(neighbours[variable])) for variable in left]
    search = EliminationTreeSearch(
        [states[variable] for variable in left], around, range(len(left))
    )
    rounds, best = 0, search.found
    while rounds < ROUNDS or (rounds < LAST_ROUNDS and best.price > most):
        enough = best.price < SOON * (rounds + 1)
        if enough or best.price > most * max(2.0, HOPEFUL / (1 << rounds)):
            break
        if rounds % CLIMB == 0:
            search.begin()
        search.better()
        rounds += 1
        best = min(best, search.found, key=lambda found: found.price)
    found = tuple(left[number] for number in best.order)
    return Plan(order[:sure] + found, price + best.price, sure)


@dataclass(eq=False)
class _Table:
    """A table of the arena: given, or the product of its parts, summed down to its scope.

    `scope` holds places in the order of elimination, ascending. `scale`: what makes its largest
    entry 1. `least`: its smallest entry above zero, so scaled. `receives`: whether what comes down
    the tree has to come to it.
    """

    scope: Scope
    size: int
    number: int
    begin: int
    parts: list[_Table]
    receives: bool
    scale: float = 1.0
    least: float = 1.0


class _Tree:
    """One table for each variable, what it sends on; and products made beforehand."""

    def __init__(
        self, states: Sequence[int], order: Sequence[int], factors: Sequence[Factor]
    ) -> None:
        self.order = order
        self.states = [states[variable] for variable in order]
        self.shape = np.array(self.states, dtype=np.int64)
        self.tables: list[_Table] = []
        self.room = 0
        self.given: list[tuple[_Table, Floats]] = []
        self.place_of: dict[int, int] = {}  # by the number of the table that its clique sends on
        self._lay_out(factors)
        self.aside = self._new((), max(map(_apart, self.tables), default=0))
        self.between = self._new((), SPREAD * max(self.states))
        self.told = self._new((), max(self.states) ** 2)
        self.arena = np.empty(0)
        self.threads = ThreadPoolExecutor(THREADS)
        self.strides = np.zeros((len(self.tables), len(order)), dtype=np.int64)
        for table in self.tables:
            self._stride(table)

    def _size(self, scope: Iterable[int]) -> int:
        return math.prod(self.states[place] for place in scope)

    def _new(
        self, scope: Scope, size: int, parts: Sequence[_Table] = (), receives: bool = False
    ) -> _Table:
        table = _Table(scope, size, len(self.tables), self.room, list(parts), receives)
        self.tables.append(table)
        self.room += size
        return table

    def _lay_out(self, factors: Sequence[Factor]) -> None:
        place = {variable: number for number, variable in enumerate(self.order)}
        cliques: list[list[_Table]] = [[] for _ in self.order]
        for factor in factors:
            places = [place[variable] for variable in factor.scope]
            scope = tuple(sorted(places))
            table = self._new(scope, factor.table.size)
            axes = [places.index(one) for one in scope]
            self.given.append((table, factor.table.transpose(axes)))
            cliques[scope[0]].append(table)
        for number, clique in enumerate(cliques):
            parts = self._gathered(clique)
            scope = _union(parts)[1:]
            message = self._new(scope, self._size(scope), parts, receives=True)
            self.place_of[message.number] = number
            if scope:
                cliques[scope[0]].append(message)

    def _gathered(self, parts: Sequence[_Table]) -> list[_Table]:
        """The tables of a clique, the smallest of them as one, if their product is small."""
        parts = sorted(parts, key=lambda table: table.size)
        most = self._size(_union(parts)) / SMALL
        taken = 0
        while taken < len(parts) and self._size(_union(parts[: taken + 1])) <= most:
            taken += 1
        if taken < 2:
            return parts
        group, scope = parts[:taken], _union(parts[:taken])
        receives = any(table.receives for table in group)
        return [self._new(scope, self._size(scope), group, receives), *parts[taken:]]

    def _stride(self, table: _Table) -> None:
        self.strides[table.number] = 0
        step = 1
        for place in reversed(table.scope):
            self.strides[table.number, place] = step
            step *= self.states[place]

    def marginals(self, count: int, together: Sequence[Scope] = ()) -> Marginals:
        """Marginals of the first `count` variables, and of pairs that share a factor. Raises
        Faint."""
        places = {pair: tuple(map(self.order.index, pair)) for pair in together}
        joint: dict[Scope, Floats] = {}
        self.arena = np.empty(self.room)
        for table, values in self.given:
            self.arena[table.begin : table.begin + table.size] = values.ravel()
            table.least = _least(values)
        made = [table for table in self.tables if table.parts]
        log_weight = 0.0
        for table in made:
            top, least = self._contract(table.scope, table.begin, table.parts)
            table.scale, table.least = 1 / top, least / top
            log_weight += math.log(top)
        shares: list[Floats] = [np.empty(0)] * len(self.order)
        for table in reversed(made):
            if not table.scope:
                self.arena[table.begin], table.scale, table.least = 1.0, 1.0, 1.0
            clique = self.place_of.get(table.number)
            for pair in (one for one, both in places.items() if min(both) == clique):
                joint[pair] = self._of_pair(table, places[pair])
            weights = self._send_down(table)
            if clique is not None:
                shares[self.order[clique]] = weights / weights.sum()
        return Marginals(shares[:count], log_weight, joint)

    def _of_pair(self, table: _Table, pair: Scope) -> Floats:
        """The joint shares of two places of a clique, in their order."""
        scope = (min(pair), max(pair))
        self._contract(scope, self.told.begin, [*table.parts, table])
        weights = self.arena[self.told.begin :][: self._size(scope)]
        shares: Floats = weights / weights.sum()
        shares = shares.reshape([self.states[place] for place in scope])
        return shares if pair == scope else shares.T

    def _send_down(self, table: _Table) -> Floats:
        """Give each of a table's parts what comes to it from above and from the others, in the
        place of what it sent; the weights of the first variable that they share."""
        receivers = [part for part in table.parts if part.receives]
        receivers.sort(key=lambda part: part.size)
        first = min(part.scope[0] for part in table.parts)
        if not receivers:
            self._contract((first,), self.told.begin, [*table.parts, table])
            return self.arena[self.told.begin :][: self.states[first]].copy()
        weights = np.zeros(self.states[first])
        aside, sizes = self.aside.begin, []
        for part in receivers:
            others = [one for one in table.parts if one is not part]
            last = part is receivers[-1]
            begin, told = (part.begin, weights) if last else (aside, NOTHING)
            sizes.append(self._contract(part.scope, begin, [*others, table], told))
            aside += part.size
        aside = self.aside.begin
        for part, (top, least) in zip(receivers, sizes, strict=True):
            part.scale, part.least = 1 / top, least / top
            if part is not receivers[-1]:
                self.arena[part.begin : part.begin + part.size] = self.arena[aside:][: part.size]
                aside += part.size
        return weights

    def _contract(
        self, scope: Scope, begin: int, parts: Sequence[_Table], weights: Floats = NOTHING
    ) -> tuple[float, float]:
        """Write the product of tables, summed down to a scope; its largest entry and the smallest
        above zero. Raises UnderflowError."""
        if math.prod(part.least for part in parts) < LEAST:
            raise UnderflowError
        size = self._size(scope)
        summed = [place for place in _union(parts) if place not in scope]
        if size < SPREAD < self._size(summed):
            middle = list(scope)
            while self._size(middle) < SPREAD:
                middle.append(summed.pop())
            self.between.scope = tuple(sorted(middle))
            self._stride(self.between)
            self._run(self.between.scope, summed, self.between.begin, parts, NOTHING)
            summed = [place for place in self.between.scope if place not in scope]
            parts = [self.between]
        self._run(scope, summed, begin, parts, weights)
        values = self.arena[begin : begin + size]
        top = float(values.max())
        if not FAINT <= top < math.inf:
            raise UnderflowError
        return top, _least(values)

    def _run(
        self,
        scope: Scope,
        summed: Sequence[int],
        begin: int,
        parts: Sequence[_Table],
        weights: Floats,
    ) -> None:
        axes = [*scope, *summed]
        strides = np.ascontiguousarray(self.strides[[part.number for part in parts]][:, axes])
        starts = np.array([part.begin for part in parts])
        scale = math.prod(part.scale for part in parts)
        shape = self.shape[axes]
        task = (self.arena, begin, starts, strides, shape, len(scope), scale)
        if math.prod(shape.tolist()) < SHARED:
            contract(*task, weights, 0, 1)
            return
        added = [np.zeros_like(weights) for _ in range(THREADS)]
        jobs = [
            self.threads.submit(contract, *task, own, part, THREADS)
            for part, own in enumerate(added)
        ]
        for job, own in zip(jobs, added, strict=True):
            job.result()
            weights += own


def _least(values: Floats) -> float:
    """The smallest entry above zero."""
    least = float(values.min())
    return least if least > 0 else float(values.min(where=values > 0, initial=math.inf))


def _union(parts: Sequence[_Table]) -> Scope:
    return tuple(sorted({place for part in parts for place in part.scope}))


def _apart(table: _Table) -> int:
    """Entries to lay aside while a table's parts receive what comes down."""
    sizes = sorted(part.size for part in table.parts if part.receives)
    return sum(sizes[:-1])
