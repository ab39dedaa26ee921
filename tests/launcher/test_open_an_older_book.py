"""A book made before the migrations were put together opens, and becomes what a new one is."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
#: Made by the version whose last migrations were book 0008 and genetics 0015: the cast of the
#: tests with a check and a weight, dumped by sqlite3.
OLDER = Path(__file__).with_name("older_book.sql")

OPEN = """
import django; django.setup()
from pathlib import Path
from django.conf import settings
from herdbook.launcher.migrating import bring_up_to_date
bring_up_to_date(settings.HOME / "backups")
from django.core.management import call_command
call_command("makemigrations", check=True, dry_run=True, verbosity=0)
from genetics.figures.refresh import ensure_current
assert ensure_current().fresh
"""


def opened(home):
    """The book of this folder after this version has opened it, and what it said."""
    run = subprocess.run(
        [sys.executable, "-c", OPEN],
        cwd=PROJECT,
        env=os.environ
        | {"HERDBOOK_HOME": str(home), "DJANGO_SETTINGS_MODULE": "herdbook.settings"},
        capture_output=True,
        text=True,
        check=False,
    )
    return sqlite3.connect(home / "book.sqlite3"), run


def columns(book):
    """Each table with its columns: name, type, whether null is refused, part of the key."""
    tables = book.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
    return {
        table: sorted(
            (name, kind, null, key)
            for _id, name, kind, null, _default, key in book.execute(f"PRAGMA table_info({table})")
        )
        for (table,) in tables.fetchall()
        if not table.startswith("sqlite_")
    }


@pytest.fixture
def older(tmp_path):
    home = tmp_path / "older"
    home.mkdir()
    with sqlite3.connect(home / "book.sqlite3") as book:
        book.executescript(OLDER.read_text("utf-8"))
    book.close()
    return home


@pytest.mark.slow
def test_it_works(older, tmp_path):
    book, run = opened(older)
    assert run.returncode == 0, run.stderr
    names = {name for (name,) in book.execute("SELECT name FROM book_animal")}
    assert names == {"Bramble", "Wren", "Tansy", "Flint", "Rook", "Sorrel"}
    assert book.execute("SELECT stage FROM book_look").fetchall() == [("full",)]
    assert book.execute("SELECT weight_g FROM book_weighing").fetchall() == [(640,)]
    new = tmp_path / "new"
    new.mkdir()
    fresh, run = opened(new)
    assert run.returncode == 0, run.stderr
    assert columns(book) == columns(fresh)
    assert list((older / "backups").iterdir()), "it is copied before it is changed"


@pytest.mark.slow
def test_it_refuses_a_book_of_a_version_to_come(older):
    with sqlite3.connect(older / "book.sqlite3") as book:
        book.execute(
            "INSERT INTO django_migrations (app, name, applied) "
            "VALUES ('book', '0999_to_come', '2030-01-01')"
        )
    book.close()
    _book, run = opened(older)
    assert run.returncode != 0
    assert "book 0999_to_come" in run.stderr
