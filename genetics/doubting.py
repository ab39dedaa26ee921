"""Which records of a herd to doubt, as plain data for a page to word.

A herd is weighed while the page waits, a large book as a job; what came out is kept until the book
or the engine moves on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
from django.utils import timezone
from numpy.typing import NDArray

from genetics import jobs
from genetics.appearance import words_of
from genetics.asking import JUDGED_SELF_DAYS
from genetics.conception import boars_that_were_there
from genetics.core.case import BUDGET, Case
from genetics.core.dose import Dose, Impossible, reckon_case
from genetics.core.doubt import Doubt, doubts, misfits
from genetics.core.loci import Gene, genes
from genetics.core.pedigree import PedigreeFault
from genetics.core.seen import SeenLook
from genetics.core.suspects import Suspects, dam_suspects, sire_suspects
from genetics.doubting_colours import Shown, by_colours_too, reckon_shown, wrong_colours
from genetics.doubts_kept import (
    CannotBe,
    Doubts,
    Showed,
    TakenForEachOther,
    WrongLook,
    WrongParent,
    as_plain,
    from_plain,
)
from genetics.figures import ERRORS, book_revision, engine, reckoned_again_at_once
from genetics.models import Job, WeighedRecords
from genetics.reading import Reading, looks_behind, read_book
from herdbook.book.models import Animal, Herd, Litter, Look
from herdbook.book.models.animal import BoughtAs, Sex
from herdbook.book.models.litter import Source
from herdbook.book.models.look import Stage

# A record less doubtful than this is nothing to trouble a keeper with.
WORTH_A_LOOK = 0.05

# A parent this doubtful is weighed against all others that might have been there.
WORTH_ASKING = 0.01
# So many litters at most are weighed so, the most doubtful first: each is a reckoning of its own.
MOST_ASKED = 25
# How often a litter is written to another sow than its dam: sows that litter in one pen steal
# pups, and pen cards are mixed up (common practice, no source).
WRONG_DAMS = 0.002
# Pups of sows that littered so close to each other are hard to tell apart by age.
BESIDE_DAYS = 5

Seen = list[tuple[Look | None, SeenLook]]

# Genotypes that an appearance leaves open, by the count of the allele in question.
_ANY, _NONE, _ONE, _TWO = (True,) * 3, (True, False, False), (False, True, False), (False,) * 2
_MARKED, _DOUBLED, _FEWER = (False, True, True), (*_TWO, True), (True, True, False)
# The recessives that words tell: who shows one has it doubled, who shows another has not.
_RECESSIVE = ("chocolate", "extension", "pink eye", "satin", "rex", "long coat")


def doubts_of(herd: Herd) -> tuple[Doubts | None, Job | None]:
    """The doubtful records of a herd as the book stands, or the job that is weighing them.

    A job that has just failed is given back as it is.
    """
    mark = {"revision": book_revision(), "engine": engine()}
    kept = WeighedRecords.objects.filter(herd=herd, **mark).first()
    if kept is not None:
        return from_plain(kept.found), None
    if not reckoned_again_at_once():
        kind = f"weigh the records of herd {herd.pk}"
        job = jobs.just_failed(kind) or jobs.start(kind, lambda job: _keep(herd), once=True)
        return None, job
    return _keep(herd), None


def _keep(herd: Herd) -> Doubts:
    """Weigh a herd and keep what came out under the revision that was read."""
    mark = {"revision": book_revision(), "engine": engine()}
    found = weigh(herd)
    WeighedRecords.objects.update_or_create(
        herd=herd, defaults={**mark, "found": as_plain(found), "made_at": timezone.now()}
    )
    return found


def weigh(herd: Herd) -> Doubts:
    """The doubtful records of a herd, weighed by the whole book."""
    try:
        reading = read_book(colours={})
    except PedigreeFault as fault:
        return Doubts(faults=tuple(one.message for one in fault.faults))
    if not len(reading):
        return Doubts()
    animals = list(Animal.objects.select_related("litter__dam").order_by("pk"))
    seen = _looks_behind(reading, animals)
    case, dose, contradicting = _dose(reading)
    own = np.array([animal.herd_id == herd.pk for animal in animals])
    shown = reckon_shown(reading, errors=ERRORS)
    weighed = _Weighed(reading, case, dose, shown, animals, herd)
    looks = [[look for _, look in row] for row in seen]
    chances = doubts(reading.assumed, dose, looks, curves=reading.parameters.curves)
    chances = by_colours_too(chances, shown, errors=ERRORS)
    unfit = tuple(_misfits(reading, animals, seen, herd))
    return Doubts(
        tuple(weighed.sires(chances)),
        tuple(weighed.dams(chances, unfit)),
        tuple(_misread(chances, seen, herd)),
        tuple(_taken_for_each_other(chances, animals, herd)),
        tuple(wrong_colours(shown, animals, own, WORTH_A_LOOK)),
        unfit,
        tuple(animals[row] for row in contradicting if own[row]),
        unweighed=int((own & np.isnan(dose.chances[:, 0])).sum()),
        approximate=int((own & (dose.error > 0)).sum()),
    )


class _Weighed:
    """The litters of a herd with what the reckoning made of them."""

    def __init__(
        self,
        reading: Reading,
        case: Case,
        dose: Dose,
        shown: Sequence[Shown],
        animals: Sequence[Animal],
        herd: Herd,
    ) -> None:
        self.reading, self.case, self.dose, self.animals = reading, case, dose, animals
        self.shown = shown
        self.boars = [one for one in animals if one.herd_id == herd.pk and one.sex == Sex.BOAR]
        written = Litter.objects.filter(herd=herd).with_family()
        self.litters = {litter.pk: litter for litter in written}

    def sires(self, chances: Sequence[Doubt]) -> Iterator[WrongParent]:
        """Each written sire worth a look, the most doubtful first."""
        asked = [doubt for doubt in chances if doubt.kind == "sire"]
        own = [doubt for doubt in asked if self._litter(doubt.number) is not None]
        found = [
            self._wrong_sire(doubt, ask=place < MOST_ASKED and doubt.chance >= WORTH_ASKING)
            for place, doubt in enumerate(own)
        ]
        yield from _worth_a_look(found)

    def dams(self, chances: Sequence[Doubt], unfit: Sequence[CannotBe]) -> Iterator[WrongParent]:
        """Each dam worth a look, of litters that something speaks against, the most doubtful
        first."""
        numbers = [number for number in self._odd(chances, unfit) if self._sows_beside(number)]
        found = [self._wrong_dam(number) for number in numbers[:MOST_ASKED]]
        yield from _worth_a_look(one for one in found if one is not None)

    def _litter(self, number: int) -> Litter | None:
        return self.litters.get(self.reading.litter_keys[number])

    def _wrong_sire(self, doubt: Doubt, *, ask: bool) -> WrongParent:
        litter = self._litter(doubt.number)
        if not ask:
            return WrongParent(litter, doubt.chance)
        there = [boar for boar, _ in boars_that_were_there(litter, litter.dam, self.boars)]
        others = self._possible(doubt.number, there)
        suspects = sire_suspects(self._cases(doubt.number), doubt.number, others, ERRORS)
        return self._parent(litter, others, suspects) or WrongParent(litter, doubt.chance)

    def _wrong_dam(self, number: int) -> WrongParent | None:
        others = self._possible(number, self._sows_beside(number))
        if not others:
            return None
        suspects = dam_suspects(self._cases(number), number, others, WRONG_DAMS)
        return self._parent(self._litter(number), others, suspects)

    def _cases(self, number: int) -> list[Case]:
        """The doses, and each gene of which the looks of a litter's pups say something."""
        pups = self.reading.assumed.litters[number].pups
        return [self.case, *(one.case for one in self.shown if one.noted[list(pups)].any())]

    def _parent(
        self, litter: Litter, others: Sequence[int], suspects: Suspects | None
    ) -> WrongParent | None:
        if suspects is None:
            return None
        ranked = sorted(zip(others, suspects.others, strict=True), key=lambda one: -one[1])
        named = tuple((self.animals[row], chance) for row, chance in ranked)
        return WrongParent(litter, suspects.wrong, named)

    def _possible(self, number: int, keys: Iterable[int]) -> list[int]:
        """Rows of animals that are not named as a parent yet, nor descend from the pups."""
        litter = self.reading.assumed.litters[number]
        rows = [self.reading.place[key] for key in keys]
        return [
            row
            for row in rows
            if row not in litter.candidates
            and not set(litter.pups) & set(self.reading.assumed.ancestry([row]).tolist())
        ]

    def _odd(self, chances: Sequence[Doubt], unfit: Sequence[CannotBe]) -> list[int]:
        """The litters of the herd that something speaks against, the most doubtful first."""
        pups = [self.reading.place[misfit.pup.pk] for misfit in unfit]
        pups += [
            doubt.number
            for doubt in chances
            if doubt.kind == "look" and doubt.chance >= WORTH_ASKING
        ]
        odd = [
            doubt.number
            for doubt in chances
            if doubt.kind == "sire" and doubt.chance >= WORTH_ASKING
        ]
        odd += [int(self.reading.assumed.litter_of[pup]) for pup in pups]
        return [
            number
            for number in dict.fromkeys(odd)
            if number != -1
            and self._litter(number) is not None
            and not self._without_figure(number)
        ]

    def _without_figure(self, number: int) -> bool:
        litter = self.reading.assumed.litters[number]
        return bool(np.isnan(self.dose.chances[(litter.pups + litter.candidates)[0], 0]))

    def _sows_beside(self, number: int) -> list[int]:
        """The sows of the herd that littered when this litter was born, but for its dam."""
        litter = self._litter(number)
        if litter.source != Source.HOME or litter.born is None or litter.dam_id is None:
            return []
        near = timedelta(days=BESIDE_DAYS)
        # A sow of two litters, each born on a day known in part, littered beside it once.
        beside = dict.fromkeys(
            other.dam_id
            for other in self.litters.values()
            if other.source == Source.HOME and other.dam_id not in (None, litter.dam_id)
            if other.born is not None
            and other.born.earliest - near <= litter.born.latest
            and litter.born.earliest <= other.born.latest + near
        )
        return list(beside)


