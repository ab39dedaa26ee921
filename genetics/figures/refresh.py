"""Figures for every animal, made anew when the book has moved on.

A page that shows figures calls :func:`ensure_current` first. A herd is reckoned on the spot by
the first page that asks, and others wait for it; a register of many is reckoned as a job, and the
page shows the old figures until it is done.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np
from django.db import transaction
from django.utils import timezone
from numpy.typing import NDArray

from genetics import jobs
from genetics.core.exceptions import PedigreeError
from genetics.core.peeling.problem import BUDGET
from genetics.core.posterior.dose import Dose, InconsistentEvidenceError, dose_posterior
from genetics.core.relatedness.kinship import inbreeding, known_generations
from genetics.core.version import engine_version
from genetics.figures.sire_odds import colour_odds
from genetics.figures.statement_log import freeze
from genetics.models import Figure, Job, Reckoning, SireShare
from genetics.snapshot import conception
from genetics.snapshot import reading as book_reading
from genetics.snapshot.parameters import FREQUENCY, CurrentParameters, current_parameters
from genetics.snapshot.reading import ColourOdds, Reading, book_revision, read_book
from genetics.snapshot.sire_weights import SAME, Shares, weigh
from herdbook.book import limits
from herdbook.book.models import Animal, Litter

# How often a written sire is another boar: a small rate, so that no one slip makes a book
# impossible (common practice, no source).
ERRORS = 0.01

# A herd of this many is reckoned while the page waits; more than this is a job.
AT_ONCE = 600

# So long a page waits for figures that another page or process is making, and so long between two
# looks whether they are there: a server has few threads to wait with.
PATIENCE_S = 5.0
PAUSE_S = 0.05

GENERATIONS = 5

JOB = "reckon the book"

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Freshness:
    """Whether the figures are those of the book as it stands; ``troubles`` as plain data."""

    fresh: bool
    revision: int
    job: Job | None = None
    troubles: tuple[dict, ...] = ()


@dataclass(frozen=True)
class Reckoned:
    """What one reckoning of the book gives: rows to be stored, ``troubles`` as plain data."""

    figures: list[Figure] = field(default_factory=list)
    shares: list[SireShare] = field(default_factory=list)
    troubles: list[dict] = field(default_factory=list)
    current_parameters: CurrentParameters = field(default_factory=current_parameters)
    colour_odds: ColourOdds = field(default_factory=dict)
    slow: bool = False


def reckoned_again_at_once() -> bool:
    """Whether a page may wait while doses are reckoned anew, and that many times over."""
    return Animal.objects.count() <= AT_ONCE and not _reckoning().slow


def ensure_current() -> Freshness:
    """Make the figures follow the book: at once for a herd, as a job for a large register.

    One thread of one process makes them; whoever else finds them stale waits for that one, or
    after ``PATIENCE_S`` takes the last ones, with the job that is making the next.
    """
    standing = _standing()
    if standing.fresh:
        return standing
    failed = jobs.just_failed(JOB)
    if failed is not None:
        return replace(standing, job=failed)
    if Animal.objects.count() > AT_ONCE:
        return replace(standing, job=jobs.start(JOB, _reckon_if_stale, once=True))
    return _made_by_one()


def _made_by_one() -> Freshness:
    """The figures of the book as it stood when this was asked, made here or by another."""
    for waited in range(1 + round(PATIENCE_S / PAUSE_S)):
        time.sleep(PAUSE_S if waited else 0)
        job, by_us = jobs.run_alone(JOB, _reckon_if_stale)
        standing = _standing()
        if by_us and job.state == Job.State.DONE:
            return replace(standing, fresh=True)
        if standing.fresh:
            return standing
        if by_us:
            break
    return replace(standing, job=job)


def _reckon_if_stale(job: Job) -> None:
    """Another may have been through between the look and the job."""
    if not _standing().fresh:
        reckon_book(job)


def _standing() -> Freshness:
    """How the figures stand to the book."""
    revision, made = book_revision(), _reckoning()
    fresh = made.revision == revision and made.engine == engine()
    return Freshness(fresh, made.revision, troubles=tuple(made.troubles))


def reckon_book(job: Job | None = None) -> None:
    """Read the book, reckon every animal, and store what changed under the book's revision.

    A ``job`` is told how far it has come.
    """
    revision = book_revision()
    jobs.tell(job, 0.05)
    try:
        reading = read_book(colours={})
    except PedigreeError as fault:
        _store(Reckoned(troubles=[{"kind": "pedigree", "message": str(fault)}]), revision)
        return
    jobs.tell(job, 0.2)
    odds = colour_odds(reading, errors=ERRORS)
    jobs.tell(job, 0.3)
    reckoned = _reckon(reading.weighed_by_colours(odds), revision)
    jobs.tell(job, 0.9)
    _store(replace(reckoned, colour_odds=odds), revision)


def standing_shares(reading: Reading) -> Shares:
    """The share of each possible sire as it stands in the figures, to weigh a pedigree by.

    No share of any where these are of another revision of the book, or were made by other means.
    """
    if not any(_who_is_open(reading, number) for number in range(len(reading.litter_keys))):
        return {}
    stand = Reckoning.objects.filter(
        revision=book_revision(), engine=_mark(reading.current_parameters)
    )
    return _by_litter(SireShare.objects.all()) if stand.exists() else {}


def _by_litter(rows: Iterable[SireShare]) -> Shares:
    shares: dict[int, dict[int | None, float]] = defaultdict(dict)
    for row in rows:
        shares[row.litter_id][row.boar_id] = row.share
    return shares


def _who_is_open(reading: Reading, number: int) -> bool:
    """Whether it is open who the sire of a litter is: several may be, or none is written."""
    sires = reading.assumed.litters[number].sires
    return len(sires) > 1 or (len(sires) == 1 and not reading.sire_is_written(number))


def engine() -> str:
    """The mark of the engine and of the parameters in force: others make old figures stale."""
    return _mark(current_parameters())


@cache
def engine_mark() -> str:
    """The one mark of the engine: of its method and tables, and of how the book is read. Worked
    out once a process."""
    gestation = (
        limits.GESTATION_SHORTEST_DAYS,
        limits.GESTATION_USUAL_DAYS,
        limits.GESTATION_LONGEST_DAYS,
        limits.BOAR_SIRES_FROM_DAYS,
    )
    return engine_version(FREQUENCY, ERRORS, gestation, conception, book_reading)


def _mark(current: CurrentParameters) -> str:
    return f"{engine_mark()}-{current.fit or 'table'}"


def _reckon(reading: Reading, revision: int) -> Reckoned:
    if not len(reading):
        return Reckoned(current_parameters=reading.current_parameters)
    dose, lost, troubles = reckon_doses(reading)
    chances, errors, methods = _without(dose, lost)
    known = known_generations(reading.recorded, GENERATIONS)
    shares = list(_sire_shares(reading, dose, lost))
    coefficients, as_written = _inbreeding(reading, shares)
    weights = 2.0 ** np.arange(1, GENERATIONS + 1)
    completeness = known.shares @ weights / weights.sum()
    rows = [
        Figure(
            animal_id=key,
            **_dose_columns(chances[row]),
            method=methods[row],
            error=_or_none(errors[row]),
            inbreeding=float(coefficients[row]),
            inbreeding_as_written=_or_none(as_written[row]),
            full_generations=int(known.complete[row]),
            deepest_generation=int(known.deepest[row]),
            completeness=float(completeness[row]),
            revision=revision,
        )
        for row, key in enumerate(reading.keys)
    ]
    slow = max(dose.prices, default=0.0) > BUDGET
    return Reckoned(rows, shares, troubles, reading.current_parameters, slow=slow)


def _inbreeding(reading: Reading, shares: Sequence[SireShare]) -> tuple[Floats, Floats]:
    """Each animal's coefficient with possible sires by their shares, and as written where that
    differs, else NaN."""
    by_records = inbreeding(weigh(reading, _by_litter(shares)).pedigree)[: len(reading)]
    if not shares:
        return by_records, np.full(len(reading), np.nan)
    as_written = inbreeding(reading.recorded)
    same = np.abs(by_records - as_written) < SAME
    return by_records, np.where(same, np.nan, as_written)


def doses_of(reading: Reading) -> Floats:
    """Chances (n, 3) of each animal's dose, as figures have them; NaN without one."""
    dose, lost, _troubles = reckon_doses(reading)
    return _without(dose, lost)[0]


