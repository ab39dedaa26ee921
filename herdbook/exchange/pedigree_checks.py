"""Checks between the rows of a pedigree file: parents, sexes, ages, litters, loops."""

import dataclasses
import math
from collections import deque
from collections.abc import Iterable, Iterator
from datetime import date

from django.utils.translation import gettext as _

from herdbook.exchange.fault_list import FaultList, shown
from herdbook.exchange.rows import AnimalRow

LONGEST_LOOP_SHOWN = 12
PARENT_COLUMNS = ("sire", "dam")
SAME_SHARE = 1e-9


def check_relations(rows: list["AnimalRow"], faults: FaultList) -> list["AnimalRow"]:
    """Add to `faults` every contradiction between the rows; return the rows with each sex that
    follows from use filled in."""
    animals = _by_id(rows, faults)
    _check_parents_have_rows(rows, animals, faults)
    _check_ages(rows, animals, faults)
    _check_litters(rows, faults)
    _check_loops(animals, faults)
    return _with_sexes(rows, animals, faults)


def _parents(row: "AnimalRow", column: str) -> tuple[str, ...]:
    return row.sires if column == "sire" else row.dams


def _by_id(rows: list["AnimalRow"], faults: FaultList) -> dict[str, "AnimalRow"]:
    animals: dict[str, AnimalRow] = {}
    for row in filter(lambda row: row.id, rows):
        first = animals.setdefault(row.id, row)
        if first is not row:
            faults.add(
                row.number,
                "id",
                _("%(id)s is already in row %(first)s. Give one of them another id.")
                % {"id": shown(row.id), "first": first.number},
            )
    return animals


def _check_parents_have_rows(
    rows: list["AnimalRow"], animals: dict[str, "AnimalRow"], faults: FaultList
) -> None:
    for row in rows:
        for column in PARENT_COLUMNS:
            for parent in _parents(row, column):
                if parent not in animals:
                    faults.add(
                        row.number,
                        column,
                        _(
                            "%(id)s has no row in this file. Add one, correct the spelling, or "
                            "leave the parent blank."
                        )
                        % {"id": shown(parent)},
                    )


def _check_ages(
    rows: list["AnimalRow"], animals: dict[str, "AnimalRow"], faults: FaultList
) -> None:
    for row in rows:
        if row.born is None:
            continue
        for column in PARENT_COLUMNS:
            for parent in filter(None, map(animals.get, _parents(row, column))):
                if parent is not row and parent.born and parent.born >= row.born:
                    faults.add(row.number, column, _not_older(row, parent))


def _not_older(row: "AnimalRow", parent: "AnimalRow") -> str:
    return _(
        "%(id)s (row %(row)s, born %(parent_born)s) is not older than its young, born %(born)s. "
        "Correct a date or the parent."
    ) % {
        "id": shown(parent.id),
        "row": parent.number,
        "parent_born": parent.born,
        "born": row.born,
    }


def _check_litters(rows: list["AnimalRow"], faults: FaultList) -> None:
    """Pups of one litter have the same parents, and are born within a day of each other: a label
    used for two litters would make one unknown parent of two."""
    first: dict[tuple[str, str], AnimalRow] = {}
    births: dict[str, tuple[AnimalRow, date]] = {}
    for row in filter(lambda row: row.litter, rows):
        for column in PARENT_COLUMNS:
            if faults.holds(row.number, column) or faults.holds(row.number, ""):
                continue
            other = first.setdefault((row.litter, column), row)
            if not _same_parents(row, other, column):
                faults.add(row.number, column, _differing(row, other))
        if row.born:
            other, born = births.setdefault(row.litter, (row, row.born))
            if abs((row.born - born).days) > 1:
                faults.add(row.number, "born", _born_apart(row, other))


def _same_parents(row: "AnimalRow", other: "AnimalRow", column: str) -> bool:
    ours, theirs = _shares(row, column), _shares(other, column)
    return ours.keys() == theirs.keys() and all(
        math.isclose(ours[parent], theirs[parent], rel_tol=SAME_SHARE) for parent in ours
    )


def _shares(row: "AnimalRow", column: str) -> dict[str, float]:
    weights = row.sire_weights if column == "sire" else row.dam_weights
    return dict(zip(_parents(row, column), weights, strict=True))


def _differing(row: "AnimalRow", other: "AnimalRow") -> str:
    return _(
        "litter %(litter)s has another parent or other weights in row %(row)s. Pups of one litter "
        "share them: make both the same, or give this pup another litter."
    ) % {"litter": shown(row.litter), "row": other.number}


def _born_apart(row: "AnimalRow", other: "AnimalRow") -> str:
    return _(
        "litter %(litter)s is born %(other)s in row %(row)s and %(born)s here. Correct a date, or "
        "give this pup another litter."
    ) % {
        "litter": shown(row.litter),
        "other": other.born,
        "row": other.number,
        "born": row.born,
    }


