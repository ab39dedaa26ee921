"""The findings of the book's rules on a file to be imported, each with its row.

Rules that compare a record with others of its animal have none to compare with, since every
animal of a file is new to the book.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import NamedTuple

from django.utils.translation import gettext as _

from herdbook.book import limits
from herdbook.book.inputs import LookEntry, ParentsEntry
from herdbook.book.models import Animal
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.animals import hidden_signs
from herdbook.book.rules.findings import ASK, Finding, ask, refuse
from herdbook.book.rules.litters import parents_findings
from herdbook.book.rules.observations import lone_look_findings
from herdbook.exchange.fault_list import shown
from herdbook.exchange.plan import LitterPlan, Plan
from herdbook.exchange.rows import AnimalRow

Found = tuple[int, Finding]

_COLUMNS = {"boars": "sire", "dam": "dam", "born": "born", "on": "seen", "stage": "points"}
_MOST_ROWS_SHOWN = 12


def findings(plan: Plan, *, today: date) -> Iterator[Found]:
    """Every finding, by the row as a spreadsheet numbers it; a question's message names it too."""
    for row, finding in _all(plan, today):
        yield row, _in_the_file(row, finding)


def _all(plan: Plan, today: date) -> Iterator[Found]:
    yield from _already_in_the_book(plan)
    yield from _hidden_signs(plan)
    for family in plan.litters:
        yield from _parents(family, today)
        yield from _births_apart(family)
    yield from _littermates_apart(plan)
    yield from _litters_close(plan)
    row_of = {id(animal): row.number for animal, row in _with_rows(plan)}
    for look in plan.looks:
        entry = LookEntry(look.animal, look.on, look.stage)
        for finding in lone_look_findings(entry, today=today):
            yield row_of[id(look.animal)], finding


def _with_rows(plan: Plan):
    return zip(plan.animals.values(), plan.rows, strict=True)


def _in_the_file(row: int, finding: Finding) -> Finding:
    column = _COLUMNS.get(finding.field, finding.field)
    if finding.kind != ASK:
        return replace(finding, field=column)
    code = f"{finding.code.partition(':')[0]}:{row}"
    message = _("Row %(row)s: %(question)s") % {"row": row, "question": finding.message}
    return replace(finding, code=code, message=message, field=column)


def _hidden_signs(plan: Plan) -> Iterator[Found]:
    for animal, row in _with_rows(plan):
        values = {
            column: getattr(animal, column) for column in ("name", "number", "tag", "breeder")
        }
        for finding in hidden_signs(values):
            yield row.number, finding


def _already_in_the_book(plan: Plan) -> Iterator[Found]:
    """Another animal of the herd with the number, name or tag that the id would become."""
    there: dict[str, dict[str, Animal]] = {"number": {}, "name": {}, "tag": {}}
    written = Animal.objects.filter(herd=plan.herd).only("stud_prefix", *there)
    for animal in written:
        for column, known in there.items():
            known.setdefault(getattr(animal, column), animal)
    for animal, row in _with_rows(plan):
        for column, known in there.items():
            text = getattr(animal, column)
            if text != row.id or text not in known:
                continue
            words = {"id": shown(text), "animal": known[text].label}
            if column == "number":
                yield row.number, refuse("number-taken", _number_taken(words), "id")
            else:
                yield row.number, ask("same-name", _same_name(words), "id")


def _number_taken(words: dict) -> str:
    text = _(
        "No. %(id)s is already in the herd: %(animal)s. Give this animal another id, or delete "
        "the row if it is the same one."
    )
    return text % words


def _same_name(words: dict) -> str:
    return _("%(id)s is already in the herd: %(animal)s. Is this another animal?") % words


def _parents(family: LitterPlan, today: date) -> Iterator[Found]:
    boars = tuple(sire.boar for sire in family.sires)
    entry = ParentsEntry(dam=family.litter.dam, boars=boars, born=family.litter.born)
    for finding in parents_findings(entry, today=today):
        yield family.rows[0].number, finding


def _births_apart(family: LitterPlan) -> Iterator[Found]:
    days = sorted({row.born for row in family.rows if row.born})
    if len(days) > 1:
        yield (
            family.rows[0].number,
            ask(
                "births-apart",
                _("litter %(litter)s has two dates of birth, but can have only one. Is it %(day)s?")
                % {"litter": shown(family.rows[0].litter), "day": days[0]},
                "born",
            ),
        )


class _Dated(NamedTuple):
    """A litter of a known dam and day of birth, by its first row."""

    dam: Animal
    born: PartialDate
    row: AnimalRow


def _dated(plan: Plan) -> dict[str, list[_Dated]]:
    """The dated litters of each dam, oldest first."""
    by_dam: dict[str, list[_Dated]] = defaultdict(list)
    for family in plan.litters:
        dam, born, row = family.litter.dam, family.litter.born, family.rows[0]
        if dam is not None and born is not None and len(row.dams) == 1:
            by_dam[row.dams[0]].append(_Dated(dam, born, row))
    for dated in by_dam.values():
        dated.sort(key=lambda one: (one.born.earliest, one.row.number))
    return by_dam


def _one_birth(first: _Dated, second: _Dated) -> bool:
    return (
        first.born == second.born
        and set(first.row.sires) == set(second.row.sires)
        and not (first.row.litter and second.row.litter)
    )


def _pairs(plan: Plan) -> Iterator[tuple[_Dated, _Dated]]:
    for families in _dated(plan).values():
        yield from zip(families, families[1:], strict=False)


def _littermates_apart(plan: Plan) -> Iterator[Found]:
    """One question for all that look like littermates and have no key in common: where that
    column was never filled in, a question each would hide all the others."""
    apart = [later.row.number for first, later in _pairs(plan) if _one_birth(first, later)]
    if apart:
        first, *others = sorted(apart)
        message = _(
            "dam, sire and date of birth match an earlier row, but 'litter' does not. Is it from "
            "another litter? If not, fill in 'litter'."
        )
        if others:
            message += " " + _("The same applies to rows %(rows)s.") % {"rows": _listed(others)}
        yield first, ask("littermates-apart", message, "litter")


def _listed(rows: list[int]) -> str:
    listed = ", ".join(map(str, rows[:_MOST_ROWS_SHOWN]))
    left = len(rows) - _MOST_ROWS_SHOWN
    return (
        listed if left <= 0 else _("%(rows)s and %(count)d more") % {"rows": listed, "count": left}
    )


def _litters_close(plan: Plan) -> Iterator[Found]:
    for first, later in _pairs(plan):
        days = (later.born.earliest - first.born.earliest).days
        if days < limits.GESTATION_SHORTEST_DAYS and not _one_birth(first, later):
            yield (
                later.row.number,
                ask(
                    "litters-close",
                    _(
                        "%(animal)s also has a litter of %(date)s (row %(row)s), %(days)d days "
                        "away. Is that right?"
                    )
                    % {
                        "animal": later.dam.label,
                        "date": first.born.words(),
                        "row": first.row.number,
                        "days": days,
                    },
                    "born",
                ),
            )
