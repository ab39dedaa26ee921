"""The demo herd, written into an empty herd as its keeper would have written it.

`fixtures/demo_herd.json` holds the herd with every date as days before today. It goes in whole or
not at all: most of it in two changes, and what the book asks about one record at a time through
the desk, so that each question stands there with its answer.
"""

import json
from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import date, timedelta

from django.conf import settings
from django.db import transaction

from herdbook.book.inputs import AnimalEntry, CountEntry, LitterEntry, LookEntry, PupEntry
from herdbook.book.models import (
    Animal,
    CandidateSire,
    Herd,
    Judgement,
    Litter,
    Look,
    User,
    Weighing,
)
from herdbook.book.models.litter_count import COUNTED
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.animals import correct_animal
from herdbook.book.services.change_set import Change, Submission, change
from herdbook.book.services.counts import record_count
from herdbook.book.services.litters import correct_litter, entry_of, record_litter
from herdbook.book.services.observations import record_observations

DEMO_HERD = settings.BASE / "fixtures" / "demo_herd.json"

# What says who a row is, or what comes of it later, and is no column of it.
_NO_LITTER_COLUMNS = frozenset({"key", "dam", "sires", "at_the_desk", "first_written", "answered"})
_NO_ANIMAL_COLUMNS = frozenset({"key", "litter", "first_written"})
_DATES = frozenset({"born", "boar_in", "boar_out", "came_on", "left_on"})
# What the desk itself writes of a pup that is born here.
_BY_THE_DESK = frozenset({"stud_prefix", "breeder", "owner", "state", "eye_colour"})


@transaction.atomic
def load_demo(*, user: User, herd: Herd, today: date) -> None:
    """Make `herd` the demo herd, as it stands `today`.

    Raises ValueError for a herd that has animals, which the demo must not mix with, and
    RecordRefusedError or Asked where the file holds what the book would not take.
    """
    if herd.animals.exists():
        raise ValueError(f"{herd} has animals already: the demo goes into an empty herd only")
    told = json.loads(DEMO_HERD.read_text(encoding="utf-8"))
    _Loading(user, herd, today, told).load()


