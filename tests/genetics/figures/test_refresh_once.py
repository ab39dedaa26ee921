"""The figures of a revision are made once, whoever asks; older ones never replace newer ones."""

import os
import signal
import subprocess
import sys
import threading
import uuid
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from genetics import jobs
from genetics.figures import refresh
from genetics.figures.refresh import compute_figures, ensure_current
from genetics.models import Figure, Job, Reckoning, Said
from herdbook.book.models import Book, GivenEvidence

TOP = Path(__file__).resolve().parents[3]

# Makes the book with one herd.
SET_UP = """
import django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from tests.cast import make_cast
make_cast()
"""

# Four pages at once; says how often this process made the figures, and what the pages found.
FOUR_PAGES = """
import sys, threading, time
import django
django.setup()
from django.db import connection
from genetics.figures import refresh as figures
from genetics.models import Reckoning

made, found, make = [], [], figures._store
def count(*what):
    made.append(1)
    time.sleep(0.5)
    return make(*what)
figures._store = count

def page():
    together.wait()
    found.append(figures.ensure_current().fresh)
    connection.close()

together = threading.Barrier(4)
print("ready", flush=True)
sys.stdin.readline()
threads = [threading.Thread(target=page) for _ in range(4)]
for thread in threads: thread.start()
for thread in threads: thread.join()
print(len(made), found.count(True), Reckoning.objects.get().revision)
"""

# Begins to make the figures and never ends.
ONE_THAT_HANGS = """
import time
import django
django.setup()
from genetics.figures import refresh as figures
def hang(*what):
    print("begun", flush=True)
    time.sleep(600)
figures._store = hang
figures.ensure_current()
"""


@pytest.fixture
def book(tmp_path):
    """The environment of processes that share a book of their own, on the database under test."""
    database = f"sqlite:///{tmp_path / 'book.sqlite3'}"
    if connection.vendor == "postgresql":
        name = f"book_{uuid.uuid4().hex}"
        database = os.environ["HERDBOOK_DATABASE"].rsplit("/", 1)[0] + f"/{name}"
        create = (
            "import django; django.setup(); from django.db import connection as c; "
            f"c.cursor().execute('CREATE DATABASE {name}')"
        )
        said(begin({}, create))
    environment = {"HERDBOOK_HOME": str(tmp_path), "HERDBOOK_DATABASE": database}
    said(begin(environment, SET_UP))
    return environment


