"""Import a pedigree file into a herd: planned, previewed, then saved whole or not at all.

:func:`plan_take_in` makes unsaved rows of the book out of a file and checks them by the same
rules as the services; :func:`take_in` writes such a plan in one change-set.
"""

from datetime import date
from operator import itemgetter

from django.core.exceptions import ValidationError
from django.db.models import CharField, TextChoices
from django.utils.translation import gettext as _

from herdbook.book.coat_type import as_coat_type
from herdbook.book.models import Animal, CandidateSire, GivenEvidence, Herd, Litter, Look
from herdbook.book.models.animal import Coat, EyeColour, PointColour, State
from herdbook.book.models.litter import Source
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.findings import REFUSE
from herdbook.book.services.change_set import Change, Submission, change
from herdbook.exchange import import_checks
from herdbook.exchange.exceptions import FaultyFileError
from herdbook.exchange.fault_list import FaultList, shown
from herdbook.exchange.pedigree_file import PedigreeFile, read_pedigree_file
from herdbook.exchange.plan import Choices, LitterPlan, Plan
from herdbook.exchange.rows import AnimalRow

ACTION = "take in a pedigree file"


def _length(name: str) -> int:
    column = Animal._meta.get_field(name)
    assert isinstance(column, CharField), f"{name} holds text"
    assert column.max_length is not None, f"{name} holds so many characters"
    return column.max_length


# Which column holds a row's id: the first that is long enough. All three are searched.
_LENGTHS = {name: _length(name) for name in ("number", "tag", "name", "breeder")}
_LEAST_SHARE = 1e-9  # as the book's candidate sires have it


def plan_take_in(file: PedigreeFile, *, herd: Herd, choices: Choices, today: date) -> Plan:
    """What importing a file into a herd would write; the book is read and not written.

    Raises `FaultyFileError` with every row that the book cannot hold.
    """
    faults = FaultList()
    animals = {row.id: _animal(row, herd, choices, faults) for row in file.rows}
    plan = Plan(
        herd=herd,
        rows=file.rows,
        animals=animals,
        litters=_litters(file.rows, animals, herd, faults),
        looks=tuple(
            Look(herd=herd, animal=animals[row.id], on=row.seen, stage=row.points)
            for row in file.rows
            if row.points and row.seen and row.likelihood is None
        ),
        evidence=tuple(
            GivenEvidence(herd=herd, animal=animals[row.id], **_likes(likelihood))
            for row in file.rows
            if (likelihood := row.likelihood) is not None
        ),
        coats_chosen=sum(_coat_is_chosen(row) for row in file.rows),
        looks_within=sum(bool(row.points and row.likelihood) for row in file.rows),
    )
    questions = []
    found = import_checks.findings(plan, today=today)
    for row, finding in sorted(found, key=itemgetter(0)):
        if finding.kind == REFUSE:
            faults.add(row, finding.field, finding.message)
        else:
            questions.append(finding)
    if faults.faults:
        raise FaultyFileError(faults.in_order(list(file.columns)))
    return Plan(**{**_parts(plan), "questions": tuple(questions)})


def take_in(submission: Submission, *, herd: Herd, data: bytes, choices: Choices) -> Plan:
    """Write a pedigree file into a herd, in one change-set: every row or none.

    Raises FaultyFileError, ConfirmationNeededError (with the questions not answered) or
    AlreadyWrittenError; then nothing is written.
    """
    with change(submission, herd, ACTION) as writing:
        file = read_pedigree_file(data)
        plan = plan_take_in(file, herd=herd, choices=choices, today=submission.today)
        writing.require_confirmed(plan.questions)
        _write(writing, plan)
    return plan


def _write(writing: Change, plan: Plan) -> None:
    for lot in plan.generations():
        writing.add_all([family.litter for family in lot])
        writing.add_all([sire for family in lot for sire in family.sires])
        writing.add_all([pup for family in lot for pup in family.pups])
    writing.add_all(plan.looks)
    writing.add_all(plan.evidence)


def _parts(plan: Plan) -> dict:
    return {name: getattr(plan, name) for name in Plan.__dataclass_fields__}


def _animal(row: AnimalRow, herd: Herd, choices: Choices, faults: FaultList) -> Animal:
    coat = _choice(row, "coat", Coat, faults)
    return Animal(
        herd=herd,
        sex=row.sex,
        coat=choices.coat if _coat_is_chosen(row) else coat,
        point_colour=_choice(row, "point_colour", PointColour, faults),
        eye_colour=_choice(row, "eye_colour", EyeColour, faults),
        coat_type=_coat_type(row, faults),
        breeder=_text(row, "breeder", faults),
        state=_state(row, choices),
        **_names(row, faults),
    )


