"""Record, edit and delete counts of pups that could not be identified one by one."""

from collections.abc import Collection, Iterable

from ..inputs import CountEntry
from ..models import Animal, CountedPup, Litter, LitterCount
from ..rules.counts import count_findings
from .change_set import Change, Submission, change
from .observations import REMOVE


def record_count(submission: Submission, *, entry: CountEntry) -> LitterCount:
    """Write how many pups of a litter showed what, where nobody can tell which.

    Raises RecordRefusedError, ConfirmationNeededError or AlreadyWrittenError; then nothing is
    written.
    """
    litter = entry.litter
    with change(submission, litter.herd, "record count", of=[litter]) as writing:
        writing.require_confirmed(count_findings(entry, today=submission.today))
        count = writing.add(LitterCount(herd=litter.herd, litter=litter, **_values(entry)))
        _add(writing, count, entry.pups)
        writing.about(litter.public_id)
    return count


def correct_count(submission: Submission, *, count: LitterCount, entry: CountEntry) -> LitterCount:
    """Write over a count and which pups were among it; what stood before stays in history.

    Raises RecordRefusedError, ConfirmationNeededError, AlreadyWrittenError or EditConflictError.
    """
    with change(submission, count.herd, "correct count") as writing:
        found = count_findings(entry, today=submission.today, count=count)
        writing.require_confirmed(found, subject=count.litter.public_id)
        count = writing.update(count, _values(entry), version=submission.version)
        for row in count.among.all():
            if row.animal not in entry.pups:
                writing.remove(row, version=None)
        _add(writing, count, set(entry.pups) - {row.animal for row in count.among.all()})
        writing.about(count.litter.public_id)
    return count


def remove_count(submission: Submission, *, count: LitterCount) -> Litter:
    """Take out a count that never was, from the litter that it gives; its history stays.

    Raises RecordRefusedError where it is gone already, AlreadyWrittenError or EditConflictError.
    """
    with change(submission, count.herd, REMOVE) as writing:
        for row in count.among.all():
            writing.remove(row, version=None)
        writing.remove(count, version=submission.version)
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
