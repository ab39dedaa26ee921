"""Whose genes a herd is made of, and which of them are about to be lost.

A founder is an animal without a known parent, or a parent that nobody knows: one for the whole
litter on each side. A founder's contribution to some animals is the share of their genes that came
from it, expected over Mendel's coin: James JW 1972, Computation of genetic contributions from
pedigrees, Theor Appl Genet 42:272-273 (cited from memory). How many founders that makes in effect:
Lacy RC 1989, Analysis of founder representation in pedigrees, Zoo Biol 8:111-123 (abstract seen).
What is left of a founder is found by dropping genes down the pedigree: MacCluer JW, VandeBerg JL,
Read B, Ryder OA 1986, Pedigree analysis by computer simulation, Zoo Biol 5:147-160 (abstract seen).

Where a parent is uncertain, contributions are expectations over the candidates' weights, and each
drop of genes draws one candidate for the whole litter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Indices, Pedigree

Figures = NDArray[np.float64]
Animals = Sequence[int] | Indices
Numbers = NDArray[np.int64]


@dataclass(frozen=True)
class Contributions:
    """What some animals have from each founder.

    `founders` (f,): an animal's number, or `len(pedigree) + 2 * litter` for the unknown sire of a
    litter and one more for its unknown dam. `shares` (k, f): of the genes of each animal asked for,
    the share expected from each founder; rows sum to one.
    """

    founders: Numbers
    shares: Figures

    @property
    def of_all(self) -> Figures:
        """The founders' contributions (f,) to all these animals together, summing to one."""
        mean: Figures = self.shares.mean(axis=0)
        return mean


def contributions(pedigree: Pedigree, animals: Animals) -> Contributions:
    """The founders of `animals`, at least one of them, and what each contributed to each.

    Works on their ancestors alone: 8 bytes for each ancestor and founder.
    """
    descent = _Descent.of(pedigree, animals)
    table = np.zeros((len(descent.used), len(descent.founders)))
    for row, founder in descent.founder_rows():
        table[row, founder] = 1
    for pups, sire, dam in descent.litters:
        table[pups] = (_mean(table, sire) + _mean(table, dam)) / 2
    return Contributions(descent.founders, table[descent.asked])


def effective_founders(shares: Figures) -> float:
    """How many founders with equal contributions would be worth these: 1 / sum p^2 (Lacy 1989).

    `shares` (f,) sum to one.
    """
    return float(1 / (shares**2).sum())


@dataclass(frozen=True)
class Drop:
    """Genes dropped down a pedigree.

    `founders` as in `Contributions`. `genes` (draws, loci, k, 2): for each animal asked for, its
    gene from the sire and from the dam at each locus; 2 f and 2 f + 1 are those of founder f.
    """

    founders: Numbers
    genes: NDArray[np.int32]


def drop_genes(
    pedigree: Pedigree, animals: Animals, draws: int, random: np.random.Generator, loci: int = 1
) -> Drop:
    """Give each founder two genes of its own at each locus and hand them down by Mendel's coin.

    Loci are independent but for uncertain parents: one candidate a litter is drawn for each draw.
    """
    descent = _Descent.of(pedigree, animals)
    genes = np.zeros((len(descent.used), draws, loci, 2), dtype=np.int32)
    for row, founder in descent.founder_rows():
        genes[row] = (2 * founder, 2 * founder + 1)
    for pups, sire, dam in descent.litters:
        parents = [_drawn(genes, side, draws, random) for side in (sire, dam)]
        for pup in pups:
            for gene, parent in enumerate(parents):
                coin = random.integers(2, size=(draws, loci, 1))
                genes[pup, :, :, gene] = np.take_along_axis(parent, coin, axis=2)[..., 0]
    return Drop(descent.founders, genes[descent.asked].transpose(1, 2, 0, 3))


@dataclass(frozen=True)
class Kept:
    """What is left of founders among some animals.

    `share` (f,): of each founder's genes, the share that at least one animal still has; the rest
    is lost. `alone` (k, f): the share that this animal has and no other, lost when it goes.
    """

    share: Figures
    alone: Figures


