"""Compiled belief propagation over the clusters of a register.

Loopy belief propagation as in Pearl J 1988, Probabilistic Reasoning in Intelligent Systems, damped
and on flat arrays. Clusters are renewed one by one in a walk down the generations and up again,
which settles in fewer rounds than renewing all at once; asynchronous schedules as in Elidan G,
McGraw I, Koller D 2006, Residual belief propagation, UAI (both cited from memory). A cluster is
renewed only where what comes to it has moved since the last time. A variable keeps the product of
all that came to it, with a spare exponent so that thousands of young do not make it vanish, and
zeros counted beside it, since they are proof and are divided out exactly.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.large_pedigree.clusters import Clusters, Floats, Integers
from genetics.core.large_pedigree.group_counts import CountRoom, Counts, count_down, count_up
from genetics.core.large_pedigree.message_kernels import (
    joint_from_pair,
    kept,
    mix,
    multiply,
    renormalise,
    scale,
    split_joint,
    total_of,
    without,
)
from genetics.core.numerics.kernels import compiled

SETTLED, CONTRADICTION, UNSETTLED = 0, 1, 2


class Messages(NamedTuple):
    """What clusters last told their variables, and the variables' products of it.

    `up` (E, g): to the variable of each edge, at most 1. `product` (V, g) times STEP to the power
    of minus `spare` (V, g): of the variable's own weight and all messages but zeros, of which
    there are `zeros` (V, g); `plain` (V,): there are none, and nothing is spare. `moved` (V,):
    how far its messages have moved, in all; `seen` (E,): what it was when the edge's cluster was
    last renewed, -1 for never. `leaf_product` (C, g * g): what a knot's leaves say together.
    """

    up: Floats
    product: Floats
    spare: NDArray[np.int32]
    zeros: NDArray[np.int32]
    plain: NDArray[np.bool_]
    moved: Floats
    seen: Floats
    leaf_product: Floats

    @classmethod
    def flat(cls, clusters: Clusters) -> Messages:
        """The start: nothing was said yet."""
        edges, (variables, states) = len(clusters.variable), clusters.own.shape
        return cls(
            np.ones((edges, states)),
            np.empty((variables, states)),
            np.empty((variables, states), dtype=np.int32),
            np.empty((variables, states), dtype=np.int32),
            np.empty(variables, dtype=np.bool_),
            np.zeros(variables),
            np.full(edges, -1.0),
            np.empty((len(clusters.mixes), states**2)),
        )


class Work(NamedTuple):
    """Room for one cluster: what came in, what goes out, and products over a knot's others."""

    came: Floats
    told: Floats
    single: Floats
    before: Floats
    after: Floats
    counting: CountRoom

    @classmethod
    def room(cls, clusters: Clusters, counts: Counts) -> Work:
        """Enough for the largest cluster."""
        most = int(np.diff(clusters.start).max(initial=0)) + 1
        states = clusters.own.shape[1]
        came, told = (np.empty((most, states)) for _ in range(2))
        single, before, after = (np.empty((most, states**2)) for _ in range(3))
        return cls(came, told, single, before, after, CountRoom.of(counts))


@compiled
def gather(clusters: Clusters, messages: Messages) -> int:
    """Make all products again from own weights and messages; the first cluster whose leaves
    contradict each other, or -1."""
    states = clusters.own.shape[1]
    messages.product[:] = clusters.own
    messages.spare[:] = 0
    messages.zeros[:] = 0
    messages.plain[:] = True
    for variable in range(len(clusters.own)):
        for state in range(states):
            if clusters.own[variable, state] == 0:
                messages.product[variable, state] = 1.0
                messages.zeros[variable, state] = 1
                messages.plain[variable] = False
    for edge in range(len(clusters.variable)):
        variable = clusters.variable[edge]
        for state in range(states):
            value = messages.up[edge, state]
            if value == 0:
                messages.zeros[variable, state] += 1
                messages.plain[variable] = False
            else:
                messages.product[variable, state] *= value
        renormalise(messages.product, messages.spare, messages.zeros, messages.plain, variable)
    for cluster in range(len(clusters.mixes)):
        if not absorb_leaves(clusters, messages.leaf_product, cluster):
            return cluster
    return -1


