"""Messages carried over from a register as it was to the register as it is.

A cluster is known again by its first two variables, or a mixture by its parent in effect, and a
variable by its animal or its litter's first pup (`Naming.identity`). What is new or has changed
is listed, for the walk to begin with. Where more than MOST_LISTED of all clusters are, or founders
or the laws of inheritance are others, nothing is carried over.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.large_pedigree.clusters import EFFECT, Clusters, Floats, Integers, Naming
from genetics.core.large_pedigree.messages import Messages

MIXED = np.uint64(0x9E3779B97F4A7C15)  # an odd number, to mix the bits of three identities
MOST_LISTED = 0.25  # of all clusters: with more, other first messages may settle elsewhere


class Carried(NamedTuple):
    """`messages` of the register as it is, not gathered yet; the clusters `listed` to renew, None
    where all is to begin again; for each variable the one that it `was`, -1 if it is new."""

    messages: Messages
    listed: Integers | None
    was: Integers


class Refined(NamedTuple):
    """Of each variable its `shares` (V, g) among its nearest, how far they moved as that vicinity
    grew, `growth` (V,), NaN where they could not be had, and the `price` (V,) that the vicinity
    was allowed, 0 where none was tried."""

    shares: Floats
    growth: Floats
    price: Floats

    @classmethod
    def none(cls, variables: int, states: int) -> Refined:
        return cls(np.zeros((variables, states)), np.full(variables, np.nan), np.zeros(variables))

    def carried(self, was: Integers, stays: NDArray[np.bool_]) -> Refined:
        """Those that stay, by the variable that each `was`."""
        found = Refined.none(len(was), self.shares.shape[1])
        for new, old in zip(found, self, strict=True):
            new[stays] = old[was[stays]]
        return found


def renumbered(naming: Naming, rows: Integers) -> Naming:
    """The identities by the numbers that the animals have now: `rows` (n,), -1 for one that has
    gone. What has gone gets an identity that nothing else has."""
    first = int(naming.animals.max(initial=-1)) + 1
    now = np.full(first, -1, dtype=np.int64)
    now[naming.animals] = rows
    effect = naming.identity >= EFFECT
    animal = np.where(effect, (naming.identity - EFFECT) // 2, naming.identity)
    known = animal < first  # a litter without pups is never known again
    row = np.where(known, now[np.where(known, animal, 0)] if first else -1, -1)
    identity = np.where(effect, EFFECT + 2 * row + (naming.identity - EFFECT) % 2, row)
    return naming._replace(identity=np.where(row == -1, -1 - naming.identity, identity))


def carry(
    old: Clusters, old_naming: Naming, messages: Messages, new: Clusters, naming: Naming
) -> Carried:
    """Carry messages over. Identities of both namings are by the same numbers of animals."""
    was = _matched(old_naming.identity, naming.identity)
    edge_was = _matched(_edge_keys(old, old_naming), _edge_keys(new, naming))
    there = edge_was != -1
    carried = Messages.flat(new)
    carried.up[there] = messages.up[edge_was[there]]
    carried.seen[there] = 0.0
    lost = np.ones(len(old.variable), dtype=np.bool_)
    lost[edge_was[there]] = False
    touched = np.zeros(len(old.own), dtype=np.bool_)
    touched[old.variable[lost]] = True
    stale = was == -1
    known = ~stale
    stale[known] = touched[was[known]] | (new.own[known] != old.own[was[known]]).any(axis=1)
    changed = ~there
    changed[there] = (new.weight[there] != old.weight[edge_was[there]]) | (
        new.table[there] != old.table[edge_was[there]]
    )
    poorer = np.zeros(len(old.mixes), dtype=np.bool_)  # clusters that a variable has left
    poorer[old.cluster[lost]] = True
    changed[there] |= poorer[old.cluster[edge_was[there]]]
    taken_away = bool(lost.any() or (stale & known).any())
    if taken_away and bool((messages.up == 0).any()):
        return Carried(carried, None, was)
    listed = np.unique(new.cluster[changed | stale[new.variable]])
    same_laws = np.array_equal(old.pool, new.pool) and np.array_equal(old.tables, new.tables)
    if not same_laws or len(listed) > MOST_LISTED * len(new.mixes):
        return Carried(carried, None, was)
    return Carried(carried, listed.astype(np.int64), was)


def _edge_keys(clusters: Clusters, naming: Naming) -> NDArray[np.uint64]:
    """One number for each edge: its cluster's first two variables and its own. That two are alike
    by chance is not to be expected, and would cost no more than a worse first message."""
    named = naming.identity[clusters.variable].astype(np.uint64)
    begin = clusters.start[:-1]
    first = named[begin][clusters.cluster]
    second = named[begin + 1].copy()
    second[clusters.mixes] = np.uint64(2**63)
    keys: NDArray[np.uint64] = _mix(_mix(first) ^ second[clusters.cluster])
    return _mix(keys ^ named)


def _mix(keys: NDArray[np.uint64]) -> NDArray[np.uint64]:
    mixed = keys * MIXED
    return mixed ^ (mixed >> np.uint64(29))


def _matched(old: NDArray[Any], new: NDArray[Any]) -> Integers:
    """For each of `new` where it stands in `old`, or -1."""
    order = np.argsort(old)
    at = np.minimum(np.searchsorted(old[order], new), max(0, len(old) - 1))
    found = order[at] if len(old) else np.zeros(len(new), dtype=np.int64)
    same = old[found] == new if len(old) else np.zeros(len(new), dtype=np.bool_)
    return np.where(same, found, -1)


def spread_over(clusters: Clusters, was: Integers, spread: Floats) -> Floats:
    """The spread of each variable as it was; of a new one the largest that it meets."""
    known = was != -1
    carried = np.zeros(len(was))
    carried[known] = spread[was[known]]
    largest = np.zeros(len(clusters.mixes))
    np.maximum.at(largest, clusters.cluster, carried[clusters.variable])
    met = np.zeros(len(was))
    np.maximum.at(met, clusters.variable, largest[clusters.cluster])
    carried[~known] = met[~known]
    return carried
