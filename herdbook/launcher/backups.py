"""A copy of the book before it is changed to suit a newer version."""

import contextlib
import os
import shutil
import sqlite3
import subprocess
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper
from django.utils import timezone

from .exceptions import StartError

KEPT = 10


def back_up(connection: BaseDatabaseWrapper, folder: Path) -> Path:
    """Copies the whole book into `folder`, keeping the last ten; returns the copy.

    The copy gets its name when it is whole. Raises StartError or OSError.
    """
    copy = copy_sqlite if connection.vendor == "sqlite" else copy_postgresql
    suffix = ".sqlite3" if connection.vendor == "sqlite" else ".dump"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{timezone.now():%Y-%m-%dT%H%M%S.%fZ}{suffix}"
    half = path.with_suffix(".half")
    try:
        copy(connection, half)
        half.replace(path)
    finally:
        half.unlink(missing_ok=True)
    for old in sorted(folder.glob(f"*{suffix}"))[:-KEPT]:
        old.unlink()
    return path


def copy_sqlite(connection: BaseDatabaseWrapper, path: Path) -> None:
    """In one step (`pages=-1`): a copy page by page beside a writer may never finish."""
    connection.ensure_connection()
    with contextlib.closing(sqlite3.connect(path)) as target:
        connection.connection.backup(target, pages=-1)


def copy_postgresql(connection: BaseDatabaseWrapper, path: Path) -> None:
    """By pg_dump, which must be as new as the server."""
    program = shutil.which("pg_dump")
    if not program:
        raise StartError(
            "The herd-book must be backed up before it is updated, and pg_dump, which makes the "
            "copy, is not installed: install PostgreSQL's client programs and start again."
        )
    values = connection.get_connection_params()
    command = [program, "--format=custom", f"--file={path}", f"--dbname={values['dbname']}"]
    command += [
        f"--{option.replace('user', 'username')}={values[option]}"
        for option in ("host", "port", "user")
        if values.get(option)
    ]
    environment = os.environ | {"PGPASSWORD": str(values.get("password", ""))}
    outcome = subprocess.run(command, check=False, capture_output=True, text=True, env=environment)
    if outcome.returncode != 0:
        raise StartError(
            "The herd-book must be backed up before it is updated, and pg_dump failed: "
            + outcome.stderr.strip()
        )
