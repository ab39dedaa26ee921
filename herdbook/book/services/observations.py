"""Weights, checks and judgements: each recorded, edited and deleted in the same way."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from ..inputs import JudgementEntry, LookEntry, WeighingEntry
from ..models import Animal, Judgement, Look, Weighing
from ..rules.findings import Finding
from ..rules.observations import judgement_findings, look_findings, weighing_findings
from .change_set import Change, Submission, change

REMOVE = "remove observation"

Entry = WeighingEntry | LookEntry | JudgementEntry
Observation = Weighing | Look | Judgement


@dataclass(frozen=True)
class _Kind:
    """One kind of observation: its rows, its columns, and what its rules find.

    ``findings`` takes an entry, the day, and the row that is corrected, or None.
    """

    name: str
    model: type[Observation]
    columns: Callable[[Any], dict]
    findings: Callable[[Any, date, Any], Iterable[Finding]]


_KINDS = {
    WeighingEntry: _Kind(
        "weighing",
        Weighing,
        lambda entry: {"weight_g": entry.weight_g, "remarks": entry.remarks},
        lambda entry, today, row: weighing_findings(entry, today=today, weighing=row),
    ),
    LookEntry: _Kind(
        "look",
        Look,
        lambda entry: {"stage": entry.stage, **entry.values},
        lambda entry, today, row: look_findings(entry, today=today, look=row),
    ),
    JudgementEntry: _Kind(
        "judgement",
        Judgement,
        lambda entry: {"verdict": entry.verdict, "by": entry.by, "remarks": entry.remarks},
        lambda entry, today, row: judgement_findings(entry, today=today),
    ),
}


def record_observations(submission: Submission, *, entries: Sequence[Entry]) -> list[Observation]:
    """Write one or more observations of one kind: of an animal, or of a whole litter at once.

    With several, a finding's code ends in ``:`` and the animal's key, its field in ``-`` and the
    animal's public id. Raises RecordRefusedError, ConfirmationNeededError or AlreadyWrittenError;
    then nothing is written.
    """
    kind, herd = _KINDS[type(entries[0])], entries[0].animal.herd
    animals = [entry.animal for entry in entries]
    with change(submission, herd, f"record {kind.name}", of=animals) as writing:
        writing.require_confirmed(_found(entries, kind, submission.today))
        rows = writing.add_all(
            [
                kind.model(herd=herd, animal=entry.animal, on=entry.on, **kind.columns(entry))
                for entry in entries
            ]
        )
        _about(writing, animals)
    return rows


def correct_observation(submission: Submission, *, row: Observation, entry: Entry) -> Observation:
    """Write over an observation; what stood before stays in history.

    Raises RecordRefusedError, ConfirmationNeededError, AlreadyWrittenError or EditConflictError.
    """
    kind, animal = _KINDS[type(entry)], row.animal
    with change(submission, row.herd, f"correct {kind.name}") as writing:
        writing.require_confirmed(
            kind.findings(entry, submission.today, row), subject=animal.public_id
        )
        values = {"on": entry.on, **kind.columns(entry)}
        row = writing.update(row, values, version=submission.version)
        writing.about(animal.public_id)
    return row


def remove_observation(submission: Submission, *, row: Observation) -> Animal:
    """Take out an observation that never was, of the animal that it gives; its history stays.

    Raises RecordRefusedError where it is gone already, AlreadyWrittenError or EditConflictError.
    """
    with change(submission, row.herd, REMOVE) as writing:
        writing.remove(row, version=submission.version)
        writing.about(row.animal.public_id)
    return row.animal


def _about(writing: Change, animals: Sequence[Animal]) -> None:
    """The change is about the animal, or about the litter where it was seen whole."""
    one = animals[0]
    writing.about(one.public_id if len(animals) == 1 else one.litter.public_id)


def _found(entries: Sequence[Entry], kind: _Kind, today: date) -> list[Finding]:
    found = [(entry, finding) for entry in entries for finding in kind.findings(entry, today, None)]
    if len(entries) == 1:
        return [finding for _entry, finding in found]
    return [_of_animal(entry.animal, finding) for entry, finding in found]


def _of_animal(animal: Animal, finding: Finding) -> Finding:
    """The finding under a code and a field of the animal's own."""
    return replace(
        finding,
        code=f"{finding.code}:{animal.pk}",
        field=f"{finding.field}-{animal.public_id}",
    )