def begin(environment, program):
    return subprocess.Popen(
        [sys.executable, "-c", program],
        env={
            **os.environ,
            **environment,
            "DJANGO_SETTINGS_MODULE": "herdbook.settings",
            "PYTHONPATH": str(TOP),
        },
        cwd=TOP,
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def said(process, heard=""):
    out, errors = process.communicate(heard, timeout=120)
    assert process.returncode == 0, errors
    assert not errors, errors
    return out.split()


@pytest.mark.slow
@pytest.mark.database
def test_pages_of_two_processes_make_the_figures_once(book):
    processes = [begin(book, FOUR_PAGES) for _ in range(2)]
    for process in processes:
        assert process.stdout.readline() == "ready\n"
    answers = [None, None]

    def let_go(number):
        answers[number] = said(processes[number], "go\n")

    threads = [threading.Thread(target=let_go, args=(number,)) for number in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    made, fresh, revisions = zip(*answers, strict=True)
    assert sorted(made) == ["0", "1"]
    assert fresh == ("4", "4")
    assert set(revisions) == {"0"}


@pytest.mark.slow
@pytest.mark.database
def test_the_job_of_a_process_that_was_ended_is_taken_over(book):
    hangs = begin(book, ONE_THAT_HANGS)
    assert hangs.stdout.readline() == "begun\n"
    hangs.send_signal(signal.SIGKILL)
    hangs.communicate()
    begin_anew = (
        FOUR_PAGES.replace(
            "from genetics.figures import refresh as figures\n",
            "from datetime import timedelta; from genetics import jobs; "
            "from genetics.figures import refresh as figures\n"
            "jobs.ABANDONED_AFTER = timedelta(0)\n",
        )
        .replace("Barrier(4)", "Barrier(1)")
        .replace("range(4)", "range(1)")
    )
    assert said(begin(book, begin_anew), "go\n") == ["ready", "1", "1", "0"]


def test_a_page_waits_for_the_one_that_makes_them(cast, monkeypatch):
    Job.objects.create(kind=refresh.JOB, alone=True, state=Job.State.RUNNING)
    monkeypatch.setattr(refresh.time, "sleep", lambda pause_s: pause_s and compute_figures())

    standing = ensure_current()

    assert standing.fresh
    assert standing.job is None
    assert Job.objects.count() == 1


def test_a_page_that_waited_long_enough_shows_the_last_with_a_word(cast, owner_client, monkeypatch):
    ensure_current()
    before = Figure.objects.get(animal=cast.rook).chances
    Book.objects.update_or_create(pk=1, defaults={"revision": 1})
    job = Job.objects.create(kind=refresh.JOB, alone=True, state=Job.State.RUNNING)
    monkeypatch.setattr(refresh, "PATIENCE_S", 0)

    standing = ensure_current()
    page = owner_client.get(reverse("animals")).content.decode()

    assert (standing.fresh, standing.job) == (False, job)
    assert Figure.objects.get(animal=cast.rook).chances == before
    assert reverse("job", args=[job.public_id]) in page


def test_a_job_that_nobody_renews_is_taken_over(cast):
    ended_without_a_word = timezone.now() - 2 * jobs.ABANDONED_AFTER
    left = Job.objects.create(
        kind=refresh.JOB, alone=True, state=Job.State.RUNNING, alive_at=ended_without_a_word
    )
    assert ensure_current().fresh
    left.refresh_from_db()
    assert left.state == Job.State.FAILED


def test_a_job_that_is_renewed_is_not(cast, monkeypatch):
    alive = timezone.now() - jobs.ABANDONED_AFTER + timedelta(seconds=30)
    Job.objects.create(kind=refresh.JOB, alone=True, state=Job.State.RUNNING, alive_at=alive)
    monkeypatch.setattr(refresh, "PATIENCE_S", 0)
    assert not ensure_current().fresh


@pytest.mark.django_db(transaction=True)
def test_work_that_takes_long_renews_its_job(transactional_db, monkeypatch):
    monkeypatch.setattr(jobs, "RENEWED_EVERY_S", 0.01)
    long_ago = timezone.now() - timedelta(hours=1)
    renewed = threading.Event()

    def work(job):
        Job.objects.filter(pk=job.pk).update(alive_at=long_ago)
        for _ in range(1000):
            if Job.objects.get(pk=job.pk).alive_at > long_ago:
                renewed.set()
                return
            jobs.time.sleep(0.01)

    job, by_us = jobs.run_alone("count", work)
    assert (by_us, job.state) == (True, Job.State.DONE)
    assert renewed.is_set()


def test_figures_that_cannot_be_made_leave_the_last_with_a_word(cast, monkeypatch, caplog):
    ensure_current()
    Book.objects.update_or_create(pk=1, defaults={"revision": 1})
    monkeypatch.setattr(refresh, "_compute", lambda *_: 1 / 0)

    standing = ensure_current()

    assert not standing.fresh
    assert standing.job.state == Job.State.FAILED
    assert "division by zero" in caplog.text
    assert Figure.objects.filter(animal=cast.rook).exists()


def test_an_older_calculation_does_not_replace_a_newer(cast, monkeypatch):
    """Figures of the book before a write are ready only after those of the book with it."""
    Book.objects.update_or_create(pk=1, defaults={"revision": 1})
    reckon, newer = refresh._compute, []

    def slowly(*what):
        older = reckon(*what)
        if not newer:
            newer.append(True)
            GivenEvidence.objects.create(
                herd=cast.herd, animal=cast.rook, like0=1.0, like1=1.0, like2=50.0
            )
            Book.objects.update(revision=2)
            compute_figures()
        return older

    monkeypatch.setattr(refresh, "_compute", slowly)
    compute_figures()

    figure = Figure.objects.get(animal=cast.rook)
    assert (figure.revision, Reckoning.objects.get().revision) == (2, 2)
    assert figure.chances[2] > 0.5
    assert [said.revision for said in Said.objects.filter(animal=cast.rook)] == [2]
    assert ensure_current().fresh