@compiled
def absorb_leaves(clusters: Clusters, leaf_product: Floats, cluster: int) -> bool:
    """Multiply what a knot's leaves say; False where they contradict each other."""
    _, pairs, states = clusters.tables.shape
    for both in range(pairs):
        leaf_product[cluster, both] = 1.0
    for edge in range(clusters.leaves[cluster], clusters.start[cluster + 1]):
        variable, table = clusters.variable[edge], clusters.table[edge]
        for both in range(pairs):
            fits = 0.0
            for state in range(states):
                fits += clusters.tables[table, both, state] * clusters.own[variable, state]
            leaf_product[cluster, both] = kept(leaf_product[cluster, both], fits)
        if not scale(leaf_product, cluster, pairs):
            return False
    return True


@compiled
def run_schedule(
    clusters: Clusters,
    counts: Counts,
    messages: Messages,
    work: Work,
    listed: Integers,
    damping: float,
    rounds: int,
    least: float,
    onwards: bool,
    last: bool,
) -> tuple[int, int, float]:
    """Renew listed clusters, walking down and up the list, until nothing stirs any of them: the
    outcome, rounds taken, the last change.

    A message moves by the largest change of its numbers, or of the shares that follow from it. A
    cluster is renewed where what comes to it moved by more than `least` since the last time.
    `onwards`: the first round renews all that are listed, and each round after it what the round
    before stirred, wherever that is, leaves too. `last`: renew all that are listed, once, and tell
    their leaves.
    """
    _, pairs, states = clusters.tables.shape
    start, leaves, mixes = clusters.start, clusters.leaves, clusters.mixes
    variables, table, weight = clusters.variable, clusters.table, clusters.weight
    tables, pool = clusters.tables, clusters.pool
    up, product, spare = messages.up, messages.product, messages.spare
    zeros, plain, moved, seen = messages.zeros, messages.plain, messages.moved, messages.seen
    leaf_product, came, told, single = messages.leaf_product, work.came, work.told, work.single
    before, after = work.before, work.after
    change, renewed = 0.0, 0
    for taken in range(rounds):
        change, renewed = 0.0, 0
        for step in range(len(listed)):
            cluster = listed[step if taken % 2 == 0 else len(listed) - 1 - step]
            begin = start[cluster]
            end = start[cluster + 1] if last or onwards else leaves[cluster]
            stirred = last or (onwards and taken == 0)
            for edge in range(begin, end):
                stirred |= seen[edge] < 0 or moved[variables[edge]] - seen[edge] > least
            if not stirred:
                continue
            renewed += 1
            for edge in range(begin, end):
                variable, row = variables[edge], edge - begin
                if plain[variable]:
                    for state in range(states):
                        came[row, state] = product[variable, state] / up[edge, state]
                    scale(came, row, states)
                elif not without(up, product, spare, zeros, variable, edge, came, row):
                    return CONTRADICTION, taken + 1, change
            if mixes[cluster]:
                mix(weight, pool, came, told, single, begin, end)
            else:
                others, hushed = end - begin - 2, end == leaves[cluster]
                counted = counts.of[cluster + 1] > counts.of[cluster]
                joint_from_pair(tables, table, came, single, before, after, begin + 2, others)
                if counted and not sum_counts(clusters, counts, work, cluster, begin, others):
                    return CONTRADICTION, taken + 1, change
                if hushed:
                    for one in range(others + 1):
                        for both in range(pairs):
                            after[one, both] = kept(after[one, both], leaf_product[cluster, both])
                split_joint(tables, table, came, told, before, after, begin + 2, others)
                if counted and not tell_counted(clusters, counts, work, cluster, begin):
                    return CONTRADICTION, taken + 1, change
            for edge in range(begin, end):
                variable, row = variables[edge], edge - begin
                if not scale(told, row, states):
                    return CONTRADICTION, taken + 1, change
                largest, belief = 0.0, 0.0
                for state in range(states):
                    belief += came[row, state] * told[row, state]
                if not belief > 0:
                    return CONTRADICTION, taken + 1, change
                for state in range(states):
                    old, new = up[edge, state], told[row, state]
                    if old == 0 or new == old:
                        continue  # a zero stays
                    # small numbers count too, where all else speaks for that state
                    largest = max(largest, abs(new - old) * max(1.0, came[row, state] / belief))
                    if new == 0:
                        product[variable, state] /= old
                        zeros[variable, state] += 1
                    else:
                        new = (1 - damping) * new + damping * old
                        product[variable, state] *= new / old
                    up[edge, state] = new
                renormalise(product, spare, zeros, plain, variable)
                moved[variable] += largest
                change = max(change, largest)
            for edge in range(begin, end):
                seen[edge] = moved[variables[edge]]
        if renewed == 0 or last:
            return SETTLED, taken + 1, change
        if onwards:
            listed = stirred_by(clusters, messages, listed, least)
    return UNSETTLED, rounds, change


