"""One form sent twice at the same moment, to a book on disk, by two threads."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent.parent

PROGRAM = """
import datetime, threading
import django
django.setup()
from django.core.management import call_command
from django.db import connection
call_command("migrate", verbosity=0)
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.litters import record_litter
from herdbook.book.services.change_set import AlreadyWrittenError, Submission
from herdbook.book.inputs import LitterEntry, PupEntry
from herdbook.book.models import Book, Litter
from tests.cast import make_cast

cast = make_cast()
before = Litter.objects.count()
together = threading.Barrier(4)
outcomes = []

def send(key):
    entry = LitterEntry(
        dam=cast.tansy, born=PartialDate(2026, 11, 20), pups=(PupEntry(sex="boar"),)
    )
    together.wait()
    try:
        litter = record_litter(
            Submission(cast.owner, datetime.date(2026, 11, 25), key=key, answered=ANSWERED),
            herd=cast.herd, entry=entry,
        )
        outcomes.append(("written", str(litter.public_id), litter.pups.get().number))
    except AlreadyWrittenError as again:
        outcomes.append(("again", str(again.change_set.subject), ""))
    finally:
        connection.close()

threads = [threading.Thread(target=send, args=(key,)) for key in KEYS]
for thread in threads: thread.start()
for thread in threads: thread.join()
print(sorted(outcome for outcome, *_ in outcomes))
print(len({subject for _, subject, _ in outcomes}))
print(sorted(number for *_, number in outcomes if number))
print(Litter.objects.count() - before, Book.objects.get().revision)
"""


def run(tmp_path, keys, answered=()):
    program = PROGRAM.replace("KEYS", repr(keys)).replace("ANSWERED", repr(answered))
    environment = {
        **os.environ,
        "HERDBOOK_HOME": str(tmp_path),
        "HERDBOOK_DATABASE": f"sqlite:///{tmp_path / 'book.sqlite3'}",
        "DJANGO_SETTINGS_MODULE": "herdbook.settings",
        "PYTHONPATH": str(TOP),
    }
    ran = subprocess.run(
        [sys.executable, "-c", program],
        env=environment,
        cwd=TOP,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert not ran.stderr, ran.stderr
    return ran.stdout.splitlines()


@pytest.mark.slow
def test_one_form_in_four_threads_is_written_once(tmp_path):
    outcomes, subjects, numbers, counts = run(tmp_path, ["one"] * 4)
    assert outcomes == "['again', 'again', 'again', 'written']"
    assert subjects == "1"
    assert numbers == "['7']"
    assert counts == "1 1"


@pytest.mark.slow
def test_four_forms_in_four_threads_are_all_written_with_numbers_of_their_own(tmp_path):
    keys = ["one", "two", "three", "four"]
    # The same dam four times over: the book asks, and the keepers say that it is so.
    answered = tuple(f"litters-close:{key}" for key in range(1, 30))
    outcomes, subjects, numbers, counts = run(tmp_path, keys, answered)
    assert outcomes == str(["written"] * 4)
    assert subjects == "4"
    assert numbers == "['10', '7', '8', '9']"
    assert counts == "4 4"
