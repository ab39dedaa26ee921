"""Litters at the desk: recorded at birth, corrected later."""

from collections.abc import Collection
from datetime import date

from django.db.models import IntegerField, Max
from django.db.models.functions import Cast

from ..entries import LitterEntry, ParentsEntry, PupEntry
from ..models import Animal, CandidateSire, Herd, Litter
from ..models.animal import State
from ..models.litter import Source
from ..rules.litters import litter_findings
from .writing import Change, change, hear, keep_answers


def record_litter(
    *,
    user,
    herd: Herd,
    entry: LitterEntry,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Litter:
    """Write a litter and its pups in one go.

    Raises Refused, Asked (with the questions not in ``answered``) or AlreadyWritten; then nothing
    is written.
    """
    with change(
        user=user, herd=herd, action="record litter", submission_key=submission_key
    ) as writing:
        asked = hear(litter_findings(entry, today=today), answered)
        litter = add_litter(writing, herd, entry, Source.HOME)
        writing.add_all(_pups(herd, litter, entry.pups))
        writing.about(litter.public_id)
        keep_answers(writing, asked)
    return litter


def correct_litter(
    *,
    user,
    litter: Litter,
    entry: LitterEntry,
    version: int,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Litter:
    """Write over a litter's own facts and its candidate sires, and add the pups in ``entry``.

    ``entry.pups`` are pups to add to those that the litter has. What stood before stays in
    history. Raises Refused, Asked, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=litter.herd, action="correct litter", submission_key=submission_key
    ) as writing:
        whole = _with_written_pups(litter, entry)
        asked = hear(litter_findings(whole, today=today, litter=litter), answered)
        litter = writing.update(litter, _litter_values(entry), version=version)
        set_candidate_sires(writing, litter, entry)
        writing.add_all(_pups(litter.herd, litter, entry.pups))
        writing.about(litter.public_id)
        keep_answers(writing, asked)
    return litter


def exchange_records(
    *, user, first: Animal, second: Animal, since: date, submission_key: str = ""
) -> None:
    """Put a mix-up of two littermates right.

    From the day ``since`` on, what was looked at and weighed as the first was the second, and the
    other way round. Each moved row keeps its history. Raises ValueError unless they are
    littermates.
    """
    if first.litter_id != second.litter_id or first == second:
        raise ValueError("only two pups of one litter can have been mixed up")
    with change(
        user=user, herd=first.herd, action="exchange records", submission_key=submission_key
    ) as writing:
        moved = [
            (row, now)
            for was, now in ((first, second), (second, first))
            for row in (*was.looks.filter(on__gte=since), *was.weighings.filter(on__gte=since))
        ]
        for row, now in moved:
            writing.update(row, {"animal": now}, version=None)
        writing.about(first.litter.public_id)


def add_litter(writing: Change, herd: Herd, entry: ParentsEntry, source: str) -> Litter:
    """Write a litter row and its candidate sires inside an open change."""
    values = _litter_values(entry) if isinstance(entry, LitterEntry) else _parents_values(entry)
    litter = writing.add(Litter(herd=herd, source=source, **values))
    set_candidate_sires(writing, litter, entry)
    return litter


def set_candidate_sires(writing: Change, litter: Litter, entry: ParentsEntry) -> None:
    """Make the litter's candidate sires those of the entry, touching only what differs."""
    wanted = dict(zip(entry.boars, entry.weights or (1.0,) * len(entry.boars), strict=True))
    for candidate in litter.sires.all():
        weight = wanted.pop(candidate.boar, None)
        if weight is None:
            writing.remove(candidate)
        elif weight != candidate.weight:
            writing.update(candidate, {"weight": weight}, version=None)
    for boar, weight in wanted.items():
        writing.add(CandidateSire(herd=litter.herd, litter=litter, boar=boar, weight=weight))


def next_numbers(herd: Herd, count: int) -> list[str]:
    """The next free running numbers of a herd."""
    numbered = Animal.objects.filter(herd=herd, number__regex=r"^[0-9]{1,9}$")
    last = numbered.aggregate(last=Max(Cast("number", IntegerField())))["last"] or 0
    return [str(last + place + 1) for place in range(count)]


def _pups(herd: Herd, litter: Litter, entries: tuple[PupEntry, ...]) -> list[Animal]:
    unnumbered = sum(not entry.number for entry in entries)
    numbers = iter(next_numbers(herd, unnumbered))
    return [
        Animal(
            herd=herd,
            litter=litter,
            stud_prefix=herd.stud_prefix,
            breeder=herd.keeper,
            owner=herd.keeper,
            state=State.IN_HERD,
            sex=entry.sex,
            coat=entry.coat,
            birth_weight_g=entry.birth_weight_g,
            number=entry.number or next(numbers),
            name=entry.name,
            tag=entry.tag,
            told_apart=entry.told_apart,
            told_apart_note=entry.told_apart_note,
            sureness=entry.sureness,
            remarks=entry.remarks,
        )
        for entry in entries
    ]


def _parents_values(entry: ParentsEntry) -> dict:
    return {"dam": entry.dam, "born": entry.born}


def _litter_values(entry: LitterEntry) -> dict:
    alive = entry.born_alive if entry.born_alive is not None else len(entry.pups)
    return {
        **_parents_values(entry),
        "boar_in": entry.boar_in,
        "boar_out": entry.boar_out,
        "born_alive": alive,
        "born_dead": entry.born_dead,
        "remarks": entry.remarks,
    }


def _with_written_pups(litter: Litter, entry: LitterEntry) -> LitterEntry:
    """The entry with the pups that the litter already has before those it adds."""
    written = tuple(
        PupEntry(sex=pup.sex, birth_weight_g=pup.birth_weight_g) for pup in litter.pups.all()
    )
    return LitterEntry(**{**entry.__dict__, "pups": written + entry.pups})
