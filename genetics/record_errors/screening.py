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
from genetics.core.exceptions import PedigreeError
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.penetrance.observation import Observation
from genetics.core.posterior.dose import Dose, InconsistentEvidenceError, solve_problem
from genetics.core.record_errors.alternative_parents import (
    AlternativeParents,
    dam_suspects,
    sire_suspects,
    with_other_dams,
)
from genetics.core.record_errors.error_posterior import Doubt, doubts, looks_of_another
from genetics.figures.refresh import ERRORS, engine, recomputed_at_once
from genetics.models import Job, WeighedRecords
from genetics.record_errors.colours import Shown, by_colours_too, compute_shown, wrong_colours
from genetics.record_errors.impossible_pups import Seen, misfits_of
from genetics.record_errors.results import (
    Doubts,
    MendelianInconsistency,
    TakenForEachOther,
    WrongLook,
    WrongLooks,
    WrongParent,
    as_plain,
    from_plain,
)
from genetics.snapshot.conception import boars_that_were_there
from genetics.snapshot.kept import book_revision
from genetics.snapshot.reading import Reading, looks_behind, read_book
from herdbook.book.models import Animal, Herd, Litter, Look
from herdbook.book.models.animal import Sex
from herdbook.book.models.litter import Source

# A record less doubtful than this is nothing to trouble a keeper with.
WORTH_A_LOOK = 0.05

# A parent this doubtful is weighed against all others that might have been there.
WORTH_ASKING = 0.01
# So many litters at most are weighed so, the most doubtful first: each is a calculation of its own.
MOST_ASKED = 25
# How often a litter is written to another sow than its dam: sows that litter in one pen steal
# pups, and pen cards are mixed up (common practice, no source). Half of it falls to sows that
# littered beside her, as with sires.
WRONG_DAMS = 0.002
# Pups of sows that littered so close to each other are hard to tell apart by age.
BESIDE_DAYS = 5


def doubts_of(herd: Herd) -> tuple[Doubts | None, Job | None]:
    """The doubtful records of a herd as the book stands, or the job that is weighing them.

    A job that has just failed is given back as it is.
    """
    mark = {"revision": book_revision(), "engine": engine()}
    kept = WeighedRecords.objects.filter(herd=herd, **mark).first()
    if kept is not None:
        return from_plain(kept.found), None
    if not recomputed_at_once():
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
    except PedigreeError as fault:
        return Doubts(faults=tuple(one.message for one in fault.faults))
    if not len(reading):
        return Doubts()
    animals = list(Animal.objects.select_related("litter__dam").order_by("pk"))
    seen = _looks_behind(reading, animals)
    case, dose, contradicting = _dose(reading)
    own = np.array([animal.herd_id == herd.pk for animal in animals])
    shown = compute_shown(reading, errors=ERRORS)
    weighed = _Weighed(reading, case, dose, shown, animals, herd)
    looks = [[look for _, look in row] for row in seen]
    chances = doubts(reading.assumed, dose, looks, curves=reading.parameters.curves)
    chances = by_colours_too(chances, shown, errors=ERRORS)
    unfit = tuple(misfits_of(reading, animals, seen, herd))
    dams = tuple(weighed.dams(chances, unfit))
    by_look, by_animal = weighed.looks(looks, chances)
    return Doubts(
        tuple(weighed.sires(chances)),
        dams,
        tuple(_misread(by_look, by_animal, seen, herd)),
        tuple(_all_of_another(by_animal, animals, seen, herd)),
        tuple(_taken_for_each_other(chances, animals, herd)),
        tuple(wrong_colours(shown, animals, own, WORTH_A_LOOK)),
        unfit,
        tuple(animals[row] for row in contradicting if own[row]),
        unweighed=int((own & np.isnan(dose.chances[:, 0])).sum()),
        approximate=int((own & (dose.error > 0)).sum()),
    )


