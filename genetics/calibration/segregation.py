"""Whether a herd's own litters fit Mendel, cross by cross.

Parents are taken for what they show, or for carriers where that is proved; nothing here rests on
the calculation's chances. A carrier that is proved apart from the pups in question, by a parent or
by pups of another mate, gives all its pups as a fair sample. One that only these pups prove gives
them because one showed: they are weighed as such (`fit_where_one_showed`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from genetics.calibration.scores import shown_doses
from genetics.colours.carriers import Looks, read_looks
from genetics.core.estimation.segregation_test import Fit, fit, fit_where_one_showed
from genetics.core.exceptions import PedigreeError
from genetics.core.inheritance.loci import Gene, genes
from genetics.core.inheritance.mendel import transmission
from genetics.core.posterior.genotypes import among_the_weaned
from herdbook.book.models import Animal, Herd

# Genes whose doubled class shows, with everything else in one class beside it.
RECESSIVE = ("extension", "chocolate", "pink eye", "spotting", "satin", "rex", "long coat")

SHOWS, CARRIER, POINTS, ROAN = "shows", "carrier", "points", "roan"


@dataclass(frozen=True)
class Cross:
    """The pups of all matings of one kind, beside what Mendel leads to expect.

    ``parents`` are 'shows', 'carrier', or, for points and roan, classes of the gene; ``classes``
    name the counts. ``picked`` tells that these families are there because one showed.
    """

    gene: str
    parents: tuple[str, str]
    classes: tuple[str, ...]
    matings: int
    picked: bool
    fit: Fit


def crosses_of(herd: Herd) -> tuple[Cross, ...] | None:
    """Every kind of mating in a herd that says something; None where the pedigree contradicts
    itself."""
    try:
        looks = read_looks()
    except PedigreeError:
        return None
    pairs = _pairs(looks, herd)
    found = [*_points(looks, pairs), *_roan(looks, pairs)]
    for key in RECESSIVE:
        found += _recessive(looks, genes()[key], pairs)
    return tuple(found)


Pairs = dict[tuple[int, int], list[int]]


def _pairs(looks: Looks, herd: Herd | None = None) -> Pairs:
    """The pups, by row, of each sire and dam that are the only ones written; of a herd's own."""
    mine = set(Animal.objects.filter(herd=herd).values_list("pk", flat=True)) if herd else None
    pairs: Pairs = defaultdict(list)
    for litter in looks.reading.recorded.litters:
        if len(litter.sires) == len(litter.dams) == 1:
            pups = [one for one in litter.pups if mine is None or looks.reading.keys[one] in mine]
            pairs[litter.sires[0], litter.dams[0]] += pups
    return {pair: pups for pair, pups in pairs.items() if pups}


def _points(looks: Looks, pairs: Pairs) -> Iterator[Cross]:
    """By what parents and pups showed when grown."""
    animals = {animal.pk: animal for animal in Animal.objects.select_related("litter")}
    doses = {key: dose for key, (dose, _since) in shown_doses(animals).items()}
    shown = np.array([doses.get(key, -1) for key in looks.reading.keys])
    yield from _by_class(genes()[POINTS], pairs, shown, transmission())


def _roan(looks: Looks, pairs: Pairs) -> Iterator[Cross]:
    """By what is written; lethal whites are often lost before they are, and are not counted."""
    gene = genes()[ROAN]
    lethal = gene.classes.index(str(gene.shown))
    said = [gene.said(words) for words in looks.words]
    shown = np.array(
        [one[0] if one is not None and len(one) == 1 and one[0] != lethal else -1 for one in said]
    )
    yield from _by_class(gene, pairs, shown, among_the_weaned(gene, transmission()))


