"""Weighings and looks at the desk."""

from collections.abc import Collection, Sequence
from datetime import date

from ..entries import LookEntry, WeighingEntry
from ..findings import Finding
from ..models import Look, Weighing
from ..rules.observations import look_findings, weighing_findings
from .writing import change, hear, keep_answers


def record_weighings(
    *,
    user,
    herd,
    entries: Sequence[WeighingEntry],
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> list[Weighing]:
    """Write one or more weighings at once: a whole litter on the scales.

    With several, a finding's code ends in ``:`` and the animal's key. Raises Refused, Asked or
    AlreadyWritten; then nothing is written.
    """
    with change(
        user=user, herd=herd, action="record weighing", submission_key=submission_key
    ) as writing:
        found: list[Finding] = []
        for entry in entries:
            own = weighing_findings(entry, today=today)
            found += [_of_animal(finding, entry, len(entries)) for finding in own]
        asked = hear(found, answered)
        rows = writing.add_all(
            [
                Weighing(
                    herd=herd,
                    animal=entry.animal,
                    on=entry.on,
                    weight_g=entry.weight_g,
                    remarks=entry.remarks,
                )
                for entry in entries
            ]
        )
        keep_answers(writing, asked)
    return rows


def record_look(
    *,
    user,
    herd,
    entry: LookEntry,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Look:
    """Write a look at an animal's points.

    Raises Refused, Asked or AlreadyWritten; then nothing is written.
    """
    with change(
        user=user, herd=herd, action="record look", submission_key=submission_key
    ) as writing:
        asked = hear(look_findings(entry, today=today), answered)
        look = writing.add(
            Look(herd=herd, animal=entry.animal, on=entry.on, stage=entry.stage, **entry.values)
        )
        writing.about(look.public_id)
        keep_answers(writing, asked)
    return look


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
        asked = hear(weighing_findings(entry, today=today), answered)
        values = {"on": entry.on, "weight_g": entry.weight_g, "remarks": entry.remarks}
        weighing = writing.update(weighing, values, version=version)
        writing.about(weighing.public_id)
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
        asked = hear(look_findings(entry, today=today), answered)
        values = {"on": entry.on, "stage": entry.stage, **entry.values}
        look = writing.update(look, values, version=version)
        writing.about(look.public_id)
        keep_answers(writing, asked)
    return look


def remove_observation(*, user, row: Look | Weighing, submission_key: str = "") -> None:
    """Take out a look or a weighing that never was; its history stays."""
    with change(
        user=user, herd=row.herd, action="remove observation", submission_key=submission_key
    ) as writing:
        writing.remove(row)


def _of_animal(finding: Finding, entry: WeighingEntry, count: int) -> Finding:
    if count == 1:
        return finding
    return Finding(
        finding.kind, f"{finding.code}:{entry.animal.pk}", finding.message, finding.field
    )
