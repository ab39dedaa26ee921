"""Compiled: the variables of a vicinity put in order and summed out, one by one.

Tables are written one after the other into one long array; a variable's place among at most
MOST_VARIABLES is a bit, so that a set of them is a number.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.large_pedigree.clusters import Clusters, Floats, Integers
from genetics.core.numerics.kernels import compiled

MOST_VARIABLES = 62  # so that a set of them is the bits of one number
MOST_TABLES = 1200
WIDEST = 10  # variables of one table, the one summed out included


class Room(NamedTuple):
    """Room for one vicinity at a time, on one thread."""

    place: Integers  # (V,) of a variable inside, -1 outside
    inside: NDArray[np.bool_]  # (C,) clusters taken in
    clusters: Integers  # those, nearest first
    variables: Integers  # and theirs
    joined: Integers  # bits of those that share a table with each
    order: Integers  # in which they are summed out
    width: Integers  # of each table
    scope: Integers  # (tables, WIDEST) ascending
    offset: Integers  # where each table begins in `entries`
    alive: NDArray[np.bool_]
    entries: Floats
    used: Integers  # tables that hold the variable to sum out, and how to walk through them
    at: Integers
    own_stride: Integers
    stride: Integers
    digits: Integers
    result: Floats  # (2, g) shares of the centre, and those of the inner half
    powers: Integers  # (WIDEST + 1,) of the number of genotypes g
    written: int  # entries, before any variable is summed out

    @classmethod
    def of(cls, clusters: Clusters, price: float) -> Room:
        """Room for vicinities of at most `price` table entries."""
        states = clusters.own.shape[1]
        written = (states**3 + states) * MOST_TABLES
        size = int(price) + written
        return cls(
            np.full(len(clusters.own), -1, dtype=np.int64),
            np.zeros(len(clusters.mixes), dtype=np.bool_),
            np.empty(MOST_VARIABLES, dtype=np.int64),
            np.empty(MOST_VARIABLES, dtype=np.int64),
            np.empty(MOST_VARIABLES, dtype=np.int64),
            np.empty(MOST_VARIABLES, dtype=np.int64),
            np.empty(MOST_TABLES, dtype=np.int64),
            np.empty((MOST_TABLES, WIDEST), dtype=np.int64),
            np.empty(MOST_TABLES, dtype=np.int64),
            np.empty(MOST_TABLES, dtype=np.bool_),
            np.empty(size),
            np.empty(MOST_TABLES, dtype=np.int64),
            np.empty(MOST_TABLES, dtype=np.int64),
            np.empty(MOST_TABLES, dtype=np.int64),
            np.empty((MOST_TABLES, WIDEST), dtype=np.int64),
            np.empty(WIDEST, dtype=np.int64),
            np.empty((2, states)),
            states ** np.arange(WIDEST + 1),
            written,
        )


@compiled
def spread(room: Room, bits: int) -> None:
    """Join all of a set to each other."""
    for one in range(MOST_VARIABLES):
        if bits >> one & 1:
            room.joined[one] |= bits & ~(1 << one)


@compiled
def size_of(bits: int) -> int:
    """How many bits are set."""
    count = 0
    while bits:
        bits &= bits - 1
        count += 1
    return count


@compiled
def plan(room: Room, variables: int) -> float:
    """Put all but the centre into an order; what it costs, in table entries."""
    left = (1 << variables) - 2
    cost = float(room.powers[1])
    for step in range(variables - 1):
        best, least, width = -1, 1 << 30, 0
        for one in range(1, variables):
            if not left >> one & 1:
                continue
            around = room.joined[one]
            neighbours = size_of(around)
            missing, rest = 0, around
            while rest and missing < least:
                lowest = rest & -rest
                rest ^= lowest
                other = size_of(lowest - 1)
                missing += neighbours - 1 - size_of(around & room.joined[other])
            if missing < least or (missing == least and neighbours < width):
                best, least, width = one, missing, neighbours
        if width + 1 > WIDEST:
            return np.inf
        cost += room.powers[width + 1]
        room.order[step] = best
        left &= ~(1 << best)
        around = room.joined[best]
        spread(room, around)
        for one in range(variables):
            room.joined[one] &= ~(1 << best)
    return cost


@compiled
def sum_out(room: Room, tables: int, begin: int, gone: int) -> int:
    """Sum a variable out of all tables that hold it; entries of the new table, 0 if impossible."""
    powers, states = room.powers, room.powers[1]
    around, used = gather_scopes(room, tables, gone)
    scope, width = room.scope[tables], 0
    for one in range(MOST_VARIABLES):
        if around >> one & 1:
            scope[width] = one
            width += 1
    stride, own, at = room.stride, room.own_stride, room.at
    for number in range(used):
        table = room.used[number]
        at[number] = room.offset[table]
        own[number] = 0
        stride[number, :width] = 0
        for place in range(room.width[table]):
            step = powers[room.width[table] - 1 - place]
            if room.scope[table, place] == gone:
                own[number] = step
            for digit in range(width):
                if room.scope[table, place] == scope[digit]:
                    stride[number, digit] = step
    digits = room.digits
    digits[:width] = 0
    top = 0.0
    entries = room.entries
    for entry in range(powers[width]):
        total = 0.0
        for state in range(states):
            value = 1.0
            for number in range(used):
                value *= entries[at[number] + state * own[number]]
            total += value
        entries[begin + entry] = total
        top = max(top, total)
        digit = width - 1
        while digit >= 0:
            digits[digit] += 1
            turned = digits[digit] == states
            if turned:
                digits[digit] = 0
            for number in range(used):
                step = stride[number, digit]
                at[number] += (1 - states) * step if turned else step
            if not turned:
                break
            digit -= 1
    if not top > 0:
        return 0
    for entry in range(powers[width]):
        entries[begin + entry] /= top
    room.width[tables], room.offset[tables], room.alive[tables] = width, begin, True
    return int(powers[width])


@compiled
def gather_scopes(room: Room, tables: int, gone: int) -> tuple[int, int]:
    """List the tables that hold a variable and lay them aside: the others they hold, as bits,
    and how many tables there are."""
    around, used = 0, 0
    for table in range(tables):
        if not room.alive[table]:
            continue
        bits = 0
        for place in range(room.width[table]):
            bits |= 1 << room.scope[table, place]
        if bits >> gone & 1:
            around |= bits
            room.used[used] = table
            room.alive[table] = False
            used += 1
    return around & ~(1 << gone), used
