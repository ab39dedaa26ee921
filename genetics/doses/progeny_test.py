"""What proves an animal's dose, and what would settle it, as plain data for a page to word."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from genetics.core.decisions.progeny_test import Proof, Trial, judging, prove
from genetics.core.decisions.waiting import WEEK_DAYS, Weeks, weeks_unmarked
from genetics.core.exceptions import PedigreeError
from genetics.core.inheritance.mendel import hardy_weinberg
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import (
    Dose,
    InconsistentEvidenceError,
    solve_animal,
    solve_problem,
)
from genetics.figures.refresh import ERRORS
from genetics.models import Figure
from genetics.snapshot.parameters import current_parameters
from genetics.snapshot.reading import Reading, looks_that_count, read_book
from herdbook.book.models import Animal, Look
from herdbook.book.models.animal import Sex
from herdbook.book.models.look import Stage

# From this age an unmarked red-series animal is judged a self: points are full at three to five
# months (common practice, no source).
JUDGED_SELF_DAYS = 150

# Nobody waits longer than this for points.
WAITED_DAYS = 182
# Nobody breeds more pups than this to settle a dose.
PUPS_TO_PROVE = 24
LEVELS = (0.95, 0.99)
# A dose with less chance than this is not worth proving.
POSSIBLE = 0.05
# From this chance on a mate's dose counts as known, when its young are told of.
MATE_KNOWN = 0.9

_TOO_YOUNG = "too young"


@dataclass(frozen=True)
class JudgedYoung:
    """How many young of an animal were judged, and as what.

    ``mates_dose`` is the dose of all the mates that they are from, where each has one and the same
    with a chance of ``MATE_KNOWN`` or more; else None.
    """

    selfs: int
    marked: int
    overmarked: int
    mates_dose: int | None = None

    @property
    def total(self) -> int:
        return self.selfs + self.marked + self.overmarked


def proved_by_young(animal: Animal, dose: int, chance: float) -> bool:
    """Whether an animal's young prove its dose: it reaches ``chance`` with them and without what
    the animal has shown or was bought as, and does not reach it when its young are left out too.

    Wrong records are allowed for, and what a figure that is not exact may be off by. Two
    calculations of the family; False where none can be made.
    """
    reading = _reading()
    row = None if reading is None else reading.place.get(animal.pk)
    if reading is None or row is None:
        return False
    prior = reading.founder_prior.copy()
    prior[row] = np.nan
    frequency = reading.parameters.frequency
    case = PosteriorProblem.of(
        reading.assumed, reading.likelihood, frequency, ERRORS, prior, BUDGET
    )
    by_family = case.without_evidence_of([row])
    descendants = _descendants(reading, row)
    counted = [
        number
        for number, litter in enumerate(reading.assumed.litters)
        if {row, *descendants} & set(litter.candidates)
    ]
    by_parents = case.without_evidence_of([row, *descendants], counted)
    try:
        with_young, without = (solve_animal(one, row) for one in (by_family, by_parents))
    except InconsistentEvidenceError:
        return False
    least = with_young.chances[row, dose] - with_young.error[row]
    most = without.chances[row, dose] + without.error[row]
    return bool(least >= chance > most)


def _descendants(reading: Reading, row: int) -> list[int]:
    """All that may come from an animal, as rows."""
    found: set[int] = set()
    waiting = [row]
    while waiting:
        parent = waiting.pop()
        for litter in reading.assumed.litters:
            if parent in litter.candidates:
                new = set(litter.pups) - found
                found |= new
                waiting.extend(new)
    return sorted(found)


def judged_young(animal: Animal) -> JudgedYoung:
    """Count the young of an animal by the last look at each; only those surely its own.

    An unmarked pup counts as a self from five months on, and not before.
    """
    young = Animal.objects.filter(litter__dam=animal) | Animal.objects.filter(
        litter__sires__boar=animal
    )
    counts: Counter[str] = Counter()
    mates: set[int | None] = set()
    for pup in young.distinct().select_related("litter").prefetch_related("litter__sires", "looks"):
        surely = pup.litter.dam_id == animal.pk or len(pup.litter.sires.all()) == 1
        looks = list(pup.looks.all())
        if surely and looks and pup.shows_points:
            judged = _judged(pup, looks[-1])
            counts[judged] += 1
            if judged != _TOO_YOUNG:
                mates.add(_mate_key(pup, animal))
    return JudgedYoung(counts["self"], counts["marked"], counts["overmarked"], _dose_of_all(mates))


def _mate_key(pup: Animal, animal: Animal) -> int | None:
    """The key of a pup's other parent; None where it is not known for sure."""
    if pup.litter.dam_id != animal.pk:
        return pup.litter.dam_id
    boars = [candidate.boar_id for candidate in pup.litter.sires.all()]
    return boars[0] if len(boars) == 1 else None


def _dose_of_all(mates: set[int | None]) -> int | None:
    """The one dose that all of these surely have, if they do."""
    figures = Figure.objects.filter(animal__in=mates - {None})
    sure = [
        figure.likeliest
        for figure in figures
        if figure.chances is not None and max(figure.chances) >= MATE_KNOWN
    ]
    return sure[0] if len(sure) == len(mates) and len(set(sure)) == 1 else None


@dataclass(frozen=True)
class Mating:
    """What a mate whose own dose is proved would prove of an animal."""

    mate_dose: int
    proof: Proof


