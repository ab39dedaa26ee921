"""Pups seen together and not told apart, at the desk."""

from collections.abc import Collection, Iterable
from datetime import date

from ..entries import CountEntry
from ..models import Animal, CountedPup, Litter, LitterCount
from ..rules.counts import count_findings
from .observations import REMOVE
from .writing import Change, change, hear, keep_answers


def record_count(
    *,
    user,
    entry: CountEntry,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> LitterCount:
    """Write how many pups of a litter showed what, where nobody can tell which.

    Raises Refused, Asked or AlreadyWritten; then nothing is written.
    """
    litter = entry.litter
    with change(
        user=user,
        herd=litter.herd,
        action="record count",
        submission_key=submission_key and f"{submission_key} {litter.pk}",
    ) as writing:
        asked = hear(count_findings(entry, today=today), answered)
        count = writing.add(LitterCount(herd=litter.herd, litter=litter, **_values(entry)))
        _add(writing, count, entry.pups)
        writing.about(litter.public_id)
        keep_answers(writing, asked)
    return count


def correct_count(
    *,
    user,
    count: LitterCount,
    entry: CountEntry,
    version: int,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> LitterCount:
    """Write over a count and which pups were among it; what stood before stays in history.

    Raises Refused, Asked, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=count.herd, action="correct count", submission_key=submission_key
    ) as writing:
        found = count_findings(entry, today=today, count=count)
        asked = hear(found, answered, subject=count.litter.public_id)
        count = writing.update(count, _values(entry), version=version)
        for row in count.among.all():
            if row.animal not in entry.pups:
                writing.remove(row, version=None)
        _add(writing, count, set(entry.pups) - {row.animal for row in count.among.all()})
        writing.about(count.litter.public_id)
        keep_answers(writing, asked)
    return count


def remove_count(*, user, count: LitterCount, version: int, submission_key: str = "") -> Litter:
    """Take out a count that never was, from the litter that it gives; its history stays.

    Raises Refused where it is gone already, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=count.herd, action=REMOVE, submission_key=submission_key
    ) as writing:
        for row in count.among.all():
            writing.remove(row, version=None)
        writing.remove(count, version=version)
        writing.about(count.litter.public_id)
    return count.litter


def name_counted(writing: Change, counts: Iterable[LitterCount], pups: Collection[Animal]) -> None:
    """Pups just given a line were among the nameless of these counts: they are named now."""
    for count in counts:
        writing.update(count, {"nameless": count.nameless - len(pups)}, version=None)
        _add(writing, count, pups)


def _add(writing: Change, count: LitterCount, pups: Iterable[Animal]) -> None:
    ordered = sorted(pups, key=lambda pup: pup.pk)
    writing.add_all([CountedPup(herd=count.herd, count=count, animal=pup) for pup in ordered])


def _values(entry: CountEntry) -> dict:
    return {
        "on": entry.on,
        **entry.counted,
        "nameless": entry.nameless,
        "warmth": entry.warmth,
        "remarks": entry.remarks,
    }