def reckon_doses(reading: Reading) -> tuple[Dose, set[int], list[dict]]:
    """The doses, the rows whose records contradict each other, reckoned as if nothing had been
    seen in their families, and what to tell of those without a figure."""
    impossible: list[int] = []
    lost: set[int] = set()
    likelihood = reading.likelihood
    try:
        dose = _reckon_dose(reading, likelihood)
    except InconsistentEvidenceError as error:
        impossible = list(error.animals)
        families = [set(family) for family in reading.assumed.families()]
        lost = set().union(*(family for family in families if family & set(impossible)))
        likelihood = likelihood.copy()
        likelihood[list(lost)] = 1.0
        dose = _reckon_dose(reading, likelihood)
    tangled = [row for row, made in enumerate(dose.method) if not made and row not in lost]
    troubles = [
        {"kind": kind, "animals": [reading.keys[row] for row in rows]}
        for kind, rows in (("impossible", impossible), ("tangled", tangled))
        if rows
    ]
    return dose, lost, troubles


def _without(dose: Dose, lost: set[int]) -> tuple[Floats, Floats, list[str]]:
    """Posterior doses, estimates of their error and methods; a family whose records contradict
    each other has no figure, nor has one too tangled even to be approximate."""
    chances, errors = dose.chances.copy(), dose.error.copy()
    chances[list(lost)] = errors[list(lost)] = np.nan
    methods = [
        Figure.Method.IMPOSSIBLE if row in lost else Figure.Method(made or Figure.Method.TANGLED)
        for row, made in enumerate(dose.method)
    ]
    return chances, errors, [str(method) for method in methods]


