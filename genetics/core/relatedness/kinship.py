"""Kinship and inbreeding by Wright's definition, and how far back a pedigree is known.

The kinship of two animals is the chance that an allele drawn from one and an allele drawn from
the other are copies of one ancestral allele; an animal's inbreeding F is the kinship of its
parents, so its kinship with itself is (1 + F)/2. Wright S 1922, Coefficients of inbreeding and
relationship, Am Nat 56:330-338; the table is that of Emik LO, Terrill CE 1949, Systematic
procedures for calculating inbreeding coefficients, J Hered 40:51-55 (both cited from memory; the
figures are tested against the published tables in tests/reference).

Where a parent is uncertain the figures are expectations over the candidates' weights, before any
evidence. The pups of a litter share the draw, which the plain recursion overlooks. Write K for
the expected kinship, s and d for the drawn sire and dam of a litter, w and v for their weights.
For a pup i and an animal j that is neither of its litter nor descends from it, K of a fixed
candidate with j does not depend on i's draw:

    K(i, j) = 1/2 sum_s w(s) K(s, j) + 1/2 sum_d v(d) K(d, j)
    K(i, i) = 1/2 (1 + sum_s sum_d w(s) v(d) K(s, d))

and for two pups i, i' of the litter, who have the same s and the same d in every draw,

    K(i, i') = 1/4 sum_s w(s) K(s, s) + 1/4 sum_d v(d) K(d, d) + 1/2 sum_s sum_d w(s) v(d) K(s, d).

An unknown parent is one unrelated founder for the whole litter: K with itself 1/2, else 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.numerics.kernels import compiled
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Indices, Pedigree
from genetics.core.pedigree.sparse_kinship import COMPILED_FROM

Figures = NDArray[np.float64]

# With no more relatives the table of all is made; among more the kinships asked for are found
# without those of all others. In a large register that soon takes less time.
TABLE = 2_000
TABLE_IN_A_REGISTER = 200

Animals = Sequence[int] | NDArray[np.integer]


def kinship(pedigree: Pedigree, animals: Animals | None = None) -> Figures:
    """Expected kinship (k, k) of `animals`, of all if None, in their order; diagonal (1 + F)/2."""
    asked = _numbers(range(len(pedigree)) if animals is None else animals)
    return kinship_between(pedigree, asked, asked)


def kinship_between(pedigree: Pedigree, animals: Animals, others: Animals) -> Figures:
    """Expected kinship of each of some animals with each of others.

    By the table at the head of this module, or else by the walks of `sparse_kinship.py`, whose
    time and memory grow with the ancestors times c: the shorter list is best the second.

    Parameters
    ----------
    pedigree : Pedigree
    animals, others : sequence of int
        r and c animals, by number.

    Returns
    -------
    array (r, c)
        Kinships, from 0 to 1; an animal's kinship with itself is (1 + F) / 2.

    References
    ----------
    Emik LO, Terrill CE 1949, Systematic procedures for calculating inbreeding coefficients, J Hered
    40:51-55 (from memory).
    """
    rows, columns = _numbers(animals), _numbers(others)
    used = _few_relatives(pedigree, np.concatenate([rows, columns]))
    if used is None:
        return pedigree.lineage.kinship(rows, columns)
    table, place = _table(pedigree, used)
    found: Figures = table[np.ix_(place[rows], place[columns])]
    return found


def mean_kinship(pedigree: Pedigree, animals: Animals, group: Animals) -> Figures:
    """Mean expected kinship (r,) of each of `animals` with the members of `group`.

    An animal that is one of the group counts with itself, (1 + F)/2, as it does in the kinship
    of a next generation to which all give alike. NaN where the group is empty.
    """
    rows, members = _numbers(animals), _numbers(group)
    if not len(members):
        return np.full(len(rows), np.nan)
    if len(pedigree) > TABLE:
        return pedigree.lineage.mean_kinship(rows, members)
    means: Figures = kinship_between(pedigree, rows, members).mean(axis=1)
    return means


def inbreeding(pedigree: Pedigree, animals: Animals | None = None) -> Figures:
    """Expected inbreeding coefficient F of each animal: the kinship of its parents.

    Parameters
    ----------
    pedigree : Pedigree
    animals : sequence of int, optional
        k animals, by number; all by default.

    Returns
    -------
    array (k,)
        From 0 to 1. A parent that nobody knows adds nothing.

    References
    ----------
    Wright S 1922, Coefficients of inbreeding and relationship, Am Nat 56:330-338.
    """
    if animals is None:
        if len(pedigree) > TABLE:
            return pedigree.lineage.inbreeding.copy()
        return _by_family(pedigree)
    asked = _numbers(animals)
    used = _few_relatives(pedigree, asked)
    if used is None:
        figures: Figures = pedigree.lineage.inbreeding[asked]
        return figures
    table, place = _table(pedigree, used)
    selves: Figures = table.diagonal()[place[asked]]
    return 2 * selves - 1


def _by_family(pedigree: Pedigree) -> Figures:
    figures = np.zeros(len(pedigree))
    for family in pedigree.families():
        if len(family) > 2:
            table, _place = _table(pedigree, np.array(family, dtype=np.int32))
            figures[family] = 2 * table.diagonal() - 1
    return figures


def _few_relatives(pedigree: Pedigree, animals: NDArray[np.int64]) -> Indices | None:
    """The animals with their ancestors, where a table of them is soon made."""
    most = TABLE if len(pedigree) <= TABLE else TABLE_IN_A_REGISTER
    used = pedigree.ancestry(animals, most)
    return used if len(used) <= most else None


def _numbers(animals: Animals | range) -> NDArray[np.int64]:
    return np.asarray(animals, dtype=np.int64)


def _table(pedigree: Pedigree, used: Indices) -> tuple[Figures, NDArray[np.int64]]:
    """Kinships of animals with all their ancestors, and each animal's place among them.

    Time and memory grow with the square of their number.
    """
    place = np.full(len(pedigree), -1, dtype=np.int64)
    place[used] = np.arange(len(used))
    table = np.zeros((len(used), len(used)))
    done = np.zeros(len(used), dtype=bool)
    founders = place[used[pedigree.litter_of[used] == -1]]
    table[founders, founders] = 0.5
    done[founders] = True
    for number in pedigree.litter_order(used):
        pups = place[list(pedigree.litters[number].pups)]
        pups = pups[pups >= 0]
        if len(pups):
            _fill_litter(table, done, pups, _placed(pedigree.litters[number], place))
    return table, place


@dataclass(frozen=True)
class _Parents:
    """The candidates of a litter by their place in the table, with their weights."""

    sires: NDArray[np.int64]
    sire_weights: Figures
    dams: NDArray[np.int64]
    dam_weights: Figures


def _placed(litter: Litter, place: NDArray[np.int64]) -> _Parents:
    return _Parents(
        place[list(litter.sires)],
        np.array(litter.sire_weights),
        place[list(litter.dams)],
        np.array(litter.dam_weights),
    )


def _fill_litter(
    table: Figures, done: NDArray[np.bool_], pups: NDArray[np.int64], parents: _Parents
) -> None:
    """The rows and columns of one litter, once all its candidates' are filled."""
    row = parents.sire_weights @ table[parents.sires] + parents.dam_weights @ table[parents.dams]
    row = np.where(done, row / 2, 0.0)
    table[pups, :] = row
    table[:, pups] = row[:, None]
    crosses = table[np.ix_(parents.sires, parents.dams)]
    between = float(parents.sire_weights @ crosses @ parents.dam_weights)
    selves = _with_itself(table, parents.sires, parents.sire_weights)
    selves += _with_itself(table, parents.dams, parents.dam_weights)
    table[np.ix_(pups, pups)] = selves / 4 + between / 2
    table[pups, pups] = (1 + between) / 2
    done[pups] = True


