"""Figures for every animal, made again when the book has moved on.

A page that shows figures calls :func:`ensure_current` first. A herd is worked out on the spot by
the first page that asks, and others wait for it; a register of many is worked out as a job, and the
page shows the old figures until it is done.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from django.utils.translation import gettext as _
from numpy.typing import NDArray

from genetics import jobs
from genetics.core import precompile
from genetics.core.exceptions import PedigreeError
from genetics.core.large_pedigree.register_store import RegisterStore, WarmStart
from genetics.core.peeling.problem import BUDGET
from genetics.core.posterior.dose import Dose, InconsistentEvidenceError, dose_posterior
from genetics.core.relatedness.kinship import inbreeding, known_generations
from genetics.core.version import engine_version
from genetics.figures.families import families_of
from genetics.figures.sire_odds import colour_odds
from genetics.figures.table import ComputedFigures, store
from genetics.models import Figure, Job, Reckoning, SireShare
from genetics.snapshot import conception
from genetics.snapshot import reading as book_reading
from genetics.snapshot.kept import book_revision
from genetics.snapshot.parameters import FREQUENCY, CurrentParameters, current_parameters
from genetics.snapshot.reading import Reading, read_book
from genetics.snapshot.sire_weights import SAME, Shares, weigh
from herdbook.book import limits
from herdbook.book.models import Animal

# How often a written sire is another boar: a small rate, so that no one slip makes a book
# impossible (common practice, no source).
ERRORS = 0.01

# A herd of this many is worked out while the page waits; more than this is a job.
AT_ONCE = 600

# So long a page waits for figures that another page or process is making, and so long between two
# looks whether they are there: a server has few threads to wait with.
PATIENCE_S = 5.0
PAUSE_S = 0.05

GENERATIONS = 5

JOB = "reckon the book"

Floats = NDArray[np.float64]

# The largest family as it was last worked out, if it was too large for exact figures: the next
# write to the book costs what it touches. A process that has just started has none.
_registers = RegisterStore()


@dataclass(frozen=True)
class Freshness:
    """Whether the figures are those of the book as it stands; ``troubles`` as plain data."""

    fresh: bool
    revision: int
    job: Job | None = None
    troubles: tuple[dict, ...] = ()


def recomputed_at_once() -> bool:
    """Whether a page may wait while doses are worked out again, and that many times over."""
    return Animal.objects.count() <= AT_ONCE and not _stored_reckoning().slow_families


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
        return replace(standing, job=jobs.start(JOB, _compute_if_stale, once=True))
    return _made_by_one()


def _made_by_one() -> Freshness:
    """The figures of the book as it stood when this was asked, made here or by another."""
    for waited in range(1 + round(PATIENCE_S / PAUSE_S)):
        time.sleep(PAUSE_S if waited else 0)
        job, by_us = jobs.run_alone(JOB, _compute_if_stale)
        standing = _standing()
        if by_us and job.state == Job.State.DONE:
            return replace(standing, fresh=True)
        if standing.fresh:
            return standing
        if by_us:
            break
    return replace(standing, job=job)


def _compute_if_stale(job: Job) -> None:
    """Another may have been through between the look and the job."""
    if not _standing().fresh:
        compute_figures(job)


def _standing() -> Freshness:
    """How the figures stand to the book."""
    revision, made = book_revision(), _stored_reckoning()
    fresh = made.revision == revision and made.engine == engine()
    return Freshness(fresh, made.revision, troubles=tuple(made.troubles))


def compute_figures(job: Job | None = None) -> None:
    """Read the book, work out the families that changed, and store them under the book's revision.

    A ``job`` is told how far it has come.
    """
    while not _compute_and_store(job):
        pass  # other figures came in between, so that more may have changed


def _compute_and_store(job: Job | None) -> bool:
    """Whether it is done: not where others stored figures while these were made."""
    revision, before = book_revision(), _stored_reckoning()
    jobs.tell(job, 0.05)
    try:
        reading = read_book(colours={})
    except PedigreeError as fault:
        trouble = {"kind": "pedigree", "message": str(fault)}
        return _store(ComputedFigures(troubles=[trouble]), revision, before)
    jobs.tell(job, 0.2)
    odds = colour_odds(reading, errors=ERRORS)
    jobs.tell(job, 0.3, _first_time())
    reckoned = _compute(reading.weighed_by_colours(odds), revision, before)
    jobs.tell(job, 0.9)
    return _store(replace(reckoned, colour_odds=odds), revision, before)


def _first_time() -> str:
    """A word for the page that waits, while what a herd of close relatives needs is prepared."""
    if precompile.is_done():
        return ""
    return _(
        "The calculation is being prepared, once for this computer. A herd of close relatives may "
        "take two minutes longer this time."
    )


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


def _compute(reading: Reading, revision: int, before: Reckoning) -> ComputedFigures:
    """Figures of the families that have changed, and what is still to be told of the others."""
    if not len(reading):
        return ComputedFigures(current_parameters=reading.current_parameters)
    families = families_of(reading, _mark(reading.current_parameters))
    changed = families.changed_rows
    warm_start = _registers.warm_start(reading.keys)
    dose, lost, troubles = compute_doses(reading, changed, warm_start)
    chances, errors, methods = _without(dose, lost)
    known = known_generations(reading.recorded, GENERATIONS)
    shares = list(_sire_shares(reading, dose, lost))
    open_still = _shares_of_the_unchanged(reading, changed)
    coefficients, as_written = _inbreeding(reading, [*open_still, *shares])
    weights = 2.0 ** np.arange(1, GENERATIONS + 1)
    completeness = known.shares @ weights / weights.sum()
    rows = [
        Figure(
            animal_id=reading.keys[row],
            **_dose_columns(chances[row]),
            method=methods[row],
            error=_or_none(errors[row]),
            inbreeding=float(coefficients[row]),
            inbreeding_as_written=_or_none(as_written[row]),
            full_generations=int(known.complete[row]),
            deepest_generation=int(known.deepest[row]),
            completeness=float(completeness[row]),
            revision=revision,
            family=families.mark_of[row],
        )
        for row in changed
    ]
    slow = [mark for mark in before.slow_families if mark in families.unchanged_marks]
    if max(dose.prices, default=0.0) > BUDGET:
        slow.append(families.largest_changed)  # which of them, the prices do not tell
    return ComputedFigures(
        rows,
        shares,
        _troubles(before, troubles, {reading.keys[row] for row in changed}),
        reading.current_parameters,
        slow_families=slow,
        kept_shares=frozenset(share.pk for share in open_still),
    )


def _shares_of_the_unchanged(reading: Reading, changed: Sequence[int]) -> list[SireShare]:
    """The shares in the table that are as they would be made again."""
    anew = set(changed)
    there = {
        key
        for key, litter in zip(reading.litter_keys, reading.assumed.litters, strict=True)
        if (litter.pups + litter.candidates)[0] not in anew
    }
    return [share for share in SireShare.objects.all() if share.litter_id in there]


def _troubles(before: Reckoning, troubles: list[dict], changed: set[int]) -> list[dict]:
    """What is to be told of each kind, of animals of changed families and of all others."""
    told: dict[str, list[int]] = {}
    for trouble in before.troubles:
        if trouble["kind"] != "pedigree":
            told[trouble["kind"]] = [key for key in trouble["animals"] if key not in changed]
    for trouble in troubles:
        told[trouble["kind"]] = sorted([*told.get(trouble["kind"], ()), *trouble["animals"]])
    return [{"kind": kind, "animals": keys} for kind, keys in told.items() if keys]


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
    dose, lost, _troubles = compute_doses(reading)
    return _without(dose, lost)[0]


def compute_doses(
    reading: Reading,
    among: Sequence[int] | None = None,
    warm_start: WarmStart | None = None,
) -> tuple[Dose, set[int], list[dict]]:
    """The doses, the rows whose records contradict each other, worked out as if nothing had been
    seen in their families, and what to tell of those without a figure.

    `among`: the rows whose families are wanted; all by default. `warm_start`: where large families
    are found as they were.
    """
    impossible: list[int] = []
    lost: set[int] = set()
    likelihood = reading.likelihood
    try:
        dose = _compute_dose(reading, likelihood, among, warm_start)
    except InconsistentEvidenceError as error:
        impossible = list(error.animals)
        families = [set(family) for family in reading.assumed.families()]
        lost = set().union(*(family for family in families if family & set(impossible)))
        likelihood = likelihood.copy()
        likelihood[list(lost)] = 1.0
        dose = _compute_dose(reading, likelihood, among, warm_start)
    wanted = range(len(reading)) if among is None else among
    tangled = [row for row in wanted if not dose.method[row] and row not in lost]
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


def _compute_dose(
    reading: Reading,
    likelihood: NDArray[np.float64],
    among: Sequence[int] | None,
    warm_start: WarmStart | None,
) -> Dose:
    return dose_posterior(
        reading.assumed,
        likelihood,
        frequency=reading.parameters.frequency,
        errors=ERRORS,
        founder_prior=reading.founder_prior,
        approximate=True,
        among=among,
        warm_start=warm_start,
    )


def _dose_columns(chances: NDArray[np.float64]) -> dict[str, float | None]:
    return {f"dose{dose}": _or_none(chance) for dose, chance in enumerate(chances)}


def _or_none(value: float) -> float | None:
    """A figure for the table, where what is missing is null."""
    return None if np.isnan(value) else float(value)


def _store(reckoned: ComputedFigures, revision: int, before: Reckoning) -> bool:
    engine = _mark(reckoned.current_parameters)
    return store(reckoned, revision, before, engine=engine, said_by=engine_mark())


def _stored_reckoning() -> Reckoning:
    return Reckoning.objects.filter(pk=1).first() or Reckoning(pk=1, engine="none yet")