@compiled
def sum_counts(
    clusters: Clusters, counts: Counts, work: Work, cluster: int, begin: int, others: int
) -> bool:
    """Put what counted litters say of their parents in the place of what each pup does; False
    where nothing is possible."""
    pairs = work.single.shape[1]
    single = work.single
    for litter in range(counts.of[cluster], counts.of[cluster + 1]):
        hear_counted(counts, work, litter, begin)
        if count_up(counts, clusters.tables, work.counting, litter) == 0:
            return False
        first = counts.edge[litter] - begin - 2
        for both in range(pairs):
            fits = work.counting.fits[both]
            for one in range(first, first + counts.named[litter]):
                single[one, both] = fits if one == first else 1.0
            if counts.named[litter] == 0:
                work.after[others, both] = kept(work.after[others, both], fits)
    multiply(work.came, single, work.before, work.after, others)
    return True


@compiled
def tell_counted(clusters: Clusters, counts: Counts, work: Work, cluster: int, begin: int) -> bool:
    """What the pups of counted litters hear, after `sum_counts`; False where nothing is
    possible."""
    pairs = work.single.shape[1]
    for litter in range(counts.of[cluster], counts.of[cluster + 1]):
        if counts.named[litter] == 0:
            continue
        hear_counted(counts, work, litter, begin)
        count_up(counts, clusters.tables, work.counting, litter)
        row = counts.edge[litter] - begin
        last = row - 2 + counts.named[litter]
        for both in range(pairs):
            work.counting.around[both] = kept(work.before[row - 2, both], work.after[last, both])
        if not count_down(counts, clusters.tables, work.counting, litter, work.told, row):
            return False
    return True


@compiled
def hear_counted(counts: Counts, work: Work, litter: int, begin: int) -> None:
    """What came of each pup of a counted litter; nothing of one without a number."""
    states = work.came.shape[1]
    start = counts.member[litter]
    for number in range(counts.member[litter + 1] - start):
        place = counts.at[start + number]
        for state in range(states):
            heard = 1.0
            if place >= 0:
                heard = work.came[counts.edge[litter] - begin + place, state]
            work.counting.heard[number, state] = heard


@compiled
def stirred_by(clusters: Clusters, messages: Messages, listed: Integers, least: float) -> Integers:
    """The clusters that share a variable with those listed, and that its messages stir."""
    found = [0 for _ in range(0)]
    for cluster in listed:
        for edge in range(clusters.start[cluster], clusters.start[cluster + 1]):
            variable = clusters.variable[edge]
            other = clusters.first[variable]
            while other >= 0:
                if messages.moved[variable] - messages.seen[other] > least:
                    found.append(clusters.cluster[other])
                other = clusters.next[other]
    return np.unique(np.array(found, dtype=np.int64))


@compiled
def shares_of(messages: Messages) -> tuple[Floats, int]:
    """Each variable's shares (V, g) of its genotypes; the first that has none, or -1."""
    states = messages.product.shape[1]
    up, product, spare, zeros = messages.up, messages.product, messages.spare, messages.zeros
    shares = np.empty_like(product)
    for variable in range(len(shares)):
        if not without(up, product, spare, zeros, variable, -1, shares, variable):
            return shares, variable
        total = total_of(shares, variable)
        for state in range(states):
            shares[variable, state] /= total
    return shares, -1


@compiled
def choices_of(clusters: Clusters, messages: Messages, work: Work) -> Floats:
    """For each edge of a mixture, the shares of its candidates and then of none of them (E,)."""
    states = clusters.own.shape[1]
    up, product, spare, zeros = messages.up, messages.product, messages.spare, messages.zeros
    came, weight = work.came, clusters.weight
    shares = np.zeros(len(up))
    for cluster in range(len(clusters.mixes)):
        if not clusters.mixes[cluster]:
            continue
        begin, end = clusters.start[cluster], clusters.start[cluster + 1]
        for edge in range(begin, end):
            without(up, product, spare, zeros, clusters.variable[edge], edge, came, edge - begin)
        whole = 0.0
        for state in range(states):
            shares[end - 1] += weight[begin] * clusters.pool[state] * came[0, state]
        whole += shares[end - 1]
        for one in range(1, end - begin):
            total = total_of(came, one)
            for state in range(states):
                fits = came[0, state] * came[one, state] / total
                shares[begin + one - 1] += weight[begin + one] * fits
            whole += shares[begin + one - 1]
        for edge in range(begin, end):
            shares[edge] /= whole
    return shares