def _with_itself(table: Figures, candidates: NDArray[np.int64], weights: Figures) -> float:
    """Expected kinship of a litter's parent with itself; an unknown one is not inbred."""
    return float(weights @ table[candidates, candidates]) if len(candidates) else 0.5


@dataclass(frozen=True)
class KnownGenerations:
    """How far back each animal's ancestry is on record, since a short pedigree flatters.

    `complete` (n,) int32: generations of which every ancestor is known. `deepest` (n,) int32:
    generations to the farthest ancestor known. `shares` (n, g): of the 2, 4, 8 ... ancestors of
    the first, second, third ... generation back, the share that is known. A choice of candidates
    counts as known, each branch by its weight in `shares`, the shallowest in `complete`, the
    deepest in `deepest`.
    """

    complete: NDArray[np.int32]
    deepest: NDArray[np.int32]
    shares: Figures


def known_generations(pedigree: Pedigree, generations: int = 5) -> KnownGenerations:
    """How deep and how complete the pedigree of each animal is, over `generations` for shares."""
    parents = pedigree.parentage
    reckon = _known_of_litters if len(pedigree) > COMPILED_FROM else _known_of_litters.plain
    complete, deepest, shares = reckon(
        pedigree.order,
        parents.litter_of,
        parents.start,
        parents.candidates,
        parents.weights,
        generations,
    )
    litter_of = parents.litter_of  # of a founder -1, which takes the last row: nothing known
    return KnownGenerations(complete[litter_of], deepest[litter_of], shares[litter_of])


@compiled
def _known_of_litters(
    order: Indices,
    litter_of: Indices,
    start: Indices,
    candidates: Indices,
    weights: Figures,
    generations: int,
) -> tuple[Indices, Indices, Figures]:
    """Of each litter (m + 1,), the last none: complete, deepest and shares as above."""
    litters = len(start) // 2
    complete = np.zeros(litters + 1, np.int32)
    deepest = np.zeros(litters + 1, np.int32)
    shares = np.zeros((litters + 1, generations))
    for animal in order:
        litter = litter_of[animal]
        if litter < 0 or deepest[litter]:
            continue
        begin, dams, end = start[2 * litter], start[2 * litter + 1], start[2 * litter + 2]
        shallowest = litters  # no animal has so many generations behind it
        for at in range(begin, end):
            parent = litter_of[candidates[at]]
            shallowest = min(shallowest, complete[parent])
            deepest[litter] = max(deepest[litter], 1 + deepest[parent])
            for generation in range(generations):
                share = shares[parent, generation - 1] if generation else 1.0
                shares[litter, generation] += weights[at] * share / 2
        if begin < dams < end:
            complete[litter] = 1 + shallowest
    return complete, deepest, shares
