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

from genetics.core.pedigree import Indices, Litter, Pedigree

Figures = NDArray[np.float64]


def kinship(pedigree: Pedigree, animals: Sequence[int] | Indices | None = None) -> Figures:
    """Expected kinship (k, k) of `animals`, of all if None, in their order; diagonal (1 + F)/2.

    Only the ancestors of `animals` are worked on: time and memory grow with the square of their
    number (8 bytes a pair). The formulas stand at the head of this module.
    """
    asked = np.arange(len(pedigree)) if animals is None else np.asarray(animals, dtype=np.int64)
    used = pedigree.ancestry(asked)
    place = np.full(len(pedigree), -1, dtype=np.int64)
    place[used] = np.arange(len(used))
    table = np.zeros((len(used), len(used)))
    done = np.zeros(len(used), dtype=bool)
    founders = place[used[pedigree.litter_of[used] == -1]]
    table[founders, founders] = 0.5
    done[founders] = True
    for number in pedigree.litter_order():
        pups = place[list(pedigree.litters[number].pups)]
        pups = pups[pups >= 0]
        if len(pups):
            _fill_litter(table, done, pups, _placed(pedigree.litters[number], place))
    return table[np.ix_(place[asked], place[asked])]


def inbreeding(pedigree: Pedigree) -> Figures:
    """Expected inbreeding coefficient F (n,) of each animal: the kinship of its parents."""
    figures = np.zeros(len(pedigree))
    for family in pedigree.families():
        if len(family) > 2:
            figures[family] = 2 * kinship(pedigree, family).diagonal() - 1
    return figures


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
    count = len(pedigree)
    known = KnownGenerations(
        np.zeros(count, dtype=np.int32),
        np.zeros(count, dtype=np.int32),
        np.zeros((count, generations)),
    )
    for number in pedigree.litter_order():
        litter = pedigree.litters[number]
        pups, candidates = list(litter.pups), list(litter.candidates)
        if litter.sires and litter.dams:
            known.complete[pups] = 1 + known.complete[candidates].min()
        if candidates:
            known.deepest[pups] = 1 + known.deepest[candidates].max()
            known.shares[pups] = _known_share(litter, known.shares, generations)
    return known


def _known_share(litter: Litter, shares: Figures, generations: int) -> Figures:
    """Share known of each generation back: half from the sire's side and half from the dam's."""
    share = np.zeros(generations)
    sides = ((litter.sires, litter.sire_weights), (litter.dams, litter.dam_weights))
    for candidates, weights in sides:
        if candidates:
            share[:1] += 1 / 2
            share[1:] += np.array(weights) @ shares[list(candidates), : generations - 1] / 2
    return share
