"""Litters at the desk: recorded at birth, corrected later."""

from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import date
from math import isclose

from django.db.models import IntegerField, Max
from django.db.models.functions import Cast

from herdbook.book.exceptions import EditConflictError

from ..inputs import LitterEntry, ParentsEntry, PupEntry
from ..models import Animal, CandidateSire, Herd, Litter, LitterCount
from ..models.animal import State
from ..models.litter import Source
from ..rules.counts import named_findings
from ..rules.litters import litter_findings
from ..rules.swapped_pups import mix_up_findings
from .change_set import Change, Submission, change
from .counts import name_counted


def record_litter(submission: Submission, *, herd: Herd, entry: LitterEntry) -> Litter:
    """Write a litter and its pups in one go.

    Raises RecordRefusedError, ConfirmationNeededError (with the questions not answered) or
    AlreadyWrittenError; then nothing is written.
    """
    with change(submission, herd, "record litter") as writing:
        writing.require_confirmed(litter_findings(entry, herd=herd, today=submission.today))
        litter = add_litter(writing, herd, entry, Source.HOME)
        writing.add_all(_pups(litter, entry.pups))
        writing.about(litter.public_id)
    return litter


def correct_litter(
    submission: Submission,
    *,
    litter: Litter,
    entry: LitterEntry,
    counted: Collection[LitterCount] = (),
) -> Litter:
    """Write over a litter's own facts and its candidate sires, and add the pups in ``entry``.

    One taken in from paper then counts as born at home. ``entry.pups`` are pups to add to those
    that the litter has; in the counts of ``counted`` they were among the nameless. What stood
    before stays in history. Raises RecordRefusedError, ConfirmationNeededError, AlreadyWrittenError
    or EditConflictError.
    """
    with change(submission, litter.herd, "correct litter") as writing:
        found = litter_findings(entry, herd=litter.herd, today=submission.today, litter=litter)
        found += named_findings(counted, len(entry.pups))
        writing.require_confirmed(found, subject=litter.public_id)
        litter = update_litter(writing, litter, entry, submission.version)
        name_counted(writing, counted, writing.add_all(_pups(litter, entry.pups)))
        writing.about(litter.public_id)
    return litter


def add_pups(
    submission: Submission,
    *,
    litter: Litter,
    pups: Iterable[PupEntry],
    counted: Collection[LitterCount] = (),
) -> Litter:
    """Write pups that were overlooked; the count of those born alive grows where it must.

    ``counted``: the counts in which they were among the nameless; those of the others are still
    without a line. Raises what :func:`correct_litter` raises.
    """
    pups = tuple(pups)
    nameless = (
        count.nameless - (len(pups) if count in counted else 0) for count in litter.counts.all()
    )
    written = litter.pups.count() + len(pups) + max(nameless, default=0)
    entry = entry_of(litter)
    entry = replace(entry, pups=pups, born_alive=max(entry.born_alive or 0, written))
    return correct_litter(submission, litter=litter, entry=entry, counted=counted)


def entry_of(litter: Litter) -> LitterEntry:
    """The litter as it stands, as it would be handed in again, with no pup to add."""
    candidates = list(litter.sires.all())
    return LitterEntry(
        dam=litter.dam,
        boars=tuple(candidate.boar for candidate in candidates),
        weights=tuple(candidate.weight for candidate in candidates),
        born=litter.born,
        boar_in=litter.boar_in,
        boar_out=litter.boar_out,
        born_alive=litter.born_alive,
        born_dead=litter.born_dead or 0,
        remarks=litter.remarks,
    )


def exchange_records(
    submission: Submission, *, first: Animal, second: Animal, since: date
) -> Litter:
    """Put a mix-up of two littermates right.

    From the day ``since`` on, what was looked at, weighed and judged as the first was the second,
    and the other way round. Each moved row keeps its history. Gives their litter. Raises
    RecordRefusedError, ConfirmationNeededError or AlreadyWrittenError.
    """
    with change(submission, first.herd, "exchange records") as writing:
        writing.require_confirmed(
            mix_up_findings(first, second, since=since, today=submission.today)
        )
        moved = [
            (row, now)
            for was, now in ((first, second), (second, first))
            for seen in (was.looks, was.weighings, was.judgements)
            for row in seen.filter(on__gte=since)
        ]
        for row, now in moved:
            writing.update(row, {"animal": now}, version=None)
        writing.about(first.litter.public_id)
    return first.litter


