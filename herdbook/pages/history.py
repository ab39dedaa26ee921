"""What was changed about an animal: who, when, what stood before and what stands after."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db import models
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext

from herdbook.book.models import (
    Animal,
    CandidateSire,
    ChangeSet,
    CountedPup,
    Judgement,
    Litter,
    LitterCount,
    Look,
    Weighing,
)
from herdbook.book.partial_date import PartialDate

from .common.formatting import counted_words

_NOT_TOLD = {"id", "count", "public_id", "herd", "version", "litter", "source"}
_NOTHING = "–"
# What is seen of an animal on a day: it goes over to a littermate where two were mixed up.
_SEEN = (Look, Weighing, Judgement)
_ACTIONS = {
    "record animal": gettext_lazy("Added"),
    "correct animal": gettext_lazy("Animal edited"),
    "move animal": gettext_lazy("Place changed"),
    "record litter": gettext_lazy("Litter added"),
    "correct litter": gettext_lazy("Litter edited"),
    "exchange records": gettext_lazy("Mixed-up littermates swapped"),
    "record weighing": gettext_lazy("Weighed"),
    "correct weighing": gettext_lazy("Weight edited"),
    "record look": gettext_lazy("Points checked"),
    "correct look": gettext_lazy("Check edited"),
    "record count": gettext_lazy("Pups counted together"),
    "correct count": gettext_lazy("Count edited"),
    "record judgement": gettext_lazy("Judged"),
    "correct judgement": gettext_lazy("Judgement edited"),
    "remove observation": gettext_lazy("Deleted"),
    "load the demo herd": gettext_lazy("Demo herd loaded"),
    "take in a pedigree file": gettext_lazy("Imported from a spreadsheet"),
}


@dataclass(frozen=True)
class Line:
    """One value that changed: of what, before and after."""

    of: str
    before: str
    after: str


@dataclass
class ShownChange:
    """One act of writing, as the page tells it."""

    when: datetime
    who: str
    action: str
    #: The book's revision, which tells the order of changes of one moment; 0 where it is lost.
    revision: int = 0
    lines: list[Line] = field(default_factory=list)


def changes_of(animal: Animal) -> list[ShownChange]:
    """Every change of an animal, its litter, and all that was seen of it, the latest first.

    A look, a weighing or a judgement is told of only where it was changed or taken out: as first
    written it stands on the animal's page.
    """
    return _told(list(_steps(animal)))


def changes_of_litter(litter: Litter) -> list[ShownChange]:
    """Every change of a litter, its sires and its pups, the latest first.

    Of what was seen only that is told that went over to a littermate.
    """
    return _told(list(_litter_steps(litter)), which_pup=True)


def _told(steps: list[tuple], *, which_pup: bool = False) -> list[ShownChange]:
    names = _names(row for _kind, before, after in steps for row in (before, after) if row)
    shown: dict[str, ShownChange] = {}
    acts = _acts(after or before for _kind, before, after in steps)
    for kind, before, after in steps:
        row = after or before
        key = row.history_change_reason or f"row {row.pk} of {row._meta.label}"
        if key not in shown:
            shown[key] = _shown(row, acts.get(key))
        lines = _lines(kind, before, after, names)
        pup = _pup_of(kind, row) if which_pup else None
        shown[key].lines += [_of_pup(line, names.get(pup, "?")) for line in lines] if pup else lines
    return sorted(shown.values(), key=lambda change: (change.when, change.revision), reverse=True)


def _steps(animal: Animal) -> Iterator[tuple[type[models.Model], Any, Any]]:
    """Pairs of history rows that follow each other: (model, before, after)."""
    yield from _pairs(Animal, Animal.history.filter(id=animal.pk))
    yield from _pairs(Litter, Litter.history.filter(id=animal.litter_id))
    yield from _pairs(CandidateSire, CandidateSire.history.filter(litter_id=animal.litter_id))
    for model in _SEEN:
        ever = model.history.filter(animal_id=animal.pk).values("id")
        for kind, before, after in _pairs(model, model.history.filter(id__in=ever)):
            if before and animal.pk in (before.animal_id, after and after.animal_id):
                yield kind, before, after


def _litter_steps(litter: Litter) -> Iterator[tuple[type[models.Model], Any, Any]]:
    yield from _pairs(Litter, Litter.history.filter(id=litter.pk))
    first = litter.history.last()
    for kind, before, after in _pairs(
        CandidateSire, CandidateSire.history.filter(litter_id=litter.pk)
    ):
        # The sires that came in with the litter are no change of it.
        if before or not first or after.history_change_reason != first.history_change_reason:
            yield kind, before, after
    yield from _pairs(Animal, Animal.history.filter(litter_id=litter.pk))
    pups = Animal.history.filter(litter_id=litter.pk).values("id")
    for model in _SEEN:
        for kind, before, after in _pairs(model, model.history.filter(animal_id__in=pups)):
            if before and after and before.animal_id != after.animal_id:
                yield kind, before, after
    yield from _count_steps(litter)


def _count_steps(litter: Litter) -> Iterator[tuple[type[models.Model], Any, Any]]:
    """Counts of pups together that were changed or taken out, and who was put in or left out."""
    counts = list(_pairs(LitterCount, LitterCount.history.filter(litter_id=litter.pk)))
    whole = {
        (row.id, row.history_change_reason)
        for _kind, before, after in counts
        for row in [after or before]
        if before is None or after is None
    }
    yield from (step for step in counts if step[1] is not None)
    ever = {row.id for _kind, before, after in counts for row in (before, after) if row}
    for kind, before, after in _pairs(CountedPup, CountedPup.history.filter(count_id__in=ever)):
        row = after or before
        # The pups that came in, or went, with the whole count are no change of it.
        if (row.count_id, row.history_change_reason) not in whole:
            yield kind, before, after


def _pup_of(model, row) -> int | None:
    """The pup that a line on its litter's page must name; a moved row names both itself."""
    return row.id if model is Animal else None