def _worth_a_look(found: Iterable[WrongParent]) -> list[WrongParent]:
    worth = [one for one in found if one.chance >= WORTH_A_LOOK]
    return sorted(worth, key=lambda one: -one.chance)


def _misread(chances: Sequence[Doubt], seen: Sequence[Seen], herd: Herd) -> Iterator[WrongLook]:
    for doubt in chances:
        if doubt.chance < WORTH_A_LOOK:
            break
        if doubt.kind == "look":
            look = seen[doubt.number][doubt.look][0]
            if look is not None and look.herd_id == herd.pk:
                yield WrongLook(look, doubt.chance)


def _taken_for_each_other(
    chances: Sequence[Doubt], animals: Sequence[Animal], herd: Herd
) -> Iterator[TakenForEachOther]:
    for doubt in chances:
        if doubt.kind == "mix-up" and doubt.chance >= WORTH_A_LOOK:
            first, second = animals[doubt.number], animals[doubt.look]
            if first.herd_id == herd.pk:
                yield TakenForEachOther(first, second, doubt.chance)


def _looks_behind(reading: Reading, animals: Sequence[Animal]) -> list[Seen]:
    looks: dict[int, list[Look]] = defaultdict(list)
    for look in Look.objects.select_related("animal").order_by("on", "pk"):
        looks[look.animal_id].append(look)
    founders = (reading.assumed.litter_of == -1) | reading.assumed.without_parents()
    return [
        looks_behind(animal, looks[animal.pk], founder=bool(founder))
        for animal, founder in zip(animals, founders, strict=True)
    ]


