"""Pups of a register counted together: kernels that sum over who was what, within one litter.

A litter's count (`littermates.GroupCount`) stands in the knot of its sire and dam: given those two,
its pups are a chain of running totals, walked up and down as in a hidden Markov chain (Rabiner
1989, cited from memory). What the parents and each pup hear of each other is exact, so that a
litter stays a tree within itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.large_pedigree.message_kernels import kept
from genetics.core.numerics.kernels import compiled
from genetics.core.pedigree.group_records import GroupCount

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


class Counts(NamedTuple):
    """Counted litters by their knots: those of cluster c are `of[c]` to `of[c + 1]`.

    Litter g has `named[g]` pups with a number, whose edges begin at `edge[g]`, and the members
    `member[g]` to `member[g + 1]`; `at` (M,) is the place of each among those edges, -1 for one
    without a number. Member m leads from `totals[m]` running totals to `totals[m + 1]`, by the
    links `link[m]` to `link[m + 1]`: from total `before` to `after`, with `weight` (L, 3) at each
    dose. `totals` has one entry more for each litter than it has members; `first[g]` is where
    they begin. `group` (E,): the litter of each edge, -1 for none.
    """

    of: Integers
    edge: Integers
    named: Integers
    member: Integers
    at: Integers
    totals: Integers
    first: Integers
    link: Integers
    before: Integers
    after: Integers
    weight: Floats
    group: Integers


class CountRoom(NamedTuple):
    """Room for one litter: what each member says (M, 3), and the chain from both ends (M, 9, T)."""

    heard: Floats
    ahead: Floats
    behind: Floats
    fits: Floats
    around: Floats

    @classmethod
    def of(cls, counts: Counts) -> CountRoom:
        """Enough for the largest litter."""
        most = int(np.diff(counts.member).max(initial=0)) + 1
        totals = int(counts.totals.max(initial=0))
        return cls(
            np.empty((most, 3)),
            np.empty((most, 9, totals)),
            np.empty((most, 9, totals)),
            np.empty(9),
            np.empty(9),
        )


def counts_of(
    tallies: Sequence[GroupCount],
    cluster: Integers,
    clusters: int,
    group: Integers,
    pups: Integers,
) -> Counts:
    """Lay tallies out, each in its cluster (ascending). `group` (E,) is the tally of each edge, -1
    for none, and `pups` (E,) the pup's number there."""
    edge, named, at, totals, before, after, weight, links = [], [], [], [], [], [], [], [0]
    for number, tally in enumerate(tallies):
        own = np.flatnonzero(group == number)
        place = {int(pup): row for row, pup in enumerate(pups[own])}
        edge.append(int(own[0]) if len(own) else 0)
        named.append(len(own))
        totals += [len(level) for level in tally.levels]
        for one, table in zip(tally.members, tally.chain, strict=True):
            at.append(place.get(one.pup, -1))
            rows, columns = np.nonzero(table.any(axis=1))
            before.append(rows)
            after.append(columns)
            weight.append(table[rows, :, columns])
            links.append(links[-1] + len(rows))
    sizes = np.array([len(tally.members) for tally in tallies], dtype=np.int64)
    member = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    return Counts(
        np.searchsorted(cluster, np.arange(clusters + 1)).astype(np.int64),
        np.array(edge, dtype=np.int64),
        np.array(named, dtype=np.int64),
        member,
        np.array(at, dtype=np.int64),
        np.array(totals, dtype=np.int64),
        member[:-1] + np.arange(len(tallies)),
        np.array(links, dtype=np.int64),
        np.concatenate([*before, np.empty(0)]).astype(np.int64),
        np.concatenate([*after, np.empty(0)]).astype(np.int64),
        np.concatenate([*weight, np.empty((0, 3))]),
        group,
    )


@compiled
def count_up(counts: Counts, tables: Floats, room: CountRoom, litter: int) -> float:
    """The chance (9,) of a litter's count for each two parents, in `room.fits`, from what its
    members say (`room.heard`), over the number returned; 0 if none is possible."""
    begin, end = counts.member[litter], counts.member[litter + 1]
    size = 1.0
    for both in range(9):
        room.ahead[0, both, 0] = 1.0
    for number in range(end - begin):
        member, top = begin + number, 0.0
        high = counts.totals[counts.first[litter] + number + 1]
        for both in range(9):
            for total in range(high):
                room.ahead[number + 1, both, total] = 0.0
            for link in range(counts.link[member], counts.link[member + 1]):
                fits = says(counts, tables, room, number, link, both)
                value = kept(room.ahead[number, both, counts.before[link]], fits)
                room.ahead[number + 1, both, counts.after[link]] += value
            for total in range(high):
                top = max(top, room.ahead[number + 1, both, total])
        if not top > 0:
            return 0.0
        size = kept(size, top)
        for both in range(9):
            for total in range(high):
                value = room.ahead[number + 1, both, total]
                room.ahead[number + 1, both, total] = kept(value, 1.0 / top)
    for both in range(9):
        room.fits[both] = room.ahead[end - begin, both, 0]
    return size


@compiled
def says(
    counts: Counts, tables: Floats, room: CountRoom, number: int, link: int, both: int
) -> float:
    """The chance of one way that a member may have been counted."""
    fits = 0.0
    for state in range(3):
        handed = kept(tables[0, both, state], room.heard[number, state])
        fits += kept(handed, counts.weight[link, state])
    return fits


@compiled
def count_down(
    counts: Counts, tables: Floats, room: CountRoom, litter: int, told: Floats, row: int
) -> bool:
    """What each pup with a number hears, in rows from `row` on in the order of its edges, after
    `count_up` and with what else is known of the parents in `room.around`; False if nothing is
    possible."""
    begin, end = counts.member[litter], counts.member[litter + 1]
    for both in range(9):
        room.behind[end - begin, both, 0] = room.around[both]
    for number in range(end - begin - 1, -1, -1):
        member, top = begin + number, 0.0
        low = counts.totals[counts.first[litter] + number]
        place = counts.at[member]
        if place >= 0:
            for state in range(3):
                told[row + place, state] = 0.0
        for both in range(9):
            for total in range(low):
                room.behind[number, both, total] = 0.0
            for link in range(counts.link[member], counts.link[member + 1]):
                later = room.behind[number + 1, both, counts.after[link]]
                sooner = counts.before[link]
                fits = says(counts, tables, room, number, link, both)
                room.behind[number, both, sooner] += kept(later, fits)
                if place >= 0:
                    others = kept(later, room.ahead[number, both, sooner])
                    for state in range(3):
                        handed = kept(tables[0, both, state], counts.weight[link, state])
                        told[row + place, state] += kept(others, handed)
            for total in range(low):
                top = max(top, room.behind[number, both, total])
        if not top > 0:
            return False
        for both in range(9):
            for total in range(low):
                value = room.behind[number, both, total]
                room.behind[number, both, total] = kept(value, 1.0 / top)
    return True
