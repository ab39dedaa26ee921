"""What the book has taught of the points gene: worked out as a job, shown, used and put back.

Every herd of the book shares its figures, so a fit is of the whole book.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from genetics import jobs
from genetics.core.estimation.ecm import MOST_ROUNDS, Prior, fit
from genetics.core.estimation.ecm import Fit as Fitted
from genetics.core.estimation.likelihood import Parameters
from genetics.figures.refresh import ERRORS, doses_of, engine_mark
from genetics.figures.statement_log import MOVED
from genetics.models import Fit, FitUse, Job
from genetics.snapshot.kept import book_revision
from genetics.snapshot.parameters import FREQUENCY, TABLE, current_parameters
from genetics.snapshot.reading import Reading, read_book
from herdbook.book.models import Membership

JOB = "learn from the book"

# Of a job's way, the fitting takes so much; the rest is for what it would move.
_FITTING = 0.8
# Most books settle in so few rounds; the way is shown as if all did.
_USUAL_ROUNDS = 8


def may_use(user: Any) -> bool:
    """Whether a user may say what figures are made with: one who owns a herd of the book."""
    return Membership.objects.filter(user=user, role=Membership.Role.OWNER).exists()


def start(user: Any) -> Job:
    """Work out what the book teaches, beside the pages."""
    return jobs.start(JOB, lambda job: fit_parameters(user, job), once=True)


def under_way() -> Job | None:
    """The job that is working it out now, or that has just failed."""
    last = Job.objects.filter(kind=JOB).first()
    if last is not None and not last.is_over:
        return last
    return jobs.just_failed(JOB)


def fit_parameters(user: Any = None, job: Job | None = None) -> Fit:
    """Fit the parameters to the book and keep the fit; nothing uses it yet.

    Raises PedigreeError where the book's pedigree contradicts itself.
    """
    revision, reading = book_revision(), read_book()

    def told(rounds: int) -> None:
        done = min(rounds / _USUAL_ROUNDS, rounds / (rounds + 1), MOST_ROUNDS)
        jobs.tell(job, 0.05 + (_FITTING - 0.05) * done, _("Round %(n)d") % {"n": rounds + 1})

    fitted = fit(
        reading.assumed,
        reading.looks,
        errors=ERRORS,
        given=reading.given,
        founder_prior=reading.founder_prior,
        counted=reading.counted,
        prior=Prior(FREQUENCY),
        told=told,
    )
    jobs.tell(job, _FITTING, _("What it would move"))
    return Fit.objects.create(
        made_at=timezone.now(),
        user=user,
        revision=revision,
        engine=engine_mark(),
        frequency=fitted.parameters.frequency,
        medians=[one.median_days for one in fitted.parameters.curves.milestones],
        spreads=[one.spread for one in fitted.parameters.curves.milestones],
        lines=_lines(fitted),
        effect=_effect(reading, fitted.parameters),
        settled=fitted.settled,
        animals=len(reading) - len(fitted.left_out),
        left_out=len(fitted.left_out),
    )


@transaction.atomic
def use(chosen: Fit | None, user: Any) -> FitUse | None:
    """Make all figures with a fit from now on, or with the table again where it is None.

    None where they are made with that already: a second tap must not stand in the way of putting
    back what was before.
    """
    if chosen == in_use():
        return None
    return FitUse.objects.create(fit=chosen, user=user, used_at=timezone.now())


@transaction.atomic
def put_back(seen: str, user: Any) -> FitUse | None:
    """Make all figures with what was in force before the use ``seen``, by its key as a page has it.

    None where that is not the newest use any more: a second tap must not undo the first.
    """
    newest = FitUse.objects.first()
    if newest is None or str(newest.pk) != seen:
        return None
    return FitUse.objects.create(fit=earlier(), user=user, used_at=timezone.now())


def earlier() -> Fit | None:
    """What was in force before what is now; None stands for the table."""
    uses = FitUse.objects.select_related("fit")[:2]
    return uses[1].fit if len(uses) == 2 else None


def _lines(fitted: Fitted) -> list[dict[str, object]]:
    """Each parameter by the table and fitted, with its standard error and what it rests on; one
    without a standard error has None. A spread is told by the ages between which two of three
    fall, and its error by the days between them, if the median is held."""
    lines: list[dict[str, object]] = [
        {
            "dose": None,
            "stage": "",
            "table": TABLE.frequency,
            "fitted": fitted.parameters.frequency,
            "error": _or_none(fitted.frequency_error),
            "rests_on": fitted.founders,
        }
    ]
    milestones = zip(
        TABLE.curves.milestones,
        fitted.parameters.curves.milestones,
        fitted.median_errors,
        fitted.spread_errors,
        fitted.looks,
        strict=True,
    )
    for before, after, median_error, spread_error, looks in milestones:
        wider = spread_error * after.spread * sum(after.usual_days)
        for measure, table, found, error in (
            ("median", before.median_days, after.median_days, median_error),
            ("spread", before.usual_days, after.usual_days, wider),
        ):
            lines.append(
                {
                    "dose": after.dose,
                    "stage": after.stage,
                    "measure": measure,
                    "table": table,
                    "fitted": found,
                    "error": _or_none(error),
                    "rests_on": round(looks),
                }
            )
    return lines


def _or_none(error: float) -> float | None:
    return None if np.isnan(error) else float(error)


def _effect(reading: Reading, parameters: Parameters) -> dict:
    """How many animals' doses would move ``against`` the fit in force (None for the table), and
    which by the most."""
    against = reading.current_parameters.fit
    if not len(reading):
        return {"moved": 0, "most": 0.0, "animal": None, "against": against}
    off = np.abs(doses_of(read_book(parameters)) - doses_of(reading))
    most = np.nan_to_num(off.max(axis=1), nan=0.0)
    return {
        "moved": int((most > MOVED).sum()),
        "most": float(most.max()),
        "animal": reading.keys[int(most.argmax())],
        "against": against,
    }


def in_use() -> Fit | None:
    """The fit in force, None for the table."""
    current = current_parameters().fit
    return None if current is None else Fit.objects.get(pk=current)
