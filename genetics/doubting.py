"""Which records of a herd to doubt, as plain data for a page to word."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from genetics.asking import JUDGED_SELF_DAYS
from genetics.core.dose import Dose, Impossible, reckon_dose
from genetics.core.doubt import doubts, misfits
from genetics.core.pedigree import PedigreeFault
from genetics.core.seen import SeenLook
from genetics.figures import AT_ONCE, ERRORS, FREQUENCY
from genetics.reading import Reading, looks_behind, read_book
from herdbook.book.models import Animal, Herd, Litter, Look
from herdbook.book.models.animal import BoughtAs, Coat, PointColour
from herdbook.book.models.look import Stage

# A record less doubtful than this is nothing to trouble a keeper with.
WORTH_A_LOOK = 0.05

Seen = list[tuple[Look | None, SeenLook]]

# Genotypes that an appearance leaves open, by the count of the allele in question. That chocolate
# and the red series are recessive: general knowledge of the species' coat genes, from memory.
_ANY, _NONE, _ONE, _TWO = (True,) * 3, (True, False, False), (False, True, False), (False,) * 2
_MARKED, _DOUBLED, _FEWER = (False, True, True), (*_TWO, True), (True, True, False)
_RED = {Coat.CREAM, Coat.BUFF, Coat.GOLDEN, Coat.RED}  # white may hide another colour
_DARK = {Coat.BLACK, Coat.CHOCOLATE, Coat.AGOUTI}


@dataclass(frozen=True)
class WrongSire:
    """A litter whose written sire, or all of several, may be wrong."""

    litter: Litter
    chance: float


@dataclass(frozen=True)
class WrongLook:
    """A look that may have been misread, or made at another animal."""

    look: Look
    chance: float


@dataclass(frozen=True)
class CannotBe:
    """A pup that its parents cannot have: ``gene`` is 'points', 'chocolate' or 'red'."""

    gene: str
    pup: Animal
    parents: tuple[Animal, ...]


@dataclass(frozen=True)
class Doubts:
    """What to look at again in a herd, the most doubtful first.

    ``contradicting``: animals whose records cannot all be true. ``unweighed``: how many animals
    of the herd are without a figure, so that their records were not weighed; ``too_many`` tells
    that the whole book is too large to be weighed while a page waits; ``faults`` what keeps its
    pedigree from being one.
    """

    sires: tuple[WrongSire, ...] = ()
    looks: tuple[WrongLook, ...] = ()
    misfits: tuple[CannotBe, ...] = ()
    contradicting: tuple[Animal, ...] = ()
    unweighed: int = 0
    too_many: bool = False
    faults: tuple[str, ...] = ()


def doubts_of(herd: Herd) -> Doubts:
    """The doubtful records of a herd, weighed by the whole book."""
    if Animal.objects.count() > AT_ONCE:
        return Doubts(too_many=True)
    try:
        reading = read_book()
    except PedigreeFault as fault:
        return Doubts(faults=tuple(one.message for one in fault.faults))
    if not len(reading):
        return Doubts()
    animals = list(Animal.objects.select_related("litter__dam").order_by("pk"))
    seen = _looks_behind(reading, animals)
    dose, contradicting = _dose(reading)
    sires, looks = _weighed(reading, dose, seen, herd)
    own = np.array([animal.herd_id == herd.pk for animal in animals])
    return Doubts(
        sires,
        looks,
        tuple(_misfits(reading, animals, seen, herd)),
        tuple(animals[row] for row in contradicting if own[row]),
        int((own & np.isnan(dose.chances[:, 0])).sum()),
    )


def _weighed(
    reading: Reading, dose: Dose, seen: Sequence[Seen], herd: Herd
) -> tuple[tuple[WrongSire, ...], tuple[WrongLook, ...]]:
    written = Litter.objects.filter(herd=herd, sires__isnull=False).distinct().with_family()
    litters = {litter.pk: litter for litter in written}
    looks = [[look for _, look in row] for row in seen]
    sires, misread = [], []
    for kind, number, place, chance in doubts(reading.assumed, dose, looks):
        if chance < WORTH_A_LOOK:
            break
        if kind == "sire" and reading.litter_keys[number] in litters:
            sires.append(WrongSire(litters[reading.litter_keys[number]], chance))
        elif kind == "look":
            look = seen[number][place][0]
            if look is not None and look.herd_id == herd.pk:
                misread.append(WrongLook(look, chance))
    return tuple(sires), tuple(misread)


def _looks_behind(reading: Reading, animals: Sequence[Animal]) -> list[Seen]:
    looks: dict[int, list[Look]] = defaultdict(list)
    for look in Look.objects.select_related("animal").order_by("on", "pk"):
        looks[look.animal_id].append(look)
    founders = (reading.assumed.litter_of == -1) | reading.assumed.without_parents()
    return [
        looks_behind(animal, looks[animal.pk], founder=bool(founder))
        for animal, founder in zip(animals, founders, strict=True)
    ]


def _dose(reading: Reading) -> tuple[Dose, tuple[int, ...]]:
    """The doses, and the animals whose records contradict each other: those are reckoned as if
    nothing had been seen in their families, which are then left out."""
    likelihood, blamed = reading.likelihood, ()
    try:
        return _reckoned(reading, likelihood), blamed
    except Impossible as impossible:
        blamed = impossible.animals
    families = (row for row in reading.assumed.families() if set(row) & set(blamed))
    lost = [animal for family in families for animal in family]
    likelihood = likelihood.copy()
    likelihood[lost] = 1.0
    dose = _reckoned(reading, likelihood)
    chances = dose.chances.copy()
    chances[lost] = np.nan
    shares = {
        litter: share
        for litter, share in dose.sire_shares.items()
        if not set(reading.assumed.litters[litter].pups) & set(lost)
    }
    return replace(dose, chances=chances, sire_shares=shares), blamed


def _reckoned(reading: Reading, likelihood: NDArray[np.float64]) -> Dose:
    return reckon_dose(
        reading.assumed,
        likelihood,
        frequency=FREQUENCY,
        errors=ERRORS,
        founder_prior=reading.founder_prior,
    )


def _misfits(reading: Reading, animals: Sequence[Animal], seen: Sequence[Seen], herd: Herd):
    genes = {
        "points": [_points(animal, row) for animal, row in zip(animals, seen, strict=True)],
        "chocolate": [_chocolate(animal) for animal in animals],
        "red": [_red(animal) for animal in animals],
    }
    for gene, allowed in genes.items():
        for _, pup, parents in misfits(reading.recorded, np.array(allowed, dtype=bool)):
            if animals[pup].herd_id == herd.pk:
                yield CannotBe(gene, animals[pup], tuple(animals[row] for row in parents))


def _points(animal: Animal, seen: Seen) -> tuple[bool, ...]:
    """By the last look, if it was late enough; else by what the animal was bought as."""
    if seen:
        last = seen[-1][1]
        stage, grown = last.stage, last.age_days >= JUDGED_SELF_DAYS
        if stage == Stage.OVERMARKED:
            return _DOUBLED
        if stage == Stage.NONE:
            return _NONE if grown else _ANY
        return _ONE if grown and stage == Stage.FULL else _MARKED
    bought = {BoughtAs.SELF: _NONE, BoughtAs.MARKED: _MARKED, BoughtAs.OVERMARKED: _DOUBLED}
    return bought.get(animal.bought_as, _ANY)


def _chocolate(animal: Animal) -> tuple[bool, ...]:
    if animal.point_colour == PointColour.CHOCOLATE or animal.coat == Coat.CHOCOLATE:
        return _DOUBLED
    if animal.point_colour == PointColour.BLACK or animal.coat == Coat.BLACK:
        return _FEWER
    return _ANY


def _red(animal: Animal) -> tuple[bool, ...]:
    if animal.coat in _RED:
        return _DOUBLED
    return _FEWER if animal.coat in _DARK else _ANY