def _dose(reading: Reading) -> tuple[Case, Dose, tuple[int, ...]]:
    """What was reckoned with, the doses, and the animals whose records contradict each other:
    those are reckoned as if nothing had been seen in their families, which are then left out."""
    try:
        return (*_reckoned(reading, reading.likelihood), ())
    except Impossible as impossible:
        blamed = impossible.animals
    families = (row for row in reading.assumed.families() if set(row) & set(blamed))
    lost = [animal for family in families for animal in family]
    likelihood = reading.likelihood.copy()
    likelihood[lost] = 1.0
    case, dose = _reckoned(reading, likelihood)
    chances = dose.chances.copy()
    chances[lost] = np.nan
    shares = {
        litter: share
        for litter, share in dose.sire_shares.items()
        if not set(reading.assumed.litters[litter].pups) & set(lost)
    }
    return case, replace(dose, chances=chances, sire_shares=shares), blamed


def _reckoned(reading: Reading, likelihood: NDArray[np.float64]) -> tuple[Case, Dose]:
    frequency = reading.parameters.frequency
    case = Case.of(reading.assumed, likelihood, frequency, ERRORS, reading.founder_prior, BUDGET)
    return case, reckon_case(case, asked=())


def _misfits(reading: Reading, animals: Sequence[Animal], seen: Sequence[Seen], herd: Herd):
    words = [words_of(animal) for animal in animals]
    by_gene = {
        "points": [_points(animal, row) for animal, row in zip(animals, seen, strict=True)],
        **{key: [_doubled(genes()[key], said) for said in words] for key in _RECESSIVE},
    }
    for gene, allowed in by_gene.items():
        for _, pup, parents in misfits(reading.recorded, np.array(allowed, dtype=bool)):
            if animals[pup].herd_id == herd.pk:
                rows = (pup, *parents) if gene == "points" else ()
                yield CannotBe(
                    gene,
                    animals[pup],
                    tuple(animals[row] for row in parents),
                    tuple(_showed(animals[row], seen[row]) for row in rows),
                )


def _showed(animal: Animal, seen: Seen) -> Showed | None:
    """What `_points` goes by."""
    look = seen[-1][0] if seen else None
    if look is not None:
        return Showed(look.stage, look.on)
    return Showed(animal.bought_as) if animal.bought_as else None


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


def _doubled(gene: Gene, words: dict[str, set[str]]) -> tuple[bool, ...]:
    said = gene.said(words)
    if said is None:
        return _ANY
    shown = gene.classes.index(str(gene.shown))
    if said == (shown,):
        return _DOUBLED
    return _ANY if shown in said else _FEWER
