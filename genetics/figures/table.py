"""The table of figures, and what is stored beside it: all at once, for whoever reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import connection, transaction
from django.db.models import Field
from django.utils import timezone

from genetics.figures.statement_log import freeze
from genetics.models import Figure, Reckoning, SireShare
from genetics.snapshot.parameters import CurrentParameters, current_parameters
from genetics.snapshot.reading import ColourOdds
from herdbook.book.models import Animal, Litter

# So many statements are frozen in one transaction.
IN_ONE_GO = 2_000


@dataclass(frozen=True)
class ComputedFigures:
    """What one calculation of the book gives: rows to be stored, ``troubles`` as plain data.

    ``kept_shares``: keys of the shares in the table that stay, of families that have not changed.
    """

    figures: list[Figure] = field(default_factory=list)
    shares: list[SireShare] = field(default_factory=list)
    troubles: list[dict] = field(default_factory=list)
    current_parameters: CurrentParameters = field(default_factory=current_parameters)
    colour_odds: ColourOdds = field(default_factory=dict)
    slow_families: list[str] = field(default_factory=list)
    kept_shares: frozenset[int] = frozenset()


def store(
    reckoned: ComputedFigures, revision: int, before: Reckoning, *, engine: str, said_by: str
) -> bool:
    """Store what was worked out beside the figures of ``before``, all at once for whoever reads.

    ``engine`` marks the figures and ``said_by`` the statements that are frozen of them. False where
    others were stored meanwhile, unless they are newer: then these are not wanted.
    """
    first, rest = reckoned.figures[:IN_ONE_GO], reckoned.figures[IN_ONE_GO:]
    for begin in range(0, len(rest), IN_ONE_GO):  # long: short transactions, so that saves go on
        _freeze(reckoned, rest[begin : begin + IN_ONE_GO], said_by)
    with transaction.atomic():
        Reckoning.objects.get_or_create(pk=1)
        made = Reckoning.objects.select_for_update().get(pk=1)
        if (made.revision, made.made_at) != (before.revision, before.made_at):
            return made.revision > revision
        there = set(Animal.objects.values_list("pk", flat=True))
        upsert([row for row in reckoned.figures if row.animal_id in there])
        if any(trouble["kind"] == "pedigree" for trouble in reckoned.troubles):
            Figure.objects.update(family="")  # their shares go
        _store_shares(reckoned, there)
        _freeze(reckoned, first, said_by)
        made.revision = revision
        made.engine = engine
        made.made_at = timezone.now()
        made.troubles = reckoned.troubles
        made.slow_families = reckoned.slow_families
        made.colour_odds = [
            [litter, boar, one]
            for litter, boars in reckoned.colour_odds.items()
            for boar, one in boars.items()
        ]
        made.save()
    return True


def _store_shares(reckoned: ComputedFigures, there: set[int]) -> None:
    gone = set(SireShare.objects.values_list("pk", flat=True)) - reckoned.kept_shares
    for begin in range(0, len(gone), IN_ONE_GO):
        SireShare.objects.filter(pk__in=sorted(gone)[begin : begin + IN_ONE_GO]).delete()
    litters = set(Litter.objects.values_list("pk", flat=True))
    SireShare.objects.bulk_create(
        [
            row
            for row in reckoned.shares
            if row.litter_id in litters and (row.boar_id is None or row.boar_id in there)
        ],
        batch_size=500,
    )


@transaction.atomic
def _freeze(reckoned: ComputedFigures, figures: Sequence[Figure], said_by: str) -> None:
    # Rows of animals that were taken out meanwhile went with them.
    keys = [figure.animal_id for figure in figures]
    there = set(Animal.objects.filter(pk__in=keys).values_list("pk", flat=True))
    some = [figure for figure in figures if figure.animal_id in there]
    freeze(some, said_by, reckoned.current_parameters.fit)


def _column(field: Field[Any, Any]) -> str:
    """The column of a field that has one, quoted for SQL."""
    assert field.column is not None, "a concrete field has a column"
    return connection.ops.quote_name(field.column)


def upsert(figures: Sequence[Figure]) -> None:
    """Write figures, each over the one of its animal where there is one.

    By plain SQL, which PostgreSQL and SQLite share: a register's rows by way of the models would
    keep a save that waits for them several times as long.
    """
    if not figures:
        return
    fields = Figure._meta.concrete_fields
    names = [_column(field) for field in fields]
    key = _column(Figure._meta.pk)
    over = ", ".join(f"{name} = excluded.{name}" for name in names if name != key)
    table = connection.ops.quote_name(Figure._meta.db_table)
    places = ", ".join(["%s"] * len(names))
    columns = [field.attname for field in fields]
    with connection.cursor() as cursor:
        cursor.executemany(
            f"INSERT INTO {table} ({', '.join(names)}) VALUES ({places}) "  # noqa: S608
            f"ON CONFLICT ({key}) DO UPDATE SET {over}",
            [[getattr(figure, column) for column in columns] for figure in figures],
        )