class _Loading:
    """The file on its way into the book."""

    def __init__(self, user: User, herd: Herd, today: date, told: dict) -> None:
        self.user, self.herd, self.today, self.told = user, herd, today, told
        self.animals: dict[str, Animal] = {}
        self.litters: dict[str, Litter] = {}
        self.pups: dict[str, list[dict]] = {}
        for row in told["animals"]:
            self.pups.setdefault(row["litter"], []).append(row)

    def load(self) -> None:
        for name, value in self.told["herd"].items():
            setattr(self.herd, name, value)
        self.herd.full_clean()
        self.herd.save()
        with change(self._at_the_desk(), self.herd, "load the demo herd") as writing:
            self._write_family(writing, self._litters(at_the_desk=False))
        for row in self._litters(at_the_desk=True):
            self._record_litter(row)
        with change(self._at_the_desk(), self.herd, "load the demo herd") as writing:
            writing.add_all([self._weighing(row) for row in self.told["weighings"]])
            plain = [row for row in self.told["looks"] if "at_the_desk" not in row]
            writing.add_all([self._look(row) for row in plain])
            writing.add_all([self._judgement(row) for row in self.told["judgements"]])
        for row in self.told["looks"]:
            if "at_the_desk" in row:
                self._record_look(row)
        for row in self.told["litters"]:
            if "first_written" in row:
                self._put_litter_right(row)
        for row in self.told["counts"]:
            self._record_count(row)
        for row in self.told["animals"]:
            if "first_written" in row:
                self._put_right(row)

    def _litters(self, *, at_the_desk: bool) -> list[dict]:
        return [row for row in self.told["litters"] if ("at_the_desk" in row) == at_the_desk]

    def _write_family(self, writing: Change, litters: list[dict]) -> None:
        """Litters in lots, each with all its parents in the lots before."""
        while litters:
            ready = [row for row in litters if _parents(row) <= self.animals.keys()]
            if not ready:
                raise ValueError(f"no animal in {DEMO_HERD.name} is parent of {litters[0]['key']}")
            self._write_generation(writing, ready)
            litters = [row for row in litters if row not in ready]

    def _write_generation(self, writing: Change, rows: list[dict]) -> None:
        """Litters whose parents are all written, with their sires and pups."""
        litters = [
            Litter(herd=self.herd, dam=self._dam(row), **self._litter_columns(row)) for row in rows
        ]
        written = writing.add_all(litters)
        self.litters |= {row["key"]: litter for row, litter in zip(rows, written, strict=True)}
        writing.add_all(
            [
                CandidateSire(herd=self.herd, litter=litter, boar=self.animals[key], weight=weight)
                for row, litter in zip(rows, written, strict=True)
                for key, weight in row.get("sires", ())
            ]
        )
        told = [
            (litter, pup)
            for row, litter in zip(rows, written, strict=True)
            for pup in self.pups[row["key"]]
        ]
        pups = writing.add_all([self._animal(litter, pup) for litter, pup in told])
        self.animals |= {pup["key"]: animal for (_, pup), animal in zip(told, pups, strict=True)}

    def _litter_columns(self, row: dict) -> dict:
        return self._columns(row, _NO_LITTER_COLUMNS) | row.get("first_written", {})

    def _dam(self, row: dict) -> Animal | None:
        return self.animals[row["dam"]] if "dam" in row else None

    def _animal(self, litter: Litter, row: dict) -> Animal:
        columns = self._columns(row, _NO_ANIMAL_COLUMNS) | row.get("first_written", {})
        return Animal(herd=self.herd, litter=litter, **columns)

    def _record_litter(self, row: dict) -> None:
        """A litter that the book asks about, taken as at the desk."""
        columns = self._columns(row, _NO_LITTER_COLUMNS | {"source"})
        told = self.pups[row["key"]]
        pups = [PupEntry(**self._columns(pup, _NO_ANIMAL_COLUMNS | _BY_THE_DESK)) for pup in told]
        entry = LitterEntry(
            dam=self._dam(row),
            boars=tuple(self.animals[key] for key, _ in row["sires"]),
            weights=tuple(weight for _, weight in row["sires"]),
            pups=tuple(pups),
            **columns,
        )
        litter = self.litters[row["key"]] = record_litter(
            self._at_the_desk(row["at_the_desk"]), herd=self.herd, entry=entry
        )
        by_number = {pup.number: pup for pup in litter.pups.all()}
        self.animals |= {pup["key"]: by_number[pup["number"]] for pup in told}

    def _at_the_desk(self, answered: Collection[str] = (), version: int = 0) -> Submission:
        return Submission(self.user, self.today, answered=answered, version=version)

    def _weighing(self, row: dict) -> Weighing:
        return Weighing(herd=self.herd, **self._observation(row))

    def _look(self, row: dict) -> Look:
        return Look(herd=self.herd, **self._observation(row))

    def _judgement(self, row: dict) -> Judgement:
        return Judgement(herd=self.herd, **self._observation(row))

    def _observation(self, row: dict) -> dict:
        known = {"animal": self.animals[row["animal"]], "on": self._day(row["on"])}
        return {name: value for name, value in row.items() if name != "at_the_desk"} | known

    def _record_look(self, row: dict) -> None:
        """A look that the book asks about, taken as at the desk."""
        values = self._observation(row)
        own = {name: values.pop(name) for name in ("animal", "on", "stage")}
        entry = LookEntry(**own, values=values)
        record_observations(self._at_the_desk(row["at_the_desk"]), entries=[entry])

    def _put_litter_right(self, row: dict) -> None:
        """Write over what was written wrong of a litter at first, and answer what the book asks."""
        litter = Litter.objects.get(pk=self.litters[row["key"]].pk)
        self.litters[row["key"]] = correct_litter(
            self._at_the_desk(row["answered"], litter.version),
            litter=litter,
            entry=replace(entry_of(litter), **{n: row[n] for n in row["first_written"]}),
        )

    def _record_count(self, row: dict) -> None:
        """Pups that were seen together and not told apart."""
        entry = CountEntry(
            litter=self.litters[row["litter"]],
            on=self._day(row["on"]),
            counted={stage: row.get(stage, 0) for stage in COUNTED},
            pups=tuple(self.animals[key] for key in row["pups"]),
            nameless=row["nameless"],
            warmth=row["warmth"],
            remarks=row.get("remarks", ""),
        )
        record_count(self._at_the_desk(), entry=entry)

    def _put_right(self, row: dict) -> None:
        """Write over what was written wrong at first, so that history keeps it."""
        animal = Animal.objects.get(pk=self.animals[row["key"]].pk)
        values = {name: row[name] for name in row["first_written"]}
        correct_animal(
            self._at_the_desk(version=animal.version),
            animal=animal,
            entry=AnimalEntry(values=values, parents=entry_of(animal.litter)),
        )

    def _columns(self, row: dict, besides: Iterable[str]) -> dict:
        return {
            name: self._date(value) if name in _DATES else value
            for name, value in row.items()
            if name not in besides
        }

    def _day(self, days: int) -> date:
        return self.today - timedelta(days=days)

    def _date(self, told: int | dict) -> PartialDate:
        """Days before today, or of those the month or the year alone."""
        if isinstance(told, int):
            return PartialDate.of(self._day(told))
        day = self._day(told["days"])
        return PartialDate(day.year, day.month if told["known"] == "month" else None)


def _parents(row: dict) -> set[str]:
    """The keys of all that may be parents of a litter."""
    return {key for key, _ in row.get("sires", ())} | ({row["dam"]} if "dam" in row else set())
