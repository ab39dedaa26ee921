"""Compiled: an order of elimination made cheaper, by rotations of the tree that it makes.

Each variable hangs below the first of its neighbours that goes after it. To let a variable go
after the one it hangs below moves no other table than those two, so what that costs is soon told;
many such moves, of which those that cost more are kept by luck, and less and less often, find
orders that greedy ones do not: Kirkpatrick S, Gelatt CD, Vecchi MP 1983, Optimization by simulated
annealing, Science 220:671-680 (cited from memory). Luck is seeded: the same network always gets
the same order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.inference.elimination_order import Plan, joined_by_leaving, members
from genetics.core.numerics.kernels import compiled

Bits = NDArray[np.uint64]
Integers = NDArray[np.int64]
Floats = NDArray[np.float64]

STEPS = 50_000  # of a round, each of up to FARTHEST rotations
FARTHEST = 24
HOT, COLD = 0.1, 0.002  # how much dearer luck may make it, in proportion, at first and at last
ROUGH = 100.0  # times as dear as before: that far no step goes on
WORD = 64
JOINED, AROUND = 0, 1
STATES, COST = 0, 1
PARENT, FIRST, AFTER = 0, 1, 2
SEED = 88172645463325252

_1 = np.uint64(1)
_PAIRS, _FOURS = np.uint64(0x5555555555555555), np.uint64(0x3333333333333333)
_BYTES, _LAST = np.uint64(0x0F0F0F0F0F0F0F0F), np.uint64(0x7F)
_2, _4, _8, _16, _32 = (np.uint64(by) for by in (2, 4, 8, 16, 32))
_7, _11, _13, _17, _63 = (np.uint64(by) for by in (7, 11, 13, 17, 63))


class Tree(NamedTuple):
    """An order of elimination of V variables, as a tree, in few arrays since many are slow to pass.

    `sets` (2, V + 1, W) of variables are bits in words: JOINED, those that each shares a scope
    with, and AROUND, those of its table when it is eliminated, besides itself; the last row is
    room to work in. `figures` (2, V): the STATES of each, and the COST of that table in entries.
    `links` (3, V): its PARENT, the first of those around it to go, -1 for none; the FIRST of its
    children, and the one AFTER it among its parent's. `work` (V,): room. `luck` (1,): the state
    of the chances drawn.
    """

    sets: Bits
    figures: Floats
    links: Integers
    work: Integers
    luck: Bits


class EliminationTreeSearch:
    """An order of elimination that gets cheaper round by round.

    `states` (V,); `neighbours`: for each variable the bits of those it shares a scope with;
    `order`: all variables. `found`: the cheapest since it last began, with the sum of its tables'
    entries.
    """

    def __init__(
        self, states: Sequence[int], neighbours: Sequence[int], order: Sequence[int]
    ) -> None:
        self.states = states
        self.neighbours = neighbours
        self.order = tuple(order)
        self.rounds = 0
        self.begin()

    def begin(self) -> None:
        """Begin again from the first order, with other luck."""
        self._grow(self.order)

    def _grow(self, order: Sequence[int]) -> None:
        place = {variable: number for number, variable in enumerate(order)}
        left, self.around = list(self.neighbours), [0] * len(order)
        self.parent = np.full(len(order), -1)
        self.cost = np.empty(len(order))
        for variable in order:
            self.around[variable] = left[variable]
            others = members(left[variable])
            self.cost[variable] = math.prod(self.states[one] for one in (variable, *others))
            if others:
                self.parent[variable] = min(others, key=place.__getitem__)
            joined_by_leaving(variable, left)
        self.found = Plan(tuple(order), float(self.cost.sum()))

    def tree(self) -> Tree:
        """The tree as arrays, for one round."""
        count, width = len(self.cost), -(-len(self.cost) // WORD)
        links = np.full((3, count), -1)
        links[PARENT] = self.parent
        for variable, parent in enumerate(self.parent.tolist()):
            if parent >= 0:
                links[AFTER, variable], links[FIRST, parent] = links[FIRST, parent], variable
        return Tree(
            np.stack([_words([*sets, 0], width) for sets in (self.neighbours, self.around)]),
            np.stack([np.array(self.states, dtype=np.float64), self.cost]),
            links,
            np.empty(count + FARTHEST, dtype=np.int64),
            np.array([SEED + self.rounds], dtype=np.uint64),
        )

    def better(self, steps: int = STEPS) -> None:
        """One more round; the order stays as it is where that finds none cheaper."""
        self.rounds += 1
        before, best = self.found, self.parent.copy()
        anneal(self.tree(), steps, best)
        deep = np.zeros(len(best), dtype=np.int64)
        above = best.copy()
        while (above >= 0).any():
            deep += above >= 0
            above = np.where(above >= 0, best[above], -1)
        self._grow(np.argsort(-deep, kind="stable").tolist())
        if self.found.price > before.price:
            self._grow(before.order)


def _words(sets: Sequence[int], width: int) -> Bits:
    rows = [[bits >> (WORD * word) & (2**WORD - 1) for word in range(width)] for bits in sets]
    return np.array(rows, dtype=np.uint64).reshape(len(sets), width)


@compiled
def drawn(luck: Bits) -> float:
    """A number of [0, 1) by a xorshift: Marsaglia G 2003, J Stat Softw 8(14) (from memory)."""
    state = luck[0]
    state ^= state << _13
    state ^= state >> _7
    state ^= state << _17
    luck[0] = state
    return float(state >> _11) / 9007199254740992.0  # two to the power of 53


@compiled
def ones(bits: np.uint64) -> np.int64:
    """How many bits are set."""
    bits = bits - (bits >> _1 & _PAIRS)
    bits = (bits & _FOURS) + (bits >> _2 & _FOURS)
    bits = bits + (bits >> _4) & _BYTES
    bits = bits + (bits >> _8)
    bits = bits + (bits >> _16)
    bits = bits + (bits >> _32)
    return np.int64(bits & _LAST)


@compiled
def holds(sets: Bits, row: int, variable: int) -> bool:
    """Whether a variable is around another."""
    return bool(sets[AROUND, row, variable // 64] >> np.uint64(variable % 64) & _1)


@compiled
def listed(sets: Bits, kind: int, row: int, work: Integers) -> int:
    """List the members of a set; how many there are."""
    count = 0
    for word in range(sets.shape[2]):
        bits = sets[kind, row, word]
        while bits:
            lowest = bits & ~bits + _1
            bits ^= lowest
            work[count] = 64 * word + ones(lowest - _1)
            count += 1
    return count


@compiled
def rotate(sets: Bits, figures: Floats, links: Integers, work: Integers, low: int) -> float:
    """Let a variable go right after the one it hangs below; what that adds to the cost."""
    high, room, words = links[PARENT, low], sets.shape[1] - 1, sets.shape[2]
    for word in range(words):
        sets[AROUND, room, word] = sets[AROUND, high, word] & sets[JOINED, high, word]
    for turn in range(2):  # what the other branches join to the one that now goes first
        child = links[FIRST, high if turn == 0 else low]
        while child >= 0:
            if child != low and (turn == 0 or holds(sets, child, high)):
                for word in range(words):
                    sets[AROUND, room, word] |= sets[AROUND, child, word]
            child = links[AFTER, child]
    sets[AROUND, room, high // 64] &= ~(_1 << np.uint64(high % 64))
    sets[AROUND, room, low // 64] |= _1 << np.uint64(low % 64)
    of_high = figures[STATES, high]
    for number in range(listed(sets, AROUND, room, work)):
        of_high *= figures[STATES, work[number]]
    of_low = figures[COST, high] / figures[STATES, high] * figures[STATES, low]
    added = of_high + of_low - figures[COST, high] - figures[COST, low]
    hang(sets, links, low, high)
    for word in range(words):
        sets[AROUND, low, word] = sets[AROUND, high, word]
        sets[AROUND, high, word] = sets[AROUND, room, word]
    figures[COST, high], figures[COST, low] = of_high, of_low
    return float(added)


@compiled
def hang(sets: Bits, links: Integers, low: int, high: int) -> None:
    """Hang `low` where `high` hung, that one below it, and the branches of `low` where they go."""
    top = links[PARENT, high]
    for turn in range(2):  # unchain the one from the other, and that one from the top
        above, gone = (high, low) if turn == 0 else (top, high)
        if above < 0:
            continue
        if links[FIRST, above] == gone:
            links[FIRST, above] = links[AFTER, gone]
        else:
            child = links[FIRST, above]
            while links[AFTER, child] != gone:
                child = links[AFTER, child]
            links[AFTER, child] = links[AFTER, gone]
    child = links[FIRST, low]
    links[FIRST, low] = -1
    while child >= 0:
        following = links[AFTER, child]
        attach(links, child, high if holds(sets, child, high) else low)
        child = following
    attach(links, high, low)
    attach(links, low, top)


@compiled
def attach(links: Integers, child: int, above: int) -> None:
    """Hang a variable below another, or below none where that is -1."""
    links[PARENT, child] = above
    if above >= 0:
        links[AFTER, child] = links[FIRST, above]
        links[FIRST, above] = child


@compiled
def chosen(sets: Bits, figures: Floats, work: Integers, luck: Bits, step: int) -> int:
    """A variable to move: any, or by turns one of a table that is dear."""
    count = figures.shape[1]
    variable = int(drawn(luck) * count)
    if step % 2 == 0:
        return variable
    for _ in range(3):
        other = int(drawn(luck) * count)
        if figures[COST, other] > figures[COST, variable]:
            variable = other
    size = listed(sets, AROUND, variable, work)
    at = int(drawn(luck) * (size + 1))
    return variable if at == size else work[at]


@compiled
def child_of(links: Integers, luck: Bits, variable: int) -> int:
    """Any of a variable's children, -1 where it has none."""
    found, seen, child = -1, 0, links[FIRST, variable]
    while child >= 0:
        seen += 1
        if int(drawn(luck) * seen) == 0:
            found = child
        child = links[AFTER, child]
    return found