class _Weighed:
    """The litters of a herd with what the calculation made of them."""

    def __init__(
        self,
        reading: Reading,
        case: PosteriorProblem,
        dose: Dose,
        shown: Sequence[Shown],
        animals: Sequence[Animal],
        herd: Herd,
    ) -> None:
        self.reading, self.case, self.dose, self.animals = reading, case, dose, animals
        self.shown = shown
        self.doubted_dams: dict[int, tuple[Sequence[int], Sequence[float]]] = {}
        self.boars = [one for one in animals if one.herd_id == herd.pk and one.sex == Sex.BOAR]
        written = Litter.objects.filter(herd=herd).with_family()
        self.litters = {litter.pk: litter for litter in written}

    def sires(self, chances: Sequence[Doubt]) -> Iterator[WrongParent]:
        """Each written sire worth a look, the most doubtful first."""
        asked = [doubt for doubt in chances if doubt.kind == "sire"]
        own = [(doubt, litter) for doubt in asked if (litter := self._litter(doubt.number))]
        found = [
            self._wrong_sire(doubt, litter, ask=place < MOST_ASKED and doubt.chance >= WORTH_ASKING)
            for place, (doubt, litter) in enumerate(own)
        ]
        yield from _worth_a_look(found)

    def dams(
        self, chances: Sequence[Doubt], unfit: Sequence[MendelianInconsistency]
    ) -> Iterator[WrongParent]:
        """Each dam worth a look, of litters that something speaks against, the most doubtful first;
        that plainly does, where no other sow littered then."""
        plainly = set(self._odd(chances, unfit, WORTH_A_LOOK))
        asked = [
            (number, litter)
            for number, litter in self._odd(chances, unfit, WORTH_ASKING).items()
            if _dam_is_ours(litter) and (number in plainly or self._sows_beside(litter))
        ]
        found = [self._wrong_dam(number, litter) for number, litter in asked[:MOST_ASKED]]
        yield from _worth_a_look(one for one in found if one is not None)

    def _litter(self, number: int) -> Litter | None:
        return self.litters.get(self.reading.litter_keys[number])

    def _wrong_sire(self, doubt: Doubt, litter: Litter, *, ask: bool) -> WrongParent:
        if not ask:
            return WrongParent(litter, doubt.chance)
        there = [boar for boar, _ in boars_that_were_there(litter, litter.dam, self.boars)]
        others = self._possible(doubt.number, there)
        alternative_parents = sire_suspects(self._cases(doubt.number), doubt.number, others, ERRORS)
        return self._parent(litter, others, alternative_parents) or WrongParent(
            litter, doubt.chance
        )

    def _wrong_dam(self, number: int, litter: Litter) -> WrongParent | None:
        others = self._possible(number, self._sows_beside(litter))
        alternative_parents = dam_suspects(self._cases(number), number, others, WRONG_DAMS)
        if alternative_parents is not None and alternative_parents.wrong >= WORTH_A_LOOK:
            self.doubted_dams[number] = others, alternative_parents.weights
        return self._parent(litter, others, alternative_parents)

    def looks(
        self, looks: Sequence[Sequence[Observation]], chances: Sequence[Doubt]
    ) -> tuple[list[Doubt], dict[int, float]]:
        """The chance that each look is wrong, and that an animal's are all another's, where the
        dams that are worth a look may be wrong too: a slip is not told at both in full."""
        case, dose = self.case, self.dose
        curves = self.reading.parameters.curves
        if self.doubted_dams:
            wider = with_other_dams(self.case, self.doubted_dams)
            reckoned = solve_problem(wider, asked=())
            told = ~np.isnan(reckoned.chances[: len(looks), 0]) | np.isnan(dose.chances[:, 0])
            if told.all():
                case, dose = wider, reckoned
                looks = [*looks, *([] for _ in self.doubted_dams)]
                chances = doubts(case.pedigree, dose, looks, curves=curves)
        by_look = [doubt for doubt in chances if doubt.kind == "look"]
        return by_look, looks_of_another(case.pedigree, dose, looks, curves=curves)

    def _cases(self, number: int) -> list[PosteriorProblem]:
        """The doses, and each gene of which the looks of a litter's pups say something."""
        pups = self.reading.assumed.litters[number].pups
        return [self.case, *(one.case for one in self.shown if one.noted[list(pups)].any())]

    def _parent(
        self, litter: Litter, others: Sequence[int], alternative_parents: AlternativeParents | None
    ) -> WrongParent | None:
        if alternative_parents is None:
            return None
        ranked = sorted(
            zip(others, alternative_parents.others, strict=True), key=lambda one: -one[1]
        )
        named = tuple((self.animals[row], chance) for row, chance in ranked)
        return WrongParent(litter, alternative_parents.wrong, named)

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

    def _odd(
        self, chances: Sequence[Doubt], unfit: Sequence[MendelianInconsistency], worth: float
    ) -> dict[int, Litter]:
        """The litters of the herd that something speaks against, by number, with a chance of at
        least `worth` where it is no plain contradiction; the most doubtful first."""
        pups = [self.reading.place[misfit.pup.pk] for misfit in unfit]
        doubtful = [doubt for doubt in chances if doubt.chance >= worth]
        pups += [doubt.number for doubt in doubtful if doubt.kind == "look"]
        odd = [doubt.number for doubt in doubtful if doubt.kind == "sire"]
        odd += [int(self.reading.assumed.litter_of[pup]) for pup in pups]
        return {
            number: litter
            for number in odd
            if number != -1
            and (litter := self._litter(number))
            and not self._without_figure(number)
        }

    def _without_figure(self, number: int) -> bool:
        litter = self.reading.assumed.litters[number]
        return bool(np.isnan(self.dose.chances[(litter.pups + litter.candidates)[0], 0]))

    def _sows_beside(self, litter: Litter) -> list[int]:
        """The sows of the herd that littered when this litter was born, but for its dam."""
        if litter.born is None:
            return []
        near = timedelta(days=BESIDE_DAYS)
        # A sow of two litters, each born on a day known in part, littered beside it once.
        beside = dict.fromkeys(
            other.dam_id
            for other in self.litters.values()
            if other.source == Source.HOME
            and other.dam_id is not None
            and other.dam_id != litter.dam_id
            if other.born is not None
            and other.born.earliest - near <= litter.born.latest
            and litter.born.earliest <= other.born.latest + near
        )
        return list(beside)