def kept(drop: Drop) -> Kept:
    """What a drop of genes left. A share p has a standard error of sqrt(p (1 - p) / 2 n) or less,
    n being draws times loci, where no parent is uncertain."""
    genes = drop.genes.reshape(-1, *drop.genes.shape[2:])
    count, animals, founders = len(genes), genes.shape[1], len(drop.founders)
    row = np.arange(count)
    holders = np.zeros((count, 2 * founders), dtype=np.int32)
    for animal in range(animals):
        first, second = genes[:, animal, 0], genes[:, animal, 1]
        holders[row, first] += 1
        holders[row, second] += first != second
    alone = np.zeros((animals, founders))
    for animal in range(animals):
        first, second = genes[:, animal, 0], genes[:, animal, 1]
        for gene, counts in ((first, True), (second, first != second)):
            only = (holders[row, gene] == 1) & counts
            alone[animal] += np.bincount(gene[only] // 2, minlength=founders)
    present = (holders > 0).reshape(count, founders, 2)
    return Kept(present.mean(axis=(0, 2)), alone / (2 * count))


@dataclass(frozen=True)
class _Side:
    """One side of a litter: candidates by row with their weights, or the founder it stands for."""

    rows: Numbers
    weights: Figures
    founder: int


@dataclass(frozen=True)
class _Descent:
    """The ancestors of some animals by row, their founders, and their litters parents first."""

    used: Indices
    asked: Numbers
    founders: Numbers
    known: Numbers
    litters: tuple[tuple[Numbers, _Side, _Side], ...]

    @classmethod
    def of(cls, pedigree: Pedigree, animals: Animals) -> _Descent:
        asked = np.asarray(animals, dtype=np.int64)
        if not len(asked):
            raise ValueError("the founders of no animal are asked for")
        used = pedigree.ancestry(asked)
        place = np.full(len(pedigree), -1, dtype=np.int64)
        place[used] = np.arange(len(used))
        known = used[pedigree.litter_of[used] == -1]
        founders = [int(animal) for animal in known]
        litters = []
        for number in pedigree.litter_order():
            litter = pedigree.litters[number]
            pups = place[list(litter.pups)]
            pups = pups[pups >= 0]
            if len(pups):
                sides = _sides(litter, place, len(pedigree) + 2 * number, founders)
                litters.append((pups, *sides))
        numbers = np.array(founders, dtype=np.int64)
        return cls(used, place[asked], numbers, place[known], tuple(litters))

    def founder_rows(self) -> list[tuple[int, int]]:
        """The row of each founder that is an animal, with its place among the founders."""
        return [(int(row), founder) for founder, row in enumerate(self.known)]


def _sides(
    litter: Litter, place: Numbers, unknown: int, founders: list[int]
) -> tuple[_Side, _Side]:
    """Both sides of a litter; parents that nobody knows are added to the founders."""
    sides = []
    both = ((litter.sires, litter.sire_weights), (litter.dams, litter.dam_weights))
    for side, (candidates, weights) in enumerate(both):
        if not candidates:
            founders.append(unknown + side)
        own = -1 if candidates else len(founders) - 1
        sides.append(_Side(place[list(candidates)], np.array(weights), own))
    return sides[0], sides[1]


def _mean(table: Figures, side: _Side) -> Figures:
    """What a litter's parent on this side has from each founder."""
    if side.founder >= 0:
        row = np.zeros(table.shape[1])
        row[side.founder] = 1
        return row
    mean: Figures = side.weights @ table[side.rows]
    return mean


def _drawn(
    genes: NDArray[np.int32], side: _Side, draws: int, random: np.random.Generator
) -> NDArray[np.int32]:
    """The genes (draws, loci, 2) of a litter's parent on this side."""
    if side.founder >= 0:
        own = np.array([2 * side.founder, 2 * side.founder + 1], dtype=np.int32)
        return np.broadcast_to(own, genes.shape[1:])
    choice = random.choice(len(side.rows), size=draws, p=side.weights)
    drawn: NDArray[np.int32] = genes[side.rows[choice], np.arange(draws)]
    return drawn
