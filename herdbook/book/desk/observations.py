"""Weighings and looks at the desk."""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from datetime import date

from ..entries import LookEntry, WeighingEntry
from ..findings import Finding
from ..models import Animal, Herd, Judgement, Look, Weighing
from ..rules.observations import look_findings, weighing_findings
from .writing import Change, change, hear, keep_answers

REMOVE = "remove observation"


def record_weighings(
    *,
    user,
    herd: Herd,
    entries: Sequence[WeighingEntry],
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> list[Weighing]:
    """Write one or more weighings at once: a whole litter on the scales.

    With several, a finding's code ends in ``:`` and the animal's key, its field in ``-`` and the
    animal's public id. Raises Refused, Asked or AlreadyWritten; then nothing is written.
    """
    with change(
        user=user,
        herd=herd,
        action="record weighing",
        submission_key=_for_these(entries, submission_key),
    ) as writing:
        asked = hear(_found(entries, weighing_findings, today), answered)
        rows = writing.add_all(
            [Weighing(herd=herd, animal=entry.animal, **_weighing(entry)) for entry in entries]
        )
        _about(writing, entries)
        keep_answers(writing, asked)
    return rows


def record_look(
    *,
    user,
    herd: Herd,
    entry: LookEntry,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Look:
    """Write a look at an animal's points, as :func:`record_looks` writes several."""
    (look,) = record_looks(
        user=user,
        herd=herd,
        entries=[entry],
        today=today,
        answered=answered,
        submission_key=submission_key,
    )
    return look


def record_looks(
    *,
    user,
    herd: Herd,
    entries: Sequence[LookEntry],
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> list[Look]:
    """Write one or more looks at once: a whole litter on the table.

    Codes and fields of findings are as in :func:`record_weighings`. Raises Refused, Asked or
    AlreadyWritten; then nothing is written.
    """
    with change(
        user=user,
        herd=herd,
        action="record look",
        submission_key=_for_these(entries, submission_key),
    ) as writing:
        asked = hear(_found(entries, look_findings, today), answered)
        rows = writing.add_all(
            [Look(herd=herd, animal=entry.animal, **_look(entry)) for entry in entries]
        )
        _about(writing, entries)
        keep_answers(writing, asked)
    return rows


def correct_weighing(
    *,
    user,
    weighing: Weighing,
    entry: WeighingEntry,
    version: int,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Weighing:
    """Write over a weighing; what stood before stays in history.

    Raises Refused, Asked, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=weighing.herd, action="correct weighing", submission_key=submission_key
    ) as writing:
        found = weighing_findings(entry, today=today, weighing=weighing)
        asked = hear(found, answered, subject=weighing.animal.public_id)
        weighing = writing.update(weighing, _weighing(entry), version=version)
        writing.about(weighing.animal.public_id)
        keep_answers(writing, asked)
    return weighing


def correct_look(
    *,
    user,
    look: Look,
    entry: LookEntry,
    version: int,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Look:
    """Write over a look at the points; what stood before stays in history.

    Raises Refused, Asked, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=look.herd, action="correct look", submission_key=submission_key
    ) as writing:
        found = look_findings(entry, today=today, look=look)
        asked = hear(found, answered, subject=look.animal.public_id)
        look = writing.update(look, _look(entry), version=version)
        writing.about(look.animal.public_id)
        keep_answers(writing, asked)
    return look


def remove_observation(
    *, user, row: Look | Weighing | Judgement, version: int, submission_key: str = ""
) -> Animal:
    """Take out a look, a weighing or a judgement that never was, of the animal that it gives; its
    history stays.

    Raises Refused where it is gone already, AlreadyWritten or ChangedMeanwhile.
    """
    with change(user=user, herd=row.herd, action=REMOVE, submission_key=submission_key) as writing:
        writing.remove(row, version=version)
        writing.about(row.animal.public_id)
    return row.animal


def _weighing(entry: WeighingEntry) -> dict:
    return {"on": entry.on, "weight_g": entry.weight_g, "remarks": entry.remarks}


def _look(entry: LookEntry) -> dict:
    return {"on": entry.on, "stage": entry.stage, **entry.values}


def _about(writing: Change, entries: Sequence[WeighingEntry | LookEntry]) -> None:
    """The change is about the animal, or about the litter where it was seen whole."""
    animal = entries[0].animal
    writing.about(animal.public_id if len(entries) == 1 else animal.litter.public_id)


def _found(
    entries: Sequence, findings: Callable[..., Iterable[Finding]], today: date
) -> list[Finding]:
    found: list[Finding] = []
    for entry in entries:
        own = list(findings(entry, today=today))
        found += own if len(entries) == 1 else [_of_animal(entry, finding) for finding in own]
    return found


def _of_animal(entry: WeighingEntry | LookEntry, finding: Finding) -> Finding:
    """The finding under a code and a field of the animal's own."""
    return replace(
        finding,
        code=f"{finding.code}:{entry.animal.pk}",
        field=f"{finding.field}-{entry.animal.public_id}",
    )


def _for_these(entries: Sequence[WeighingEntry | LookEntry], submission_key: str) -> str:
    """The key of a form that says the same of other animals is another key."""
    animals = ",".join(str(entry.animal.pk) for entry in entries)
    return submission_key and f"{submission_key} {animals}"
