"""Long work beside the pages: one thread a job, its state in a row that pages ask after."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import timedelta

from django.db import OperationalError, connection, transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from genetics.models import Job

logger = logging.getLogger(__name__)

RETRY_AFTER = timedelta(minutes=1)

UNDER_WAY = (Job.State.WAITING, Job.State.RUNNING)

# How long to wait before the end of a job is written again.
PAUSES_S = (1, 5, 20)


def start(kind: str, work: Callable[[Job], object], *, user=None, once: bool = False) -> Job:
    """Start work in a thread of its own once the open transaction is through.

    With ``once`` a job of this kind that is under way is given back instead of a second one.
    """
    if once:
        running = Job.objects.filter(kind=kind, state__in=UNDER_WAY).first()
        if running:
            return running
    job = Job.objects.create(kind=kind, user=user)
    thread = threading.Thread(target=_run, args=(job, work), name=f"job {job.pk}", daemon=True)
    transaction.on_commit(thread.start)
    return job


def just_failed(kind: str) -> Job | None:
    """The last job of this kind, if it failed within a minute: it is not tried at every page."""
    last = Job.objects.filter(kind=kind).first()
    failed = last is not None and last.state == Job.State.FAILED and last.ended_at is not None
    recent = failed and last.ended_at > timezone.now() - RETRY_AFTER
    return last if recent else None


def tell(job: Job | None, progress: float, note: str = "") -> None:
    """Say how far a job has come, ``progress`` from 0 to 1; work done at once has none."""
    if job is None:
        return
    job.progress, job.note = progress, note
    job.save(update_fields=["progress", "note"])


def keep_last(rows: QuerySet, most: int) -> None:
    """Delete all but the first so many of these rows, in their order; those whose job is under way
    stay."""
    kept = list(rows.values_list("pk", flat=True)[:most])
    rows.exclude(pk__in=kept).exclude(job__state__in=UNDER_WAY).delete()


def end_interrupted() -> int:
    """Mark jobs that a stopped server left behind as failed; called when the server starts."""
    return Job.objects.filter(state__in=UNDER_WAY).update(
        state=Job.State.FAILED,
        note=_("Interrupted when the book was closed."),
        ended_at=timezone.now(),
    )


def _run(job: Job, work: Callable[[Job], object]) -> None:
    try:
        job.state = Job.State.RUNNING
        job.save(update_fields=["state"])
        work(job)
        job.state, job.progress = Job.State.DONE, 1.0
    except Exception as error:
        # The page that asks after the job says so; the log keeps the whole story.
        logger.exception("job %s failed", job.kind)
        job.state, job.note = Job.State.FAILED, str(error)
    finally:
        job.ended_at = timezone.now()
        _end(job)
        connection.close()


def _end(job: Job) -> None:
    """Write that a job is over, again after a while where the database is taken: one that stayed
    under way for ever would never be started anew."""
    for pause_s in (*PAUSES_S, None):
        try:
            job.save()
            return
        except OperationalError:
            if pause_s is None:
                raise
            logger.warning("the end of job %s could not be written yet", job.kind)
            time.sleep(pause_s)
