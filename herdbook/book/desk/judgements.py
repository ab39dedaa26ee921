"""Judgements at the desk: a person says that an animal is good enough to show, or a pet."""

from collections.abc import Collection
from datetime import date

from ..entries import JudgementEntry
from ..models import Herd, Judgement
from ..rules.observations import judgement_findings
from .writing import change, hear, keep_answers


def record_judgement(
    *,
    user,
    herd: Herd,
    entry: JudgementEntry,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Judgement:
    """Write what a person made of an animal. Raises Refused, Asked or AlreadyWritten."""
    with change(
        user=user, herd=herd, action="record judgement", submission_key=submission_key
    ) as writing:
        asked = hear(judgement_findings(entry, today=today), answered)
        judgement = writing.add(Judgement(herd=herd, animal=entry.animal, **_values(entry)))
        writing.about(entry.animal.public_id)
        keep_answers(writing, asked)
    return judgement


def correct_judgement(
    *,
    user,
    judgement: Judgement,
    entry: JudgementEntry,
    version: int,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Judgement:
    """Write over a judgement; what stood before stays in history.

    Raises Refused, Asked, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=judgement.herd, action="correct judgement", submission_key=submission_key
    ) as writing:
        found = judgement_findings(entry, today=today)
        asked = hear(found, answered, subject=judgement.animal.public_id)
        judgement = writing.update(judgement, _values(entry), version=version)
        writing.about(judgement.animal.public_id)
        keep_answers(writing, asked)
    return judgement


def _values(entry: JudgementEntry) -> dict:
    return {name: getattr(entry, name) for name in ("on", "verdict", "by", "remarks")}
