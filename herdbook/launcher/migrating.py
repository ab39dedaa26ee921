"""Brings a book up to the version that opens it, with a copy made first."""

from collections.abc import Mapping
from pathlib import Path

from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.migration import Migration

from .backups import back_up
from .exceptions import StartError


def bring_up_to_date(backups: Path) -> Path | None:
    """Applies what the book still lacks; returns the copy made before, if there was a book.

    Raises StartError, each before anything is changed.
    """
    executor = MigrationExecutor(connection)
    applied = set(executor.loader.applied_migrations)
    unknown = applied - _known(executor.loader.disk_migrations)
    if unknown:
        names = ", ".join(sorted(f"{app} {name}" for app, name in unknown))
        raise StartError(
            f"This data was last opened by a newer version of the herd-book (it has {names}): "
            "open it with that version."
        )
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return None
    copy = back_up(connection, backups) if applied else None
    try:
        call_command("migrate", interactive=False, verbosity=0)
    except Exception as error:
        if copy:
            error.add_note(f"A copy of the data from before is in {copy}.")
        raise
    return copy


def _known(migrations: Mapping[tuple[str, str], Migration]) -> set[tuple[str, str]]:
    """The migrations there are, and those that they replace."""
    replaced = {one for migration in migrations.values() for one in migration.replaces}
    return replaced | set(migrations)
