"""A figure asked why: the records behind one animal's dose, as plain data for a page to word."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.dose import Impossible
from genetics.core.pedigree import PedigreeFault
from genetics.core.reasons import Reasons, reasons_for
from genetics.figures import ERRORS, FREQUENCY
from genetics.reading import Reading, read_book
from herdbook.book.models import Animal, Look
from herdbook.book.models.look import Stage

# From this age an unmarked red-series animal is judged a self: points are full at three to five
# months (common practice, no source).
JUDGED_SELF_DAYS = 150

Chances = tuple[float, float, float]


@dataclass(frozen=True)
class Reason:
    """A group of records and how far it moves an animal.

    ``kind`` is 'own', 'sire', 'dam', 'littermates' or 'litter' (of its young; ``litter_key`` is
    the book's). ``animals`` are the keys of those with evidence in it. ``ratios``: how many times
    likelier the records are at each dose, the largest made 1. ``two_doses``: how many times the
    group raises the odds on two doses.
    """

    kind: str
    litter_key: int | None
    animals: tuple[int, ...]
    ratios: Chances
    two_doses: float


@dataclass(frozen=True)
class Why:
    """What moves an animal's dose, the strongest group first.

    ``prior`` is without any record seen of it or its family, ``posterior`` with all. ``overlap``
    is 1 where the groups multiply exactly, else how far they do not.
    """

    prior: Chances
    posterior: Chances
    reasons: tuple[Reason, ...]
    overlap: float

    def without_young(self) -> Chances:
        """The chances as they would stand without the animal's own young."""
        chances = np.array(self.posterior)
        for reason in self.reasons:
            if reason.kind == "litter":
                chances = chances / np.maximum(reason.ratios, np.finfo(float).tiny)
        return _chances(chances / chances.sum())


@dataclass(frozen=True)
class JudgedYoung:
    """How many young of an animal were judged, and as what."""

    selfs: int
    marked: int
    overmarked: int

    @property
    def total(self) -> int:
        return self.selfs + self.marked + self.overmarked


def why(animal: Animal) -> Why | None:
    """The reasons for an animal's dose; None where no figure could be made for it.

    Reckons the animal's family once for each group of records that bears on it.
    """
    reading = _reading()
    row = None if reading is None else reading.place.get(animal.pk)
    if reading is None or row is None:
        return None
    try:
        found = reasons_for(
            reading.assumed,
            reading.likelihood,
            row,
            frequency=FREQUENCY,
            errors=ERRORS,
            founder_prior=reading.founder_prior,
        )
    except Impossible:
        return None
    return None if found is None else _as_why(reading, found)


def judged_young(animal: Animal) -> JudgedYoung:
    """Count the young of an animal by the last look at each; only those surely its own.

    An unmarked pup counts as a self from five months on, and not before.
    """
    young = Animal.objects.filter(litter__dam=animal) | Animal.objects.filter(
        litter__sires__boar=animal
    )
    counts: Counter[str] = Counter()
    for pup in young.distinct().select_related("litter").prefetch_related("litter__sires", "looks"):
        surely = pup.litter.dam_id == animal.pk or len(pup.litter.sires.all()) == 1
        looks = list(pup.looks.all())
        if surely and looks and pup.shows_points:
            counts[_judged(pup, looks[-1])] += 1
    return JudgedYoung(counts["self"], counts["marked"], counts["overmarked"])


def _judged(pup: Animal, look: Look) -> str:
    if look.stage == Stage.OVERMARKED:
        return "overmarked"
    if look.stage in (Stage.COMING, Stage.FULL):
        return "marked"
    age = pup.age_days(look.on)
    grown = age is not None and age >= JUDGED_SELF_DAYS
    return "self" if grown else "too young"


def _as_why(reading: Reading, found: Reasons) -> Why:
    reasons = tuple(
        Reason(
            kind=reason.kind,
            litter_key=None if reason.litter < 0 else reading.litter_keys[reason.litter],
            animals=tuple(reading.keys[row] for row in reason.animals),
            ratios=_chances(np.nan_to_num(reason.ratios, nan=0.0)),
            two_doses=reason.two_doses,
        )
        for reason in found.reasons
    )
    overlap = found.overlap
    return Why(
        _chances(found.prior),
        _chances(found.posterior),
        reasons,
        1.0 if math.isnan(overlap) else overlap,
    )


def _chances(values: NDArray[np.float64]) -> Chances:
    none, one, two = (float(value) for value in values)
    return none, one, two


def _reading() -> Reading | None:
    """The book as it stands; None where it contradicts itself."""
    try:
        return read_book()
    except PedigreeFault:
        return None