def _with_sexes(
    rows: list["AnimalRow"], animals: dict[str, "AnimalRow"], faults: FaultList
) -> list["AnimalRow"]:
    used: dict[str, dict[str, int]] = {column: {} for column in PARENT_COLUMNS}
    for row in rows:
        for column in PARENT_COLUMNS:
            for parent in _parents(row, column):
                used[column].setdefault(parent, row.number)
    return [
        _with_sex(row, used["sire"].get(row.id), used["dam"].get(row.id), faults)
        if animals.get(row.id) is row and not faults.holds(row.number, "sex")
        else row
        for row in rows
    ]


def _with_sex(
    row: "AnimalRow", as_sire: int | None, as_dam: int | None, faults: FaultList
) -> "AnimalRow":
    if row.sex:
        wrong, use = (as_sire, _("sire")) if row.sex == "sow" else (as_dam, _("dam"))
        if wrong is not None:
            faults.add(
                row.number,
                "sex",
                _("%(id)s is a %(sex)s here, but a %(use)s in row %(row)s. Correct one of them.")
                % {"id": shown(row.id), "sex": row.sex, "use": use, "row": wrong},
            )
        return row
    if as_sire is not None and as_dam is not None:
        faults.add(
            row.number,
            "sex",
            _(
                "%(id)s is a sire in row %(sire)s and a dam in row %(dam)s. Correct the wrong one; "
                "an animal is one or the other."
            )
            % {"id": shown(row.id), "sire": as_sire, "dam": as_dam},
        )
        return row
    if as_sire is not None:
        return dataclasses.replace(row, sex="boar")
    return row if as_dam is None else dataclasses.replace(row, sex="sow")


def _check_loops(animals: dict[str, "AnimalRow"], faults: FaultList) -> None:
    """One fault for each cycle of animals that are their own ancestors, also through possible
    parents."""
    for component in _cyclic_components(_unpeeled(animals)):
        start = min(component, key=lambda parent: animals[parent].number)
        loop = [animals[parent] for parent in _shortest_loop(start, component)]
        column = "sire" if loop[1].id in loop[0].sires else "dam"
        faults.add(loop[0].number, column, _loop_in_words(loop))


def _unpeeled(animals: dict[str, "AnimalRow"]) -> dict[str, list[str]]:
    """The animals left, with the parents left, when those without a parent left are removed again
    and again: every animal that is its own ancestor, or descends from one."""
    parents = {
        name: [parent for parent in (*row.sires, *row.dams) if parent in animals]
        for name, row in animals.items()
    }
    young: dict[str, list[str]] = {}
    waiting = {}
    for name, above in parents.items():
        waiting[name] = len(above)
        for parent in above:
            young.setdefault(parent, []).append(name)
    free = [name for name, count in waiting.items() if not count]
    while free:
        gone = free.pop()
        del waiting[gone]
        for name in young.get(gone, ()):
            waiting[name] -= 1
            if not waiting[name]:
                free.append(name)
    return {name: [p for p in parents[name] if p in waiting] for name in waiting}


def _cyclic_components(parents: dict[str, list[str]]) -> Iterator[dict[str, list[str]]]:
    """The strongly connected components with a cycle, of a graph in which each has a parent."""
    if not parents:
        return
    # Loaded here since a file without a loop, nearly every one, never needs it.
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    place = {name: number for number, name in enumerate(parents)}
    links = [(place[name], place[p]) for name, above in parents.items() for p in above]
    down, up = zip(*links, strict=True)
    graph = coo_array(([1] * len(links), (down, up)), shape=(len(place), len(place)))
    count, label = connected_components(graph.tocsr(), connection="strong")
    members: list[set[str]] = [set() for _part in range(count)]
    for name, part in zip(parents, label, strict=True):
        members[part].add(name)
    for part in members:
        component = {name: [p for p in parents[name] if p in part] for name in part}
        if any(component.values()):
            yield component


def _shortest_loop(start: str, parents: dict[str, list[str]]) -> list[str]:
    """From `start` up through parents and back to `start`, by breadth-first search."""
    reached: dict[str, str] = {}
    ahead = deque([start])
    while start not in reached:
        name = ahead.popleft()
        for parent in parents[name]:
            if parent not in reached:
                reached[parent] = name
                ahead.append(parent)
    loop = [start, reached[start]]
    while loop[-1] != start:
        loop.append(reached[loop[-1]])
    return loop[::-1]


def _loop_in_words(loop: Iterable["AnimalRow"]) -> str:
    named = [_("%(id)s (row %(row)s)") % {"id": shown(row.id), "row": row.number} for row in loop]
    if len(named) > LONGEST_LOOP_SHOWN:
        left_out = len(named) - LONGEST_LOOP_SHOWN
        named[LONGEST_LOOP_SHOWN - 2 : -2] = [_("%(count)s more") % {"count": left_out}]
    return _("the animal is its own ancestor: %(loop)s. Correct one of these parents.") % {
        "loop": _(", from ").join(named)
    }
