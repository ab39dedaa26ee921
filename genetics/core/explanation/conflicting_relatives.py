"""Which of an animal's nearest kin speak against what is written of its looks, by one gene.

The kin are heard one group after the other: the parents' own looks, the full sibs, what the sire
and what the dam had by others, the animal's own pups. Each group changes the odds of the classes
that are written, by Bayes' rule within this small family alone, so that what stands further off is
left out: it tells whom to look at, and is no figure of the calculation.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.loci import Gene
from genetics.core.inheritance.mendel import transmission
from genetics.core.pedigree.pedigree import Pedigree

Table = NDArray[np.float64]

# A group that makes what is written less than half as likely as before speaks against it.
SPEAKS = 0.5

PARENTS, SIBS, OF_SIRE, OF_DAM, PUPS = "parents", "sibs", "of sire", "of dam", "pups"


@dataclass(frozen=True)
class Against:
    """A group of kin, by its kind and rows, that makes the odds of what is written ``times`` as
    high, which is less than `SPEAKS`."""

    kind: str
    kin: tuple[int, ...]
    times: float


def kin_against(
    pedigree: Pedigree, gene: Gene, likelihood: Table, animal: int, said: Collection[int]
) -> tuple[Against, ...]:
    """The groups that speak against an animal's words, the strongest first.

    `likelihood` (n, g) is of all animals' looks, `said` the classes that the animal's words leave
    open. A parent or mate of whom several may be it counts as unknown. Empty where nobody so near
    speaks against them, or the words leave open all classes or none.
    """
    family = _Family(pedigree, gene, likelihood, animal)
    open_to = np.isin(gene.class_of, list(said))
    if open_to.all() or not open_to.any():
        return ()
    heard: set[str] = set()
    before = _odds(family.chances(heard), open_to)
    found = []
    for kind, kin in family.groups().items():
        heard.add(kind)
        now = _odds(family.chances(heard), open_to)
        if kin and now < SPEAKS * before:
            found.append(Against(kind, kin, now / before))
        before = now
    return tuple(sorted(found, key=lambda one: one.times))


class _Family:
    """An animal with its parents, their other young, its mates and its pups."""

    def __init__(self, pedigree: Pedigree, gene: Gene, likelihood: Table, animal: int) -> None:
        self.gene, self.likelihood, self.animal = gene, likelihood, animal
        self.handed = transmission(len(gene.alleles))
        self.number = int(pedigree.litter_of[animal])
        born = pedigree.litters[self.number] if self.number != -1 else None
        self.sire = _only(born.sires) if born else -1
        self.dam = _only(born.dams) if born else -1
        self.sibs: list[int] = []
        self.young: dict[int, list[tuple[int, tuple[int, ...]]]] = defaultdict(list)
        for number, litter in enumerate(pedigree.litters):
            pair = _only(litter.sires), _only(litter.dams)
            if number == self.number or (pair == (self.sire, self.dam) and -1 not in pair):
                self.sibs += [pup for pup in litter.pups if pup != animal]
                continue
            for parent, mate in (pair, pair[::-1]):
                if parent != -1 and parent in (self.sire, self.dam, animal):
                    self.young[parent].append((mate, litter.pups))

    def groups(self) -> dict[str, tuple[int, ...]]:
        """The rows of each group of whom the words say anything, in the order they are heard."""
        kin = {
            PARENTS: [one for one in (self.sire, self.dam) if one != -1],
            SIBS: self.sibs,
            OF_SIRE: list(self._pups(self.sire)),
            OF_DAM: list(self._pups(self.dam)),
            PUPS: list(self._pups(self.animal)),
        }
        return {
            kind: tuple(row for row in rows if np.ptp(self.likelihood[row]) > 0)
            for kind, rows in kin.items()
        }

    def chances(self, heard: Collection[str]) -> Table:
        """Chances (g,) of the animal's genotype by those that are heard, its own looks left out."""
        sire = self._parent(self.sire, heard, OF_SIRE)
        dam = self._parent(self.dam, heard, OF_DAM)
        both = np.outer(sire, dam)
        if SIBS in heard:
            for sib in self.sibs:
                both *= self.handed @ self.likelihood[sib]
                both /= both.sum()
        own: Table = np.einsum("sd,sdp->p", both, self.handed)
        if PUPS in heard:
            own = own * self._by_young(self.animal)
        shares: Table = own / own.sum()
        return shares

    def _parent(self, row: int, heard: Collection[str], young: str) -> Table:
        shares = self.gene.pool
        if row != -1 and PARENTS in heard:
            shares = shares * self.likelihood[row]
        if row != -1 and young in heard:
            shares = shares * self._by_young(row)
        found: Table = shares / shares.sum()
        return found

    def _by_young(self, parent: int) -> Table:
        """Likelihood (g,) of a parent's genotype by its young, each mate by its own looks."""
        by_mate: dict[int, list[int]] = defaultdict(list)
        for place, (mate, pups) in enumerate(self.young[parent]):
            # each litter of an unknown mate has one of its own
            by_mate[mate if mate != -1 else -1 - place] += pups
        told = np.ones(len(self.gene.pool))
        for mate, young in by_mate.items():
            shares = self.gene.pool
            if mate >= 0:
                shares = shares * self.likelihood[mate]
            both = np.tile(shares / shares.sum(), (len(told), 1))
            for pup in young:
                both *= self.handed @ self.likelihood[pup]
            told *= both.sum(axis=1)
            told /= told.max()
        return told

    def _pups(self, parent: int) -> Iterator[int]:
        for _mate, pups in self.young.get(parent, ()):
            yield from pups


def _only(candidates: tuple[int, ...]) -> int:
    return candidates[0] if len(candidates) == 1 else -1


def _odds(chances: Table, open_to: NDArray[np.bool_]) -> float:
    said = float(chances[open_to].sum())
    return said / max(1 - said, 1e-300)
