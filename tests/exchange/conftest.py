"""The commands as anyone runs them, in this process or another, away from every book."""

import csv
import io
import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest
from django.core.management import execute_from_command_line

PROJECT = Path(__file__).resolve().parents[2]


class Run(NamedTuple):
    status: int
    stdout: bytes
    faults: list[str]

    @property
    def rows(self):
        """What was written, below the header, by column."""
        return list(csv.DictReader(io.StringIO(self.stdout.decode("utf-8"), newline="")))


@pytest.fixture
def run(tmp_path, capfdbinary):
    """`run("kinship", table, "--pair", "A", "B")`: status, bytes and lines of a command line.

    It runs in this process, where reading or writing a book fails the test.
    """

    def command(name, table, *options):
        line = ["manage.py", name, str(_path_of(table, tmp_path)), *options]
        status = 0
        capfdbinary.readouterr()
        try:
            execute_from_command_line(line)
        except SystemExit as end:
            status = end.code
        out, err = capfdbinary.readouterr()
        return Run(status, out, err.decode("utf-8").splitlines())

    return command


@pytest.fixture
def run_process(tmp_path):
    """The same in a process of its own, for what a process alone can show.

    `table` is the text or bytes of the file, or a path. Every run uses a data folder that starts
    out empty, and fails if a book appears in it.
    """

    def command(name, table, *options, stdin=None, **environment):
        path = _path_of(table, tmp_path)
        home = tmp_path / "home"
        done = subprocess.run(
            [sys.executable, "manage.py", name, str(path), *options],
            cwd=PROJECT,
            env=os.environ
            | {"HERDBOOK_HOME": str(home), "DJANGO_SETTINGS_MODULE": "herdbook.settings"}
            | environment,
            input=stdin,
            capture_output=True,
            check=False,
        )
        assert not list(home.glob("*.sqlite3")), "the command touched a book"
        lines = done.stderr.decode("utf-8").splitlines()
        # What manage.py says of its own environment is no word of the command's.
        return Run(
            done.returncode, done.stdout, [line for line in lines if not line.startswith("Note: ")]
        )

    return command


def _path_of(table, folder):
    """The table's path, or the file of its text or bytes in the folder."""
    if isinstance(table, Path):
        return table
    path = folder / "herd.csv"
    path.write_bytes(table if isinstance(table, bytes) else table.encode("utf-8"))
    return path


def as_table(rows):
    """Rows of dictionaries as the text of a CSV file."""
    columns = list(dict.fromkeys(column for row in rows for column in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
