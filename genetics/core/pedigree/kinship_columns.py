"""Kernels that walk up the ancestors and down again: inbreeding, and columns of kinship.

What they compute, and whose methods they are, stands at the head of `lineage.py`; the nodes are
those of `nodes.py`.
"""

from __future__ import annotations

import numpy as np

from genetics.core.numerics.kernels import compiled
from genetics.core.pedigree.arrays import Figures, Numbers
from genetics.core.pedigree.node_order import FOUNDER, PUP_OF_SHARED, SHARED


@compiled
def ask(
    node: int, mark: int, level_at: Numbers, marks: Numbers, head: Numbers, after: Numbers
) -> int:
    """Put a node on its level's list, once for each mark; returns its level."""
    level = level_at[node]
    if marks[node] != mark:
        marks[node] = mark
        after[node] = head[level]
        head[level] = node
    return int(level)


@compiled
def walk(
    top: int,
    mark: int,
    first: Numbers,
    parents: Numbers,
    shares: Figures,
    level_at: Numbers,
    own: Figures,
    marks: Numbers,
    head: Numbers,
    after: Numbers,
    up: Figures,
    found: Figures,
    met: Numbers,
) -> None:
    """Up from the nodes on the lists, level by level from `top`, and down again.

    `up` holds the weights of the nodes that a column is of; afterwards `found` holds the kinship
    with them of each node on the lists, and `up` and the lists are empty again.
    """
    count = 0
    for level in range(top, -1, -1):
        node = head[level]
        head[level] = -1
        while node >= 0:
            met[count] = node
            count += 1
            for at in range(first[node], first[node + 1]):
                parent = parents[at]
                up[parent] += shares[at] * up[node]
                if marks[parent] != mark:  # `ask`, written out: a call costs several times as much
                    marks[parent] = mark
                    after[parent] = head[level_at[parent]]
                    head[level_at[parent]] = parent
            node = after[node]
    for back in range(count - 1, -1, -1):
        node = met[back]
        value = own[node] * up[node]
        up[node] = 0.0
        for at in range(first[node], first[node + 1]):
            value += shares[at] * found[parents[at]]
        found[node] = value