def add_litter(writing: Change, herd: Herd, entry: ParentsEntry, source: str) -> Litter:
    """Write a litter row and its candidate sires inside an open change."""
    litter = writing.add(Litter(herd=herd, source=source, **_values(entry)))
    _set_candidate_sires(writing, litter, entry)
    return litter


def update_litter(
    writing: Change, litter: Litter, entry: ParentsEntry, version: int | None
) -> Litter:
    """Write over a litter's own columns and its candidate sires inside an open change.

    An edit conflict lists its sires as well. Raises EditConflictError.
    """
    values = _values(entry, litter)
    if isinstance(entry, LitterEntry):
        values["source"] = Source.HOME
    try:
        litter = writing.update(litter, values, version=version)
    except EditConflictError as changed:
        row = changed.row
        if isinstance(row, Litter) and set(row.candidate_boars) != set(entry.boars):
            changed.differences["boars"] = row.candidate_boars
        raise
    _set_candidate_sires(writing, litter, entry)
    return litter


def same_parents(litter: Litter, entry: ParentsEntry) -> bool:
    """Whether a litter's birth, dam and candidate sires with their shares are the entry's."""
    written = {candidate.boar: candidate.weight for candidate in litter.sires.all()}
    wanted = _weights(entry)
    return (
        (litter.dam, litter.born) == (entry.dam, entry.born)
        and written.keys() == wanted.keys()
        and all(
            isclose(weight / sum(written.values()), wanted[boar] / sum(wanted.values()))
            for boar, weight in written.items()
        )
    )


def _set_candidate_sires(writing: Change, litter: Litter, entry: ParentsEntry) -> None:
    """Make the litter's candidate sires those of the entry, touching only what differs."""
    wanted = _weights(entry)
    for candidate in litter.sires.all():
        weight = wanted.pop(candidate.boar, None)
        if weight is None:
            writing.remove(candidate, version=None)
        elif weight != candidate.weight:
            writing.update(candidate, {"weight": weight}, version=None)
    for boar, weight in wanted.items():
        writing.add(CandidateSire(herd=litter.herd, litter=litter, boar=boar, weight=weight))


def _weights(entry: ParentsEntry) -> dict[Animal, float]:
    return dict(zip(entry.boars, entry.weights or (1.0,) * len(entry.boars), strict=True))


def next_numbers(herd: Herd, count: int, *, besides: Collection[str] = ()) -> list[str]:
    """The next free running numbers of a herd, stepping over those ``besides``."""
    numbered = Animal.objects.filter(herd=herd, number__regex=r"^[0-9]{1,9}$")
    last = numbered.aggregate(last=Max(Cast("number", IntegerField())))["last"] or 0
    return _free_from(last + 1, count, herd, set(besides))


def _free_from(start: int, count: int, herd: Herd, besides: set[str]) -> list[str]:
    wanted = [str(start + place) for place in range(count + len(besides))]
    taken = Animal.objects.filter(herd=herd, number__in=wanted).values_list("number", flat=True)
    free = [number for number in wanted if number not in besides | set(taken)][:count]
    missing = count - len(free)
    return free + _free_from(start + len(wanted), missing, herd, besides) if missing else free


def _pups(litter: Litter, entries: tuple[PupEntry, ...]) -> list[Animal]:
    herd = litter.herd
    typed = {entry.number for entry in entries if entry.number}
    numbers = iter(next_numbers(herd, sum(not entry.number for entry in entries), besides=typed))
    return [
        Animal(
            herd=herd,
            litter=litter,
            stud_prefix=herd.stud_prefix,
            breeder=herd.keeper,
            owner=herd.keeper,
            state=State.IN_HERD,
            number=entry.number or next(numbers),
            **{name: getattr(entry, name) for name in _PUP_COLUMNS},
        )
        for entry in entries
    ]


_PUP_COLUMNS = (
    "sex",
    "coat",
    "birth_weight_g",
    "name",
    "tag",
    "told_apart",
    "told_apart_note",
    "sureness",
    "remarks",
    "photo",
)


def _values(entry: ParentsEntry, litter: Litter | None = None) -> dict:
    """A litter's own columns as the entry has them; of one from paper, birth and dam alone."""
    values = {"dam": entry.dam, "born": entry.born}
    if not isinstance(entry, LitterEntry):
        return values
    written = litter.pups.count() if litter else 0
    alive = entry.born_alive if entry.born_alive is not None else written + len(entry.pups)
    return {
        **values,
        "boar_in": entry.boar_in,
        "boar_out": entry.boar_out,
        "born_alive": alive,
        "born_dead": entry.born_dead,
        "remarks": entry.remarks,
    }