def _coat_is_chosen(row: AnimalRow) -> bool:
    return bool(row.points) and not row.coat


def _state(row: AnimalRow, choices: Choices) -> str:
    if choices.since is None:
        return choices.state
    lately = row.born is not None and row.born >= choices.since
    return choices.state if lately else State.PAPER


def _names(row: AnimalRow, faults: FaultList) -> dict[str, str]:
    """The name, and the id in the column that can hold it and that a search finds.

    An id in letters alone is a name if there is no other.
    """
    name = _text(row, "name", faults)
    if not name and not any(map(str.isdigit, row.id)) and len(row.id) <= _LENGTHS["name"]:
        return {"name": row.id}
    for column in ("number", "tag"):
        if len(row.id) <= _LENGTHS[column]:
            return {"name": name, column: row.id}
    if not name and len(row.id) <= _LENGTHS["name"]:
        return {"name": row.id}
    faults.add(
        row.number,
        "id",
        _("%(id)s is longer than %(limit)s characters, too long for a tag. Shorten it.")
        % {"id": shown(row.id), "limit": _LENGTHS["tag"]},
    )
    return {"name": name}


def _text(row: AnimalRow, column: str, faults: FaultList) -> str:
    text = " ".join(getattr(row, column).split())
    if len(text) > _LENGTHS[column]:
        faults.add(
            row.number,
            column,
            _("%(text)s is longer than %(limit)s characters. Shorten it.")
            % {"text": shown(text), "limit": _LENGTHS[column]},
        )
    return text


def _choice(row: AnimalRow, column: str, choices: type[TextChoices], faults: FaultList) -> str:
    text = getattr(row, column)
    if text.casefold() in choices.values:
        return text.casefold()
    faults.add(
        row.number,
        column,
        _("%(text)s is not a known value. Write one of %(choices)s, or leave it blank.")
        % {"text": shown(text), "choices": ", ".join(filter(None, choices.values))},
    )
    return ""


def _coat_type(row: AnimalRow, faults: FaultList) -> str:
    try:
        return as_coat_type(row.coat_type.split())
    except ValidationError as error:
        faults.add(row.number, "coat_type", error.messages[0])
    return ""


def _likes(likelihood: tuple[float, float, float]) -> dict[str, float]:
    return dict(zip(("like0", "like1", "like2"), likelihood, strict=True))


def _litters(
    rows: tuple[AnimalRow, ...], animals: dict[str, Animal], herd: Herd, faults: FaultList
) -> tuple[LitterPlan, ...]:
    """Pups of one key together, every other animal in a litter of its own."""
    plans: dict[str | int, LitterPlan] = {}
    for row in rows:
        key = row.litter or row.number
        if key not in plans:
            plans[key] = LitterPlan(Litter(herd=herd, source=Source.PAPER))
        plan, animal = plans[key], animals[row.id]
        animal.litter = plan.litter
        plan.rows.append(row)
        plan.pups.append(animal)
    for plan in plans.values():
        _fill_in(plan, animals, faults)
    return tuple(plans.values())


def _fill_in(plan: LitterPlan, animals: dict[str, Animal], faults: FaultList) -> None:
    """A litter's parents, and its first date of birth where its rows give more than one."""
    first, litter = plan.rows[0], plan.litter
    born = min((row.born for row in plan.rows if row.born), default=None)
    litter.born = None if born is None else PartialDate.of(born)
    if len(first.dams) > 1:
        faults.add(first.number, "dam", _several_dams(first))
    elif first.dams:
        litter.dam = animals[first.dams[0]]
    for boar, share in zip(first.sires, first.sire_weights, strict=True):
        if share < _LEAST_SHARE:
            faults.add(first.number, "sire", _hardly_a_sire(boar))
        plan.sires.append(
            CandidateSire(herd=litter.herd, litter=litter, boar=animals[boar], weight=share)
        )


def _several_dams(row: AnimalRow) -> str:
    return _(
        "a litter can have only one dam, and here are %(dams)s. Keep the right one, or leave the "
        "dam blank. A choice of sires can stay."
    ) % {"dams": ", ".join(map(shown, row.dams))}


def _hardly_a_sire(boar: str) -> str:
    return _("%(id)s has almost no weight beside the other boars. Delete it from the list.") % {
        "id": shown(boar)
    }