def _sire_shares(reading: Reading, dose: Dose, lost: set[int]) -> Iterator[SireShare]:
    """Who may be the sire of each litter that may have several, or has none written."""
    for number, shares in dose.sire_shares.items():
        litter = reading.assumed.litters[number]
        if _who_is_open(reading, number) and not lost & set(litter.pups):
            boars = [*(reading.keys[row] for row in litter.sires), None]
            for boar, share in zip(boars, shares.tolist(), strict=False):
                yield SireShare(litter_id=reading.litter_keys[number], boar_id=boar, share=share)


def _reckon_dose(reading: Reading, likelihood: NDArray[np.float64]) -> Dose:
    return dose_posterior(
        reading.assumed,
        likelihood,
        frequency=reading.parameters.frequency,
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
def _store(reckoned: Reckoned, revision: int) -> None:
    Reckoning.objects.get_or_create(pk=1)
    made = Reckoning.objects.select_for_update().get(pk=1)
    if made.revision > revision:
        return
    fields = [field.name for field in Figure._meta.fields if not field.primary_key]
    # Rows of animals that were taken out meanwhile went with them.
    there = set(Animal.objects.values_list("pk", flat=True))
    figures = [row for row in reckoned.figures if row.animal_id in there]
    Figure.objects.bulk_create(
        figures,
        batch_size=500,
        update_conflicts=True,
        unique_fields=["animal"],
        update_fields=fields,
    )
    litters = set(Litter.objects.values_list("pk", flat=True))
    SireShare.objects.all().delete()
    SireShare.objects.bulk_create(
        [
            row
            for row in reckoned.shares
            if row.litter_id in litters and (row.boar_id is None or row.boar_id in there)
        ],
        batch_size=500,
    )
    freeze(figures, engine_mark(), reckoned.current_parameters.fit)
    made.revision = revision
    made.engine = _mark(reckoned.current_parameters)
    made.made_at = timezone.now()
    made.troubles = reckoned.troubles
    made.slow = reckoned.slow
    made.colour_odds = [
        [litter, boar, one]
        for litter, boars in reckoned.colour_odds.items()
        for boar, one in boars.items()
    ]
    made.save()


def _reckoning() -> Reckoning:
    return Reckoning.objects.filter(pk=1).first() or Reckoning(pk=1, engine="none yet")