def _of_pup(line: Line, pup: str) -> Line:
    return Line(f"{pup}: {line.of}", line.before, line.after)


def _pairs(model, rows) -> Iterator[tuple[type[models.Model], Any, Any]]:
    last: dict[int, Any] = {}
    for row in rows.select_related("history_user").order_by("history_id"):
        gone = row.history_type == "-"
        # A row that is taken out repeats what stood last.
        yield model, row if gone else last.get(row.id), None if gone else row
        last[row.id] = row


def _acts(rows: Iterable) -> dict[str, ChangeSet]:
    keys = {row.history_change_reason for row in rows if row.history_change_reason}
    return {str(act.pk): act for act in ChangeSet.objects.filter(pk__in=keys)}


def _shown(row, act: ChangeSet | None) -> ShownChange:
    who = row.history_user.get_username() if row.history_user else _("not known")
    action = _ACTIONS.get(act.action, act.action) if act else _("Saved")
    revision = act.revision if act else 0
    return ShownChange(row.history_date, who, str(action), revision)


def _lines(model, before, after, names: dict[int, str]) -> Iterator[Line]:
    """What changed from one history row to the next; a first writing has no lines."""
    if model is CandidateSire:
        yield from _sire_lines(before, after, names)
        return
    if model is CountedPup:
        pup = names.get((after or before).animal_id, "?")
        on = LitterCount.history.filter(id=(after or before).count_id).latest().on
        of = _("Counted together on %(date)s") % {"date": date_format(on, "j F Y")}
        yield Line(of, *((pup, _NOTHING) if after is None else (_NOTHING, pup)))
        return
    if after is None:
        yield Line(_what(model, before), _summary(model, before, names), _NOTHING)
        return
    if before is None:
        return
    for column in model._meta.fields:
        if column.name in _NOT_TOLD or not hasattr(after, column.attname):
            continue
        was, now = getattr(before, column.attname), getattr(after, column.attname)
        if was != now:
            of = _label(model, column, before)
            yield Line(of, _said(column, was, names), _said(column, now, names))


def _sire_lines(before, after, names: dict[int, str]) -> Iterator[Line]:
    of = _("Sire or possible sire")
    if before is None or after is None:
        was, now = (names.get(row.boar_id, "?") if row else _NOTHING for row in (before, after))
        yield Line(of, was, now)
    elif before.weight != after.weight:
        boar = names.get(after.boar_id, "?")
        yield Line(
            _("Share of %(boar)s") % {"boar": boar}, f"{before.weight:g}", f"{after.weight:g}"
        )


def _label(model, column, row) -> str:
    name = str(column.verbose_name).capitalize()
    dated = model in (*_SEEN, LitterCount)
    return f"{_what(model, row)}: {name}" if dated else name


def _what(model, row) -> str:
    if model is Look:
        return _("Check on %(date)s") % {"date": date_format(row.on, "j F Y")}
    if model is LitterCount:
        return _("Count on %(date)s") % {"date": date_format(row.on, "j F Y")}
    if model is Judgement:
        return _("Judgement on %(date)s") % {"date": date_format(row.on, "j F Y")}
    if model is Weighing:
        return _("Weight on %(date)s") % {"date": date_format(row.on, "j F Y")}
    return str(model._meta.verbose_name).capitalize()


def _summary(model, row, names: dict[int, str]) -> str:
    if model is Weighing:
        return _("%(weight)d g") % {"weight": row.weight_g}
    if model is LitterCount:
        return counted_words(row)
    if model is Look:
        return _said(Look._meta.get_field("stage"), row.stage, names)
    if model is Judgement:
        return _said(Judgement._meta.get_field("verdict"), row.verdict, names)
    return pgettext("a record in the book", "recorded")


def _said(column, value, names: dict[int, str]) -> str:
    """A value in words."""
    if value is None or value == "":
        return dict(column.flatchoices).get("", _NOTHING) if column.choices else _NOTHING
    if column.choices:
        return str(dict(column.flatchoices).get(value, value))
    if column.is_relation:
        animal = column.related_model is Animal
        return names.get(value, "?") if animal else _("a photo")
    if isinstance(value, PartialDate):
        return value.words()
    return date_format(value, "j F Y") if isinstance(value, date) else str(value)


def _names(rows: Iterable) -> dict[int, str]:
    """The names of all animals that history rows speak of, in one query."""
    keys: dict[str, set[int]] = defaultdict(set)
    for row in rows:
        for column in ("dam_id", "boar_id", "animal_id"):
            if getattr(row, column, None):
                keys["all"].add(getattr(row, column))
        if row.instance_type is Animal:
            keys["all"].add(row.id)
    return {animal.pk: animal.label for animal in Animal.objects.filter(pk__in=keys["all"])}
