"""A page that waits for a long calculation shows its progress."""

import pytest
from django.db import OperationalError
from django.urls import reverse
from django.utils import timezone

from genetics import jobs
from genetics.figures import refresh
from genetics.models import Job

HTMX = {"HX-Request": "true"}


@pytest.fixture
def job(cast):
    return Job.objects.create(kind=refresh.JOB, state=Job.State.RUNNING, progress=0.25)


def test_it_works(owner_client, job):
    answer = owner_client.get(reverse("job", args=[job.public_id]), headers=HTMX)

    assert 'value="0.25"' in answer.content.decode()
    assert "every 2s" in answer.content.decode()


def test_other_work_is_told_in_its_own_words(owner_client, cast):
    job = Job.objects.create(kind="count", state=Job.State.RUNNING, note="Round 2 of 5")

    page = owner_client.get(reverse("job", args=[job.public_id])).content.decode()

    assert "Round 2 of 5" in page
    assert "The book has changed" not in page


def test_the_page_is_loaded_anew_once_it_is_done(owner_client, job):
    Job.objects.update(state=Job.State.DONE)

    assert (
        owner_client.get(reverse("job", args=[job.public_id]), headers=HTMX)["HX-Refresh"] == "true"
    )


def test_another_keepers_job_is_not_shown(owner_client, job, other_herd):
    Job.objects.update(user=other_herd[0])

    assert owner_client.get(reverse("job", args=[job.public_id]), headers=HTMX).status_code == 404


def test_a_large_register_waits_on_the_page(owner_client, cast, monkeypatch):
    monkeypatch.setattr(refresh, "AT_ONCE", 2)

    page = owner_client.get(reverse("animals")).content.decode()

    assert reverse("job", args=[Job.objects.get().public_id]) in page


def test_a_failure_is_told_and_not_tried_at_every_page(owner_client, cast, monkeypatch):
    monkeypatch.setattr(refresh, "AT_ONCE", 2)
    Job.objects.create(kind=refresh.JOB, state=Job.State.FAILED, ended_at=timezone.now())

    page = owner_client.get(reverse("animals")).content.decode()

    assert "could not be recalculated" in page
    assert Job.objects.count() == 1


def test_work_left_behind_by_a_stopped_server_has_failed(job):
    assert jobs.end_interrupted() == 1
    assert Job.objects.get().state == Job.State.FAILED


def test_figures_interrupted_by_the_end_of_the_server_are_made_by_the_next_page(owner_client, cast):
    Job.objects.create(kind=refresh.JOB, state=Job.State.RUNNING, alone=True)
    jobs.end_interrupted()
    page = owner_client.get(reverse("animal", args=[cast.rook.public_id])).content.decode()
    assert "could not be recalculated" not in page
    assert Job.objects.first().state == Job.State.DONE


def test_an_interrupted_job_is_forgotten_after_a_day(cast):
    long_ago = timezone.now() - jobs.KEPT_FOR * 2
    Job.objects.create(kind=refresh.JOB, state=Job.State.RUNNING, alone=True, alive_at=long_ago)
    jobs.end_interrupted()
    refresh.ensure_current()
    assert [job.state for job in Job.objects.all()] == [Job.State.DONE]


@pytest.mark.django_db(transaction=True)
def test_a_job_runs_beside_the_page_and_ends(transactional_db):
    seen = []
    job = jobs.start("count", lambda job: (jobs.tell(job, 0.5), seen.append(job.progress)))
    for thread in jobs.threading.enumerate():
        if thread.name == f"job {job.pk}":
            thread.join(10)

    job.refresh_from_db()
    assert (job.state, job.progress, seen) == (Job.State.DONE, 1.0, [0.5])


@pytest.mark.django_db(transaction=True)
def test_a_job_that_fails_says_why(transactional_db):
    def fail(job):
        raise ValueError("no such luck")

    job = jobs.start("fail", fail)
    for thread in jobs.threading.enumerate():
        if thread.name == f"job {job.pk}":
            thread.join(10)

    job.refresh_from_db()
    assert (job.state, job.note) == (Job.State.FAILED, "no such luck")


def test_the_end_of_a_job_is_written_when_the_database_is_free_again(job, monkeypatch):
    save, taken = Job.save, [OperationalError("database is locked")] * 2

    def save_once_free(self, **how):
        if self.ended_at and taken:
            raise taken.pop()
        save(self, **how)

    monkeypatch.setattr(Job, "save", save_once_free)
    monkeypatch.setattr(jobs, "PAUSES_S", (0, 0))
    monkeypatch.setattr(jobs.connection, "close", lambda: None)
    jobs._run(job, lambda job: None)
    assert not taken
    assert Job.objects.get().state == Job.State.DONE