@compiled
def anneal(tree: Tree, steps: int, best: Integers) -> float:
    """Move variables up and down the tree; the parents (V,) of the cheapest tree go to `best`.

    What that costs is returned, rounding apart.
    """
    sets, figures, links, work, luck = tree
    undo = work[figures.shape[1] :]
    total = figures[COST].sum()
    least = total
    best[:] = links[PARENT]
    for step in range(steps):
        warmth = HOT * (COLD / HOT) ** (step / steps)
        variable = chosen(sets, figures, work, luck, step)
        far = 1 + int(FARTHEST * drawn(luck) ** 3)
        upwards = drawn(luck) < 0.5
        most = total * (1 - warmth * math.log(drawn(luck) + 1e-300))
        before, done, back = total, 0, False
        while True:
            low = -1
            if back and done > 0:
                done -= 1
                low = undo[done]
            elif not back and done < far and total <= ROUGH * before:
                low = variable if upwards else child_of(links, luck, variable)
                if low >= 0 and links[PARENT, low] < 0:
                    low = -1
                if low >= 0:
                    undo[done] = links[PARENT, low]
                    done += 1
            if low < 0:
                if back or total <= most:
                    break
                back = True
                continue
            total += rotate(sets, figures, links, work, low)
        if back:
            total = before
        elif total < 0.999 * least:
            least = total
            best[:] = links[PARENT]
    return float(least)