def _dam_is_ours(litter: Litter) -> bool:
    """Whether a litter was born here, of a dam that is written."""
    return litter.source == Source.HOME and litter.dam_id is not None


def _worth_a_look(found: Iterable[WrongParent]) -> list[WrongParent]:
    worth = [one for one in found if one.chance >= WORTH_A_LOOK]
    return sorted(worth, key=lambda one: -one.chance)


def _misread(
    by_look: Sequence[Doubt], by_animal: dict[int, float], seen: Sequence[Seen], herd: Herd
) -> Iterator[WrongLook]:
    """The looks that are likely wrong, of several at one animal each by itself."""
    for doubt in by_look:
        look = seen[doubt.number][doubt.look][0]
        several = len(_own_looks(seen[doubt.number], herd)) > 1
        chance = doubt.chance - (by_animal[doubt.number] if several else 0.0)
        if chance >= WORTH_A_LOOK and look is not None and look.herd_id == herd.pk:
            yield WrongLook(look, chance)


def _all_of_another(
    by_animal: dict[int, float], animals: Sequence[Animal], seen: Sequence[Seen], herd: Herd
) -> Iterator[WrongLooks]:
    """The animals whose several looks are likely another's, which is one slip."""
    for row, chance in sorted(by_animal.items(), key=lambda one: -one[1]):
        looks = _own_looks(seen[row], herd)
        if chance >= WORTH_A_LOOK and len(looks) > 1:
            yield WrongLooks(animals[row], len(looks), chance)


def _own_looks(seen: Seen, herd: Herd) -> list[Look]:
    return [look for look, _ in seen if look is not None and look.herd_id == herd.pk]


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


def _dose(reading: Reading) -> tuple[PosteriorProblem, Dose, tuple[int, ...]]:
    """What was worked out with, the doses, and the animals whose records contradict each other:
    those are worked out as if nothing had been seen in their families, which are then left out."""
    try:
        return (*_computed(reading, reading.likelihood), ())
    except InconsistentEvidenceError as impossible:
        blamed = impossible.animals
    families = (row for row in reading.assumed.families() if set(row) & set(blamed))
    lost = [animal for family in families for animal in family]
    likelihood = reading.likelihood.copy()
    likelihood[lost] = 1.0
    case, dose = _computed(reading, likelihood)
    chances = dose.chances.copy()
    chances[lost] = np.nan
    shares = {
        litter: share
        for litter, share in dose.sire_shares.items()
        if not set(reading.assumed.litters[litter].pups) & set(lost)
    }
    return case, replace(dose, chances=chances, sire_shares=shares), blamed


def _computed(reading: Reading, likelihood: NDArray[np.float64]) -> tuple[PosteriorProblem, Dose]:
    frequency = reading.parameters.frequency
    case = PosteriorProblem.of(
        reading.assumed, likelihood, frequency, ERRORS, reading.founder_prior, BUDGET
    )
    return case, solve_problem(case, asked=())
