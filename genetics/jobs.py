"""Long work beside the pages: one thread a job, its state in a row that pages ask after.

A job that is to be the only one of its kind is held by a unique constraint, in every thread and
process that uses the database. A process that is ended without a word leaves its row behind; since
nobody renews it, the next one to ask takes its place after ``ABANDONED_AFTER``.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta

from django.db import IntegrityError, OperationalError, connection, transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from genetics.models import Job

logger = logging.getLogger(__name__)

RETRY_AFTER = timedelta(minutes=1)

# A save of a large import may keep a job from renewing its row for half a minute.
RENEWED_EVERY_S = 10
ABANDONED_AFTER = timedelta(minutes=1)
# Jobs of figures that ended longer ago are of no use to any page.
KEPT_FOR = timedelta(days=1)

UNDER_WAY = (Job.State.WAITING, Job.State.RUNNING)

# How long to wait before the end of a job is written again.
PAUSES_S = (1, 5, 20)

Work = Callable[[Job], object]


def start(kind: str, work: Work, *, user=None, once: bool = False) -> Job:
    """Start work in a thread of its own once the open transaction is through.

    With ``once`` a job of this kind that is under way is given back instead of a second one.
    """
    job, begun = _begin(kind, user, once)
    if begun:
        thread = threading.Thread(target=_run, args=(job, work), name=f"job {job.pk}", daemon=True)
        transaction.on_commit(thread.start)
    return job


def run_alone(kind: str, work: Work) -> tuple[Job, bool]:
    """Do work here and now, unless some thread or process does this kind already.

    The job, and whether it was this call that did it; if that failed, its state says so and the
    log says why.
    """
    job, begun = _begin(kind, None, once=True)
    if begun:
        _work(job, work)
    return job, begun


def under_way(kind: str) -> Job | None:
    """The job of this kind that is waiting or running in a process that lives."""
    return Job.objects.filter(
        kind=kind, state__in=UNDER_WAY, alive_at__gt=timezone.now() - ABANDONED_AFTER
    ).first()


def just_failed(kind: str) -> Job | None:
    """The last job of this kind, if it failed within a minute: it is not tried at every page."""
    last = Job.objects.filter(kind=kind).first()
    if last is None or last.state != Job.State.FAILED or last.ended_at is None:
        return None
    return last if last.ended_at > timezone.now() - RETRY_AFTER else None


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
    """Mark jobs that a stopped server left behind as failed; called when the server starts.

    Nobody knows when they ended: work that was merely interrupted is tried again at once.
    """
    return _end_left_behind(Job.objects.all())


def _begin(kind: str, user, once: bool) -> tuple[Job, bool]:
    """A new job of this kind and True; with ``once``, the one that is under way and False."""
    if not once:
        return Job.objects.create(kind=kind, user=user), True
    while True:
        running = under_way(kind)
        if running is not None:
            return running, False
        _end_left_behind(
            Job.objects.filter(kind=kind, alive_at__lte=timezone.now() - ABANDONED_AFTER)
        )
        try:
            with transaction.atomic():
                job = Job.objects.create(kind=kind, user=user, alone=True)
        except IntegrityError:  # another one was quicker
            continue
        _forget_old(kind)
        return job, True


def _end_left_behind(jobs: QuerySet[Job]) -> int:
    return jobs.filter(state__in=UNDER_WAY).update(
        state=Job.State.FAILED,
        note=_("Interrupted when the herd-book was closed."),
    )


def _forget_old(kind: str) -> None:
    """Delete jobs of this kind that ended long ago: figures make one after every write."""
    old = Job.objects.filter(kind=kind, alive_at__lt=timezone.now() - KEPT_FOR)
    old.exclude(state__in=UNDER_WAY).delete()


def _run(job: Job, work: Work) -> None:
    try:
        _work(job, work)
    finally:
        connection.close()


def _work(job: Job, work: Work) -> None:
    try:
        with _kept_alive(job):
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


@contextmanager
def _kept_alive(job: Job) -> Iterator[None]:
    """Within it, another thread renews the job's row, so that nobody takes it for abandoned."""
    over = threading.Event()
    threading.Thread(target=_renew, args=(job.pk, over), daemon=True).start()
    try:
        yield
    finally:
        over.set()


def _renew(key: int, over: threading.Event) -> None:
    while not over.wait(RENEWED_EVERY_S):
        try:
            Job.objects.filter(pk=key).update(alive_at=timezone.now())
        except OperationalError:  # the database is taken: the next time will do
            logger.warning("job %s could not be renewed yet", key)
        finally:
            connection.close()


def _end(job: Job) -> None:
    """Write that a job is over, again after a while where the database is taken: one that stayed
    under way for ever would never be started again."""
    for pause_s in (*PAUSES_S, None):
        try:
            job.save(update_fields=["state", "progress", "note", "ended_at"])
            return
        except OperationalError:
            if pause_s is None:
                raise
            logger.warning("the end of job %s could not be written yet", job.kind)
            time.sleep(pause_s)
