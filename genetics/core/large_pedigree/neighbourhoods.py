"""Compiled: an animal worked out exactly among its nearest, messages standing for the rest.

Clusters are taken in from a variable outwards, nearest first, until their tables would cost more
than is allowed; what came from clusters left outside weighs on the variables at the edge, and the
loops that make belief propagation err near the centre are inside. Variables are summed out one by
one, the one whose neighbours lack fewest joints first (min-fill, see `elimination_order`), and the
centre is left.
"""

from __future__ import annotations

from genetics.core.large_pedigree.bucket_elimination import (
    MOST_VARIABLES,
    Room,
    plan,
    spread,
    sum_out,
)
from genetics.core.large_pedigree.clusters import Clusters, Floats, Integers
from genetics.core.large_pedigree.group_counts import CountRoom, Counts, count_up
from genetics.core.large_pedigree.message_kernels import kept
from genetics.core.large_pedigree.messages import Messages
from genetics.core.numerics.kernels import compiled

MOST_CANDIDATES = 3  # a choice among more is left outside
MOST_COUNTED = 4  # and so is a counted litter of more pups that stand elsewhere too
FLAT = 1e-9  # a message whose states differ less says nothing
FIRST = 12  # clusters of the first vicinity tried


@compiled
def refine_in_neighbourhood(
    clusters: Clusters,
    counts: Counts,
    messages: Messages,
    room: Room,
    counting: CountRoom,
    centres: Integers,
    price: float,
    shares: Floats,
    growth: Floats,
) -> int:
    """Shares (n, g) of centres in vicinities of at most `price` table entries, and how far each
    moved (n,) as the vicinity grew from half as many clusters; that is left as it was where the
    tables became too faint to tell. Returns how many could be told."""
    states = shares.shape[1]
    size, told = FIRST, 0
    for number in range(len(centres)):
        centre = centres[number]
        size = enlarge(clusters, counts, messages, room, centre, price, size)
        if not (
            reckon(clusters, counts, messages, room, counting, centre, size, 0)
            and reckon(clusters, counts, messages, room, counting, centre, size // 2, 1)
        ):
            continue
        told += 1
        growth[number] = 0.0
        for state in range(states):
            shares[number, state] = room.result[0, state]
            move = abs(room.result[0, state] - room.result[1, state])
            growth[number] = max(growth[number], move)
    return told


@compiled
def enlarge(
    clusters: Clusters,
    counts: Counts,
    messages: Messages,
    room: Room,
    centre: int,
    price: float,
    size: int,
) -> int:
    """About how many clusters can be had for a price, from a first guess."""
    low, high = 0, MOST_VARIABLES + 1
    while high - low > max(1, low // 8):
        taken, variables = take_in(clusters, counts, messages, room, centre, size)
        join(clusters, counts, room, taken, variables)
        cost = plan(room, variables)
        leave(clusters, room, taken)
        if cost <= price:
            low = size
            if taken < size:
                break
            size = min(2 * size, (low + high) // 2) if high > MOST_VARIABLES else (low + high) // 2
        else:
            high = size
            size = (low + high) // 2
        size = max(size, 1)
    return max(low, 1)


@compiled
def reckon(
    clusters: Clusters,
    counts: Counts,
    messages: Messages,
    room: Room,
    counting: CountRoom,
    centre: int,
    size: int,
    row: int,
) -> bool:
    """Put the centre's shares among `size` clusters into a row of the result."""
    states = room.result.shape[1]
    taken, variables = take_in(clusters, counts, messages, room, centre, size)
    join(clusters, counts, room, taken, variables)
    if plan(room, variables) > len(room.entries) - room.written:
        leave(clusters, room, taken)
        return False
    tables, entries = lay_out(clusters, counts, messages, room, counting, taken, variables)
    possible = True
    for step in range(variables - 1):
        made = sum_out(room, tables, entries, room.order[step]) if possible else 0
        possible = made > 0
        tables, entries = tables + 1, entries + made
    total = 0.0
    for state in range(states):
        value = 1.0
        for table in range(tables):
            if room.alive[table] and room.width[table] == 1:
                value *= room.entries[room.offset[table] + state]
        room.result[row, state] = value
        total += value
    for state in range(states):
        room.result[row, state] /= total
    leave(clusters, room, taken)
    return possible and total > 0


@compiled
def enter(room: Room, variable: int, count: int) -> int:
    """Give a variable a place, if it has none; how many have one."""
    if room.place[variable] >= 0:
        return count
    room.place[variable] = count
    room.variables[count] = variable
    return count + 1


@compiled
def last_edge(clusters: Clusters, cluster: int, centre: int) -> int:
    """Where a cluster's edges end: its leaves are summed up beforehand, but for the centre."""
    for edge in range(clusters.leaves[cluster], clusters.start[cluster + 1]):
        if clusters.variable[edge] == centre:
            return int(clusters.start[cluster + 1])
    return int(clusters.leaves[cluster])


@compiled
def take_in(
    clusters: Clusters, counts: Counts, messages: Messages, room: Room, centre: int, size: int
) -> tuple[int, int]:
    """Take in up to `size` clusters around a centre; how many clusters and variables there are."""
    taken, count, at = 0, enter(room, centre, 0), 0
    while at < count:
        edge = clusters.first[room.variables[at]]
        at += 1
        while edge >= 0 and taken < size:
            cluster = clusters.cluster[edge]
            begin, end = clusters.start[cluster], last_edge(clusters, cluster, centre)
            many = clusters.mixes[cluster] and end - begin > 1 + MOST_CANDIDATES
            counted = counts.of[cluster + 1] > counts.of[cluster]
            many |= counted and too_many_counted(clusters, counts, cluster, centre)
            row = messages.up[edge]
            says = max(row[0], row[1], row[2]) - min(row[0], row[1], row[2]) >= FLAT
            fits = count + end - begin <= MOST_VARIABLES and taken < MOST_VARIABLES
            if says and fits and not many and not room.inside[cluster]:
                room.inside[cluster] = True
                room.clusters[taken] = cluster
                taken += 1
                for other in range(begin, end):
                    if not counted or not summed_with_count(clusters, counts, other, centre):
                        count = enter(room, clusters.variable[other], count)
            edge = clusters.next[edge]
    return taken, count


@compiled
def leave(clusters: Clusters, room: Room, taken: int) -> None:
    """Clear the room of the clusters taken in."""
    for number in range(taken):
        cluster = room.clusters[number]
        room.inside[cluster] = False
        for edge in range(clusters.start[cluster], clusters.start[cluster + 1]):
            room.place[clusters.variable[edge]] = -1
    room.place[room.variables[0]] = -1


@compiled
def join(clusters: Clusters, counts: Counts, room: Room, taken: int, variables: int) -> None:
    """Note which variables share a table."""
    centre = room.variables[0]
    for one in range(variables):
        room.joined[one] = 0
    for number in range(taken):
        cluster = room.clusters[number]
        begin, end = clusters.start[cluster], last_edge(clusters, cluster, centre)
        if clusters.mixes[cluster]:
            tie_up(clusters, room, begin, end)
            continue
        bits = bit(room, clusters.variable[begin]) | bit(room, clusters.variable[begin + 1])
        spread(room, bits)
        for edge in range(begin + 2, end):
            if counts.group[edge] < 0:
                spread(room, bits | bit(room, clusters.variable[edge]))
        for litter in range(counts.of[cluster], counts.of[cluster + 1]):
            joint = bits
            edge = counts.edge[litter]
            for other in range(edge, edge + counts.named[litter]):
                if not summed_with_count(clusters, counts, other, centre):
                    joint |= bit(room, clusters.variable[other])
            spread(room, joint)


@compiled
def tie_up(clusters: Clusters, room: Room, begin: int, end: int) -> None:
    """Note that all variables of some edges share a table."""
    bits = 0
    for edge in range(begin, end):
        bits |= bit(room, clusters.variable[edge])
    spread(room, bits)


@compiled
def bit(room: Room, variable: int) -> int:
    """A variable's place as a bit."""
    return 1 << int(room.place[variable])


@compiled
def lay_out(
    clusters: Clusters,
    counts: Counts,
    messages: Messages,
    room: Room,
    counting: CountRoom,
    taken: int,
    variables: int,
) -> tuple[int, int]:
    """Write down the tables inside, and what came from outside; how many tables and entries."""
    _, pairs, states = clusters.tables.shape
    tables, end_of_last = 0, 0
    centre = room.variables[0]
    for one in range(variables):
        weigh(clusters, messages, room, one, tables, end_of_last)
        tables, end_of_last = tables + 1, end_of_last + states
    for number in range(taken):
        cluster = room.clusters[number]
        begin, end = clusters.start[cluster], last_edge(clusters, cluster, centre)
        if clusters.mixes[cluster]:
            open_table(clusters, room, begin, end, tables, end_of_last)
            end_of_last += write_mixture(clusters, room, begin, end, end_of_last)
            tables += 1
            continue
        if end == clusters.leaves[cluster] and end < clusters.start[cluster + 1]:
            open_table(clusters, room, begin, begin + 2, tables, end_of_last)
            for both in range(pairs):
                room.entries[end_of_last + both] = messages.leaf_product[cluster, both]
            tables, end_of_last = tables + 1, end_of_last + pairs
        for litter in range(counts.of[cluster], counts.of[cluster + 1]):
            end_of_last += write_count(
                clusters, counts, room, counting, litter, begin, tables, end_of_last
            )
            tables += 1
        for edge in range(begin + 2, end):
            if counts.group[edge] >= 0:
                continue
            open_table(clusters, room, begin, begin + 2, tables, end_of_last)
            room.scope[tables, 2] = room.place[clusters.variable[edge]]
            room.width[tables] = 3
            kind = clusters.table[edge]
            for entry in range(pairs * states):
                value = clusters.tables[kind, entry // states, entry % states]
                room.entries[end_of_last + entry] = value
            tables, end_of_last = tables + 1, end_of_last + pairs * states
    return tables, end_of_last


@compiled
def open_table(
    clusters: Clusters, room: Room, begin: int, end: int, table: int, offset: int
) -> None:
    """A table over the variables of some edges, the last one's states next to each other."""
    for edge in range(begin, end):
        room.scope[table, edge - begin] = room.place[clusters.variable[edge]]
    room.width[table] = end - begin
    room.offset[table], room.alive[table] = offset, True


@compiled
def write_mixture(clusters: Clusters, room: Room, begin: int, end: int, offset: int) -> int:
    """The chance of a parent in effect given its candidates; how many entries there are."""
    powers, states = room.powers, room.powers[1]
    candidates = end - begin - 1
    count = powers[candidates]
    for state in range(states):
        for others in range(count):
            chance = clusters.weight[begin] * clusters.pool[state]
            for one in range(candidates):
                if others // powers[candidates - 1 - one] % states == state:
                    chance += clusters.weight[begin + 1 + one]
            room.entries[offset + state * count + others] = chance
    return int(states * count)


@compiled
def summed_with_count(clusters: Clusters, counts: Counts, edge: int, centre: int) -> bool:
    """Whether an edge is of a pup that was counted with others and stands in no other cluster: it
    is summed over with them, but for the centre."""
    variable = clusters.variable[edge]
    alone = clusters.first[variable] == edge and clusters.next[edge] < 0
    return bool(alone and counts.group[edge] >= 0 and variable != centre)


@compiled
def too_many_counted(clusters: Clusters, counts: Counts, cluster: int, centre: int) -> bool:
    """Whether a counted litter of a cluster has more pups to keep apart than a table can hold."""
    for litter in range(counts.of[cluster], counts.of[cluster + 1]):
        apart, edge = 0, counts.edge[litter]
        for other in range(edge, edge + counts.named[litter]):
            apart += 0 if summed_with_count(clusters, counts, other, centre) else 1
        if apart > MOST_COUNTED:
            return True
    return False


@compiled
def write_count(
    clusters: Clusters,
    counts: Counts,
    room: Room,
    counting: CountRoom,
    litter: int,
    begin: int,
    table: int,
    offset: int,
) -> int:
    """The chance of a count given the parents and the pups kept apart, as a table; how many
    entries there are."""
    powers, states = room.powers, room.powers[1]
    heard, centre = counting.heard, room.variables[0]
    open_table(clusters, room, begin, begin + 2, table, offset)
    edge, start = counts.edge[litter], counts.member[litter]
    for other in range(edge, edge + counts.named[litter]):
        if not summed_with_count(clusters, counts, other, centre):
            room.scope[table, room.width[table]] = room.place[clusters.variable[other]]
            room.width[table] += 1
    apart = room.width[table] - 2
    for others in range(powers[apart]):
        for number in range(counts.member[litter + 1] - start):
            place = counts.at[start + number]
            kept_apart = place >= 0 and not summed_with_count(
                clusters, counts, edge + place, centre
            )
            for state in range(states):
                heard[number, state] = 0.0 if kept_apart else 1.0
                if place >= 0 and not kept_apart:
                    heard[number, state] = clusters.own[clusters.variable[edge + place], state]
            if kept_apart:
                before = 0
                for other in range(edge, edge + place):
                    before += 0 if summed_with_count(clusters, counts, other, centre) else 1
                heard[number, others // powers[apart - 1 - before] % states] = 1.0
        size = count_up(counts, clusters.tables, counting, litter)
        for both in range(states * states):
            value = kept(counting.fits[both], size) if size > 0 else 0.0
            room.entries[offset + both * powers[apart] + others] = value
    return int(states * states * powers[apart])


@compiled
def weigh(
    clusters: Clusters, messages: Messages, room: Room, one: int, table: int, begin: int
) -> None:
    """A variable's own weight and what came to it from outside, as a table."""
    states = clusters.own.shape[1]
    variable = room.variables[one]
    for state in range(states):
        room.entries[begin + state] = clusters.own[variable, state]
    edge = clusters.first[variable]
    while edge >= 0:
        if not room.inside[clusters.cluster[edge]]:
            top = 0.0
            for state in range(states):
                value = kept(room.entries[begin + state], messages.up[edge, state])
                room.entries[begin + state] = value
                top = max(top, value)
            if top > 0:
                for state in range(states):
                    room.entries[begin + state] /= top
        edge = clusters.next[edge]
    room.width[table], room.scope[table, 0] = 1, one
    room.offset[table], room.alive[table] = begin, True
