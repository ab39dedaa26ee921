"""Figures for every animal, made anew when the book has moved on.

A page that shows figures calls :func:`bring_up_to_date` first. A herd is reckoned on the spot;
a register of many is reckoned as a job, and the page shows the old figures until it is done.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from django.db import transaction
from django.utils import timezone
from numpy.typing import NDArray

from genetics import jobs
from genetics.core.dose import Dose, Impossible, reckon_dose
from genetics.core.kinship import inbreeding, known_generations
from genetics.core.pedigree import PedigreeFault
from genetics.models import Figure, Job, Reckoning
from genetics.reading import Reading, read_book
from herdbook.book.models import Animal, Book

# Share of the points allele among founders of whom nothing is said: an assumption of the trade's
# kind (common practice, no source) until a herd's own book says better.
FREQUENCY = 0.25

# How often a written sire is another boar: a small rate, so that no one slip makes a book
# impossible (common practice, no source).
ERRORS = 0.01

# A herd of this many is reckoned while the page waits; more than this is a job.
AT_ONCE = 600

GENERATIONS = 5

JOB = "reckon the book"


@dataclass(frozen=True)
class Standing:
    """Whether the figures are those of the book as it stands; ``troubles`` as plain data."""

    fresh: bool
    revision: int
    job: Job | None = None
    troubles: tuple[dict, ...] = ()


def bring_up_to_date() -> Standing:
    """Make the figures follow the book: at once for a herd, as a job for a large register."""
    revision, made = book_revision(), _reckoning()
    if made.revision == revision and made.engine == engine():
        return Standing(True, revision, troubles=tuple(made.troubles))
    if Animal.objects.count() <= AT_ONCE:
        reckon_book()
        made = _reckoning()
        return Standing(True, made.revision, troubles=tuple(made.troubles))
    job = jobs.just_failed(JOB) or jobs.start(JOB, reckon_book, once=True)
    return Standing(False, made.revision, job=job, troubles=tuple(made.troubles))


def reckon_book(job: Job | None = None) -> None:
    """Read the book, reckon every animal, and store what changed under the book's revision.

    A ``job`` is told how far it has come.
    """
    revision = book_revision()
    jobs.tell(job, 0.05)
    try:
        reading = read_book()
    except PedigreeFault as fault:
        _store([], revision, [{"kind": "pedigree", "message": str(fault)}])
        return
    jobs.tell(job, 0.2)
    rows, troubles = _reckon(reading, revision)
    jobs.tell(job, 0.9)
    _store(rows, revision, troubles)


def engine() -> str:
    """A mark of the reckoning's own source and settings: a new engine makes old figures stale."""
    return _source_mark()


def _reckon(reading: Reading, revision: int) -> tuple[list[Figure], list[dict]]:
    if not len(reading):
        return [], []
    chances, errors, methods, troubles = _doses(reading)
    known = known_generations(reading.recorded, GENERATIONS)
    coefficients = inbreeding(reading.recorded)
    weights = 2.0 ** np.arange(1, GENERATIONS + 1)
    completeness = known.shares @ weights / weights.sum()
    rows = [
        Figure(
            animal_id=key,
            **_dose_columns(chances[row]),
            method=methods[row],
            error=_or_none(errors[row]),
            inbreeding=float(coefficients[row]),
            full_generations=int(known.complete[row]),
            deepest_generation=int(known.deepest[row]),
            completeness=float(completeness[row]),
            revision=revision,
        )
        for row, key in enumerate(reading.keys)
    ]
    return rows, troubles


Floats = NDArray[np.float64]


def _doses(reading: Reading) -> tuple[Floats, Floats, list[str], list[dict]]:
    """Posterior doses and estimates of their error. A family whose records contradict each other
    gets no figure, nor does one too tangled even to be approximate; all others keep theirs."""
    impossible: list[int] = []
    lost: set[int] = set()
    likelihood = reading.likelihood
    try:
        dose = _reckon_dose(reading, likelihood)
    except Impossible as error:
        impossible = list(error.animals)
        families = [set(family) for family in reading.assumed.families()]
        lost = set().union(*(family for family in families if family & set(impossible)))
        likelihood = likelihood.copy()
        likelihood[list(lost)] = 1.0
        dose = _reckon_dose(reading, likelihood)
    chances, errors = dose.chances.copy(), dose.error.copy()
    chances[list(lost)] = errors[list(lost)] = np.nan
    methods = [
        Figure.Method.IMPOSSIBLE if row in lost else Figure.Method(made or Figure.Method.TANGLED)
        for row, made in enumerate(dose.method)
    ]
    tangled = [row for row, method in enumerate(methods) if method == Figure.Method.TANGLED]
    troubles = [
        {"kind": kind, "animals": [reading.keys[row] for row in rows]}
        for kind, rows in (("impossible", impossible), ("tangled", tangled))
        if rows
    ]
    return chances, errors, [str(method) for method in methods], troubles


def _reckon_dose(reading: Reading, likelihood: NDArray[np.float64]) -> Dose:
    return reckon_dose(
        reading.assumed,
        likelihood,
        frequency=FREQUENCY,
        errors=ERRORS,
        founder_prior=reading.founder_prior,
        approximate=True,
    )


def _dose_columns(chances: NDArray[np.float64]) -> dict[str, float | None]:
    return {f"dose{dose}": _or_none(chance) for dose, chance in enumerate(chances)}


def _or_none(value: float) -> float | None:
    """A figure for the table, where what is missing is null."""
    return None if np.isnan(value) else float(value)


@transaction.atomic
def _store(rows: list[Figure], revision: int, troubles: list[dict]) -> None:
    Reckoning.objects.get_or_create(pk=1)
    made = Reckoning.objects.select_for_update().get(pk=1)
    if made.revision > revision:
        return
    fields = [field.name for field in Figure._meta.fields if not field.primary_key]
    # Rows of animals that were taken out meanwhile went with them.
    there = set(Animal.objects.values_list("pk", flat=True))
    Figure.objects.bulk_create(
        [row for row in rows if row.animal_id in there],
        batch_size=500,
        update_conflicts=True,
        unique_fields=["animal"],
        update_fields=fields,
    )
    made.revision = revision
    made.engine = engine()
    made.made_at = timezone.now()
    made.troubles = troubles
    made.save()


def book_revision() -> int:
    """How often the book has been written to, by the desk's own count."""
    return Book.objects.filter(pk=1).values_list("revision", flat=True).first() or 0


def _reckoning() -> Reckoning:
    return Reckoning.objects.filter(pk=1).first() or Reckoning(pk=1, engine="none yet")


def _source_mark() -> str:
    digest = hashlib.sha256(f"{FREQUENCY} {ERRORS}".encode())
    for file in sorted(Path(__file__).parent.rglob("*.py")):
        if "migrations" not in file.parts:
            digest.update(file.read_bytes())
    return digest.hexdigest()[:16]
