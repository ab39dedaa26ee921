"""Kernels that put animals and litters in an order with parents first, and link them.

A node is an animal, or what the pups of one litter share beside their certain parents: which of
several candidates was the parent, or an unknown one. Nodes with young come first, by level, so
that walks among ancestors stay in a small part of memory; those without follow.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from genetics.core.numerics.kernels import compiled
from genetics.core.pedigree.arrays import Figures, Numbers

# What a node is.
FOUNDER, PUP, PUP_OF_SHARED, SHARED = 0, 1, 2, 3


@compiled
def arrange(
    litter_of: Numbers, start: Numbers, candidates: Numbers
) -> tuple[Numbers, Numbers, Numbers, Numbers, Numbers, int, int]:
    """Nodes of n animals in m litters (`Parentage` has the arrays).

    Returns the node of each animal (n,) and, where it has one, of each litter (m,); of each node
    its litter or -1, what it is, and its level, above those of its parents; how many nodes have
    young, and how many levels there are.
    """
    animals, litters = len(litter_of), len(start) // 2
    breeding = np.zeros(animals, np.bool_)
    for candidate in candidates:
        breeding[candidate] = True
    pups = np.zeros(litters, np.int32)
    littered = np.zeros(litters, np.bool_)  # litters of which a pup breeds
    for animal in range(animals):
        litter = litter_of[animal]
        if litter >= 0:
            pups[litter] += 1
            littered[litter] |= breeding[animal]
    shared = np.zeros(litters, np.bool_)
    for litter in range(litters):
        one_sire = start[2 * litter + 1] - start[2 * litter] == 1
        one_dam = start[2 * litter + 2] - start[2 * litter + 1] == 1
        shared[litter] = pups[litter] > 1 and not (one_sire and one_dam)
    level = levels(litter_of, start, candidates, shared)

    # A counting sort: by whether there are young, then by level.
    width = 2 + (level.max() if litters else 0)
    place = np.zeros(2 * width + 1, np.int32)
    for animal in range(animals):
        litter = litter_of[animal]
        here = 0 if litter < 0 else level[litter] + shared[litter]
        place[here + 1 + (0 if breeding[animal] else width)] += 1
    for litter in range(litters):
        if shared[litter]:
            place[level[litter] + 1 + (0 if littered[litter] else width)] += 1
    for here in range(2 * width):
        place[here + 1] += place[here]
    with_young, nodes = place[width], place[2 * width]
    node_of = np.empty(animals, np.int32)
    shared_node = np.full(litters, -1, np.int32)
    litter_at = np.empty(nodes, np.int32)
    kind = np.empty(nodes, np.int32)
    level_at = np.empty(nodes, np.int32)
    for animal in range(animals):
        litter = litter_of[animal]
        here = 0 if litter < 0 else level[litter] + shared[litter]
        key = here + (0 if breeding[animal] else width)
        node = place[key]
        place[key] += 1
        node_of[animal] = node
        litter_at[node] = litter
        level_at[node] = here
        kind[node] = FOUNDER if litter < 0 else (PUP_OF_SHARED if shared[litter] else PUP)
    for litter in range(litters):
        if shared[litter]:
            key = level[litter] + (0 if littered[litter] else width)
            node = place[key]
            place[key] += 1
            shared_node[litter] = node
            litter_at[node] = litter
            level_at[node] = level[litter]
            kind[node] = SHARED
    return node_of, shared_node, litter_at, kind, level_at, with_young, width


@compiled
def levels(
    litter_of: Numbers, start: Numbers, candidates: Numbers, shared: NDArray[np.bool_]
) -> Numbers:
    """Of each litter (m,): 1 above the highest of its candidates, founders standing at 0.

    Pups stand at their litter's level, or 1 above it where the litter is a node itself.
    """
    litters = len(shared)
    level = np.full(litters, -1, np.int32)
    waiting = np.empty(litters + 1, np.int32)
    for first in range(litters):
        top = 0
        waiting[0] = first
        while top >= 0:
            litter = waiting[top]
            highest = 0
            ready = True
            for at in range(start[2 * litter], start[2 * litter + 2]):
                other = litter_of[candidates[at]]
                if other >= 0:
                    if level[other] < 0:
                        top += 1
                        waiting[top] = other
                        ready = False
                        break
                    highest = max(highest, level[other] + shared[other])
            if ready:
                level[litter] = highest + 1
                top -= 1
    return level


@compiled
def link(
    shared_node: Numbers,
    litter_at: Numbers,
    kind: Numbers,
    start: Numbers,
    candidates: Numbers,
    weights: Figures,
) -> tuple[Numbers, Numbers, Figures]:
    """From each node to those it comes from, and by which share: `candidates` as nodes.

    The parents of node k are `parents[first[k]:first[k + 1]]`, by `shares` likewise.
    """
    nodes = len(kind)
    first = np.zeros(nodes + 1, np.int32)
    for node in range(nodes):
        litter = litter_at[node]
        links = 0
        if kind[node] == PUP_OF_SHARED:
            links = 1
        elif kind[node] != FOUNDER:
            links = start[2 * litter + 2] - start[2 * litter]
        first[node + 1] = first[node] + links
    parents = np.empty(first[nodes], np.int32)
    shares = np.empty(first[nodes], np.float64)
    for node in range(nodes):
        litter = litter_at[node]
        if kind[node] == PUP_OF_SHARED:
            parents[first[node]] = shared_node[litter]
            shares[first[node]] = 1.0
        elif kind[node] != FOUNDER:
            ahead = start[2 * litter] - first[node]
            for at in range(first[node], first[node + 1]):
                parents[at] = candidates[ahead + at]
                shares[at] = weights[ahead + at] / 2
    return first, parents, shares