def proof_of(animal: Animal) -> tuple[Mating, ...]:
    """Each dose that the animal may have and has not been proved to, at each of ``LEVELS``, by
    each kind of mate; none where no figure could be made or its sex is not known.

    Its pups are judged when grown, with the book's own rates of slips, and each as one of another
    litter: several of one litter, who share a wrong sire, say a little less. The figures are to be
    up to date.
    """
    chances = _figure_of(animal)
    if chances is None or not animal.sex:
        return ()
    frequency = current_parameters().parameters.frequency
    found = []
    for mate_dose in range(3):
        pups = Trial.with_many_litters(
            chances,
            np.tile(np.eye(3)[mate_dose], (3, 1)),
            judging(),
            errors=ERRORS,
            pool=hardy_weinberg(np.array([1 - frequency, frequency])),
            as_sire=animal.sex == Sex.BOAR,
        )
        found += [
            Mating(mate_dose, prove(pups, dose, level, PUPS_TO_PROVE))
            for dose in range(3)
            for level in LEVELS
            if POSSIBLE <= chances[dose] < level
        ]
    return tuple(found)


def weeks_of(animal: Animal, today: date) -> Weeks | None:
    """The chances of a pup that has shown no points, as it stands, at a look today if it had none,
    and at a look each week from now on.

    None for one that has shown points or hides them, is older than ``WAITED_DAYS`` or of unknown
    age, or has no figure; the figures are to be up to date.
    """
    chances, age = _figure_of(animal), animal.age_days(today)
    if chances is None or age is None or not 0 <= age <= WAITED_DAYS or not animal.shows_points:
        return None
    # A pup is bred here or bought with its papers: what it was bought as then is one more look.
    looks = looks_that_count(animal, list(animal.looks.order_by("on", "pk")), founder=False)
    if any(look.stage != Stage.NONE for look in looks):
        return None
    current = current_parameters().parameters
    before = _before_its_looks(animal)
    if before is None:
        return None
    prior, behind = before
    oldest = max([age, *(look.age_days for look in looks)])
    later = range(age + WEEK_DAYS, WAITED_DAYS + WEEK_DAYS, WEEK_DAYS)
    seen_today = any(look.age_days >= age for look in looks)
    coming = [*later] if seen_today else [age, *later]
    return weeks_unmarked(prior, looks, oldest, coming, behind=behind, curves=current.curves)


def _before_its_looks(
    animal: Animal,
) -> tuple[NDArray[np.float64], NDArray[np.float64] | None] | None:
    """Chances (3,) of an animal's dose by all records but its own looks, and of whose looks they
    may be as `weeks_unmarked` takes them; None where there are none."""
    reading = _reading()
    row = None if reading is None else reading.place.get(animal.pk)
    if reading is None or row is None:
        return None
    dose = _as_if_seen(reading, row, reading.given[row])
    if dose is None or np.isnan(dose.chances[row, 0]):
        return None
    number = int(reading.assumed.litter_of[row])
    mix_ups = () if number == -1 else reading.assumed.litters[number].mix_ups
    mixed = any(row in pair[:2] for pair in mix_ups)
    return dose.chances[row], _whose_looks(reading, row) if mixed else None


def _whose_looks(reading: Reading, row: int) -> NDArray[np.float64] | None:
    """Given a pup's dose (rows), the chances (3, 3) of that of the pup whose record its own is.

    The chance of all records is linear in one row of them: the record is made to say each dose in
    turn. None where no chance of all records can be had.
    """
    said = [_as_if_seen(reading, row, one) for one in np.eye(3)]
    logs = np.array([-np.inf if one is None else one.log_likelihood for one in said])
    if np.isnan(logs).any() or logs.max() == -np.inf:
        return None
    chances = np.array([np.zeros(3) if one is None else one.chances[row] for one in said])
    joint = chances.T * np.exp(logs - logs.max())
    whole = joint.sum(axis=1, keepdims=True)
    return np.where(whole > 0, joint / np.where(whole > 0, whole, 1), np.eye(3))


def _as_if_seen(reading: Reading, row: int, likelihood: NDArray[np.float64]) -> Dose | None:
    """What follows for an animal's family if its own records said this; None if that cannot be."""
    rows = reading.likelihood.copy()
    rows[row] = likelihood
    frequency = reading.parameters.frequency
    case = PosteriorProblem.of(
        reading.assumed, rows, frequency, ERRORS, reading.founder_prior, BUDGET
    )
    try:
        return solve_problem(case, row, asked=[row])
    except InconsistentEvidenceError:
        return None


def _figure_of(animal: Animal) -> NDArray[np.float64] | None:
    figure = Figure.objects.filter(animal=animal).first()
    chances = None if figure is None else figure.chances
    return None if chances is None else np.array(chances)


def _judged(pup: Animal, look: Look) -> str:
    if look.stage == Stage.OVERMARKED:
        return "overmarked"
    if look.stage in (Stage.COMING, Stage.FULL):
        return "marked"
    age = pup.age_days(look.on)
    grown = age is not None and age >= JUDGED_SELF_DAYS
    return "self" if grown else _TOO_YOUNG


def _reading() -> Reading | None:
    """The book as it stands; None where it contradicts itself."""
    try:
        return read_book()
    except PedigreeError:
        return None
