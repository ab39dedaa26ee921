"""Which families have to be worked out again: those of which anything has changed.

A family is all animals that litters connect. Its mark is a digest of everything that its figures
rest on, and stands with each of its figures; a family whose mark is still the same has the same
figures still.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from genetics.core.pedigree.group_records import GroupCount
from genetics.core.pedigree.litter import Litter
from genetics.models import Figure
from genetics.snapshot.reading import Reading


@dataclass(frozen=True)
class Families:
    """The families of a reading by rows, the mark of each, and which of them have `changed`."""

    rows: list[list[int]]
    marks: list[str]
    changed: list[bool]

    @cached_property
    def changed_rows(self) -> list[int]:
        """The animals of changed families, ascending."""
        pairs = zip(self.rows, self.changed, strict=True)
        return sorted(row for rows, changed in pairs if changed for row in rows)

    @cached_property
    def unchanged_marks(self) -> set[str]:
        pairs = zip(self.marks, self.changed, strict=True)
        return {mark for mark, changed in pairs if not changed}

    @cached_property
    def mark_of(self) -> dict[int, str]:
        """The mark of each animal's family, by row."""
        return {row: mark for rows, mark in zip(self.rows, self.marks, strict=True) for row in rows}

    @property
    def largest_changed(self) -> str:
        """The mark of the changed family with the most animals; '' where none has changed."""
        sizes = zip(map(len, self.rows), self.marks, self.changed, strict=True)
        return max(((size, mark) for size, mark, changed in sizes if changed), default=(0, ""))[1]


def families_of(reading: Reading, engine: str) -> Families:
    """The families of a reading, set beside the figures that stand."""
    standing = dict(Figure.objects.values_list("pk", "family"))
    rows = reading.assumed.families()
    marks = _marks(reading, rows, engine)
    changed = [
        any(standing.get(reading.keys[row]) != mark for row in family)
        for family, mark in zip(rows, marks, strict=True)
    ]
    return Families(rows, marks, changed)


def _marks(reading: Reading, families: Iterable[list[int]], engine: str) -> list[str]:
    family_of = reading.assumed.family_of
    litters: dict[int, list[object]] = defaultdict(list)
    for key, litter in zip(reading.litter_keys, reading.assumed.litters, strict=True):
        litters[int(family_of[_first(litter)])].append((key, _plain(litter)))
    for litter in reading.recorded.litters:
        litters[int(family_of[_first(litter)])].append(_plain(litter))
    marks = []
    for family in families:
        digest = hashlib.blake2b(engine.encode(), digest_size=8)
        digest.update(repr([(row, reading.keys[row]) for row in family]).encode())
        digest.update(reading.likelihood[family].tobytes())
        digest.update(reading.founder_prior[family].tobytes())
        digest.update(repr(litters[int(family_of[family[0]])]).encode())
        marks.append(digest.hexdigest())
    return marks


def _first(litter: Litter) -> int:
    return (litter.pups + litter.candidates)[0]


def _plain(litter: Litter) -> tuple[object, ...]:
    """All that a litter says, as numbers and words."""
    return (
        litter.pups,
        litter.sires,
        litter.sire_weights,
        litter.dams,
        litter.dam_weights,
        None if litter.tally is None else _plain_count(litter.tally),
        [tuple(swap) for swap in litter.mix_ups],
    )


def _plain_count(count: GroupCount) -> tuple[object, ...]:
    members = [
        (one.pup, one.weights.tobytes(), one.steps.tobytes(), one.steps.shape)
        for one in count.members
    ]
    return members, count.totals, count.asked