@compiled
def uses(
    litter_at: Numbers, start: Numbers, candidates: Numbers, with_young: int
) -> tuple[Numbers, Numbers, Numbers]:
    """Where a column of kinships of each breeding animal is wanted, as a list by its node.

    Wanted of a litter's possible sires, about its possible dams and, where there are several on
    one side, about each other. A place is one in `candidates`: returns the first place of each
    node or -1, the place after each, and the side that each stands on.
    """
    litters = len(start) // 2
    with_pups = np.zeros(litters, np.bool_)
    for litter in litter_at:
        if litter >= 0:
            with_pups[litter] = True
    first_use = np.full(with_young, -1, np.int32)
    next_use = np.full(len(candidates), -1, np.int32)
    side_of = np.empty(len(candidates), np.int32)
    for side in range(2 * litters):
        several = start[side + 1] - start[side] > 1
        crossed = side % 2 == 0 and start[side + 2] > start[side + 1]
        for at in range(start[side], start[side + 1]):
            side_of[at] = side
            if with_pups[side // 2] and (several or crossed):
                next_use[at] = first_use[candidates[at]]
                first_use[candidates[at]] = at
    return first_use, next_use, side_of


@compiled
def wanted(side: int, start: Numbers) -> tuple[int, int]:
    """The places that a column of a candidate on this side is asked about, from and up to."""
    several = start[side + 1] - start[side] > 1
    return start[side] if several else start[side + 1], start[side + 2 - side % 2]


@compiled
def inbreeding_of_litters(
    litter_at: Numbers,
    kind: Numbers,
    level_at: Numbers,
    first: Numbers,
    parents: Numbers,
    shares: Figures,
    with_young: int,
    width: int,
    start: Numbers,
    candidates: Numbers,
    weights: Figures,
) -> tuple[Figures, Figures]:
    """Inbreeding of each litter's pups (m,), and what each node has of its own.

    Nodes are taken parents first: of each its own part, then its column of kinships.
    """
    litters = len(start) // 2
    inbred = np.zeros(litters)
    own = np.zeros(len(kind))
    itself = np.zeros(with_young)  # kinship of a breeding animal with itself
    between = np.zeros(2 * litters)  # of a side of several candidates
    first_use, next_use, side_of = uses(litter_at, start, candidates, with_young)
    marks = np.zeros(with_young, np.int32)
    head = np.full(width, -1, np.int32)
    after = np.empty(with_young, np.int32)
    up, found = np.zeros(with_young), np.zeros(with_young)
    met = np.empty(with_young, np.int32)
    mark = 0
    for node in range(len(kind)):
        litter = litter_at[node]
        pup, shared = 0.5, 0.0
        if kind[node] != FOUNDER:
            for side in range(2 * litter, 2 * litter + 2):
                selves, joint = 0.5, 0.0
                if start[side + 1] - start[side] == 1:
                    selves = joint = itself[candidates[start[side]]]
                elif start[side + 1] > start[side]:
                    selves, joint = 0.0, between[side]
                    for at in range(start[side], start[side + 1]):
                        selves += weights[at] * itself[candidates[at]]
                pup -= selves / 4
                shared += (selves - joint) / 4
        if kind[node] == PUP_OF_SHARED:
            own[node] = pup
        elif kind[node] == SHARED:
            own[node] = shared
        else:
            own[node] = pup + shared
        if node >= with_young:
            continue
        if kind[node] == FOUNDER:
            itself[node] = 0.5
        elif kind[node] != SHARED:
            itself[node] = (1 + inbred[litter]) / 2

        if first_use[node] < 0:
            continue
        mark += 1
        up[node] = 1.0
        top = ask(node, mark, level_at, marks, head, after)
        use = first_use[node]
        while use >= 0:
            begin, end = wanted(side_of[use], start)
            for at in range(begin, end):
                top = max(top, ask(candidates[at], mark, level_at, marks, head, after))
            use = next_use[use]
        walk(top, mark, first, parents, shares, level_at, own, marks, head, after, up, found, met)
        use = first_use[node]
        while use >= 0:
            side = side_of[use]
            begin, end = wanted(side, start)
            for at in range(begin, end):
                value = weights[use] * weights[at] * found[candidates[at]]
                if at < start[side + 1]:
                    between[side] += value
                else:
                    inbred[side // 2] += value
            use = next_use[use]
    return inbred, own


@compiled
def columns_of_kinship(
    first: Numbers,
    parents: Numbers,
    shares: Figures,
    own: Figures,
    of: Numbers,
    column_of: Numbers,
    weights: Figures,
    columns: int,
    asked: Numbers,
) -> Figures:
    """Kinship (r, columns) of the asked nodes with weighted sums of others.

    Column c is of the nodes `of` whose `column_of` is c, by their `weights`.
    """
    last = max(of.max(), asked.max())
    row_of = np.zeros(last + 1, np.int32)
    lit = np.zeros(last + 1, np.bool_)
    row_of[asked] = 1
    for node in of:
        row_of[node] = 1
        lit[node] = True
    rows = 0
    for node in range(last, -1, -1):
        if row_of[node]:
            rows += 1
            for at in range(first[node], first[node + 1]):
                row_of[parents[at]] = 1
    needed = np.empty(rows, np.int32)
    rows = 0
    for node in range(last + 1):
        if row_of[node]:
            row_of[node] = rows
            needed[rows] = node
            rows += 1
    table = np.zeros((rows, columns))
    for one in range(len(of)):
        table[row_of[of[one]], column_of[one]] += weights[one]
    for row in range(rows - 1, -1, -1):
        node = needed[row]
        if lit[node]:
            for at in range(first[node], first[node + 1]):
                lit[parents[at]] = True
                table[row_of[parents[at]]] += shares[at] * table[row]
    for row in range(rows):
        node = needed[row]
        table[row] *= own[node]
        for at in range(first[node], first[node + 1]):
            table[row] += shares[at] * table[row_of[parents[at]]]
    return table[row_of[asked]]