def _by_class(
    gene: Gene, pairs: Pairs, shown: NDArray[np.int64], handed: NDArray[np.float64]
) -> Iterator[Cross]:
    """Where each genotype shows: `shown` (n,) is each animal's class, -1 where it is not known."""
    counts: dict[tuple[int, int], NDArray[np.int64]] = {}
    matings: dict[tuple[int, int], int] = defaultdict(int)
    for (sire, dam), pups in pairs.items():
        cross = tuple(sorted((int(shown[sire]), int(shown[dam]))))
        known = shown[pups][shown[pups] >= 0]
        if cross[0] >= 0 and len(known):
            first, second = cross
            counts.setdefault((first, second), np.zeros(3, dtype=np.int64))
            counts[first, second] += np.bincount(known, minlength=3)
            matings[first, second] += 1
    for first, second in sorted(counts):
        found = fit(counts[first, second].tolist(), handed[first, second].tolist())
        parents = (gene.classes[first], gene.classes[second])
        yield Cross(gene.key, parents, gene.classes, matings[first, second], False, found)


def _recessive(looks: Looks, gene: Gene, pairs: Pairs) -> Iterator[Cross]:
    """Carrier to carrier, carrier to one that shows it, and both showing it."""
    proof = _Proof(looks, gene)
    whole: dict[tuple[str, str], list[tuple[int, int]]] = defaultdict(list)
    picked: dict[tuple[str, str], list[tuple[int, int]]] = defaultdict(list)
    for pair, pups in pairs.items():
        known = [pup for pup in pups if proof.noted[pup]]
        showing = sum(bool(proof.shows[pup]) for pup in known)
        standing = [proof.standing(parent, pair) for parent in pair]
        if not known or None in standing:
            continue
        proved = all(stands != "maybe" for stands in standing)
        parents = sorted(SHOWS if stands == SHOWS else CARRIER for stands in standing)
        if proved or showing:
            (whole if proved else picked)[parents[0], parents[1]].append((len(known), showing))
    classes = (f"no {gene.shown}", str(gene.shown))
    for cross, picks in product(sorted({*whole, *picked}), (False, True)):
        families = (picked if picks else whole)[cross]
        if families:
            found = _fitted(families, cross, picked=picks)
            yield Cross(gene.key, cross, classes, len(families), picks, found)


def _fitted(families: list[tuple[int, int]], cross: tuple[str, str], *, picked: bool) -> Fit:
    share = {0: 1 / 4, 1: 1 / 2, 2: 1.0}[cross.count(SHOWS)]
    if picked:
        return fit_where_one_showed(families, share)
    pups, showing = (sum(column) for column in zip(*families, strict=True))
    return fit([pups - showing, showing], [1 - share, share])


class _Proof:
    """Which animals show a recessive, and which are proved to carry it."""

    def __init__(self, looks: Looks, gene: Gene) -> None:
        self.pedigree = looks.reading.recorded
        number = gene.classes.index(str(gene.shown))
        said = [gene.said(words) for words in looks.words]
        self.shows = np.array([one == (number,) for one in said], dtype=bool)
        self.noted = np.array(
            [one is not None and (one == (number,) or number not in one) for one in said]
        )
        self.mates: dict[int, set[int]] = defaultdict(set)
        for (sire, dam), pups in _pairs(looks).items():
            if any(self.shows[pup] for pup in pups):
                self.mates[sire].add(dam)
                self.mates[dam].add(sire)

    def standing(self, parent: int, pair: tuple[int, int]) -> str | None:
        """'shows', 'carrier' where that is proved apart from this pair's pups, 'maybe' where it
        does not show; None where nobody wrote whether it does."""
        if not self.noted[parent]:
            return None
        if self.shows[parent]:
            return SHOWS
        others = self.mates[parent] - set(pair)
        number = int(self.pedigree.litter_of[parent])
        born = self.pedigree.litters[number] if number != -1 else None
        sides = (born.sires, born.dams) if born else ()
        of_one = any(len(side) == 1 and self.shows[side[0]] for side in sides)
        return CARRIER if others or of_one else "maybe"
