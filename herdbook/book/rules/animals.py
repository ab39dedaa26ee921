"""What cannot be, and what is hard to believe, of one animal."""

import re
from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _

from ..models import Animal
from ..models.animal import Coat, Sex
from ..partial_date import PartialDate
from .date_bounds import long_ago
from .findings import Finding, refuse
from .pups import lethal_white

# Zero-width signs that join nothing, and those that set the direction of writing (Unicode Standard
# Annex 9). The joiner and non-joiner stay: some scripts need them.
_HIDDEN = re.compile("[\u200b\u200e\u200f\u061c\u202a-\u202e\u2060\u2066-\u2069\ufeff]")


def animal_findings(
    values: dict, *, born: PartialDate | None, today: date, animal: Animal | None = None
) -> Iterator[Finding]:
    """What is found of an animal's own columns; ``animal`` is the one that is corrected."""
    named = (
        values[name] if name in values else getattr(animal, name, "")
        for name in ("name", "number", "tag")
    )
    if not any(named):
        yield refuse(
            "nameless", _("Give the animal a name or a number, so that it can be found."), "name"
        )
    yield from hidden_signs(values)
    was = "" if animal is None else animal.coat
    if values.get("coat") == Coat.LETHAL != was:
        yield lethal_white("lethal-white", "coat")
    came, left = (
        values[name] if name in values else getattr(animal, name, None)
        for name in ("came_on", "left_on")
    )
    for field, day in (("came_on", came), ("left_on", left)):
        yield from long_ago(day, field)
        if day is not None and day.earliest > today:
            yield refuse(
                f"future:{field}",
                _("%(day)s is in the future. Enter a past date.") % {"day": day.words()},
                field,
            )
        if day is not None and born is not None and day.latest < born.earliest:
            yield refuse(
                f"before-birth:{field}",
                _("%(day)s is before it was born. One of these dates must be wrong.")
                % {"day": day.words()},
                field,
            )
    if came and left and left.latest < came.earliest:
        yield refuse(
            "left-before-came",
            _("It left before it came. One of these dates must be wrong."),
            "left_on",
        )
    if animal is not None and "sex" in values:
        yield from _sex_in_use(animal, values["sex"])


def hidden_signs(values: dict) -> Iterator[Finding]:
    """Signs that nobody sees, but that turn the writing round them about or tell two equal names
    apart: they come in by copying from a page."""
    for field, value in values.items():
        if isinstance(value, str) and _HIDDEN.search(value):
            message = _("There is a hidden character in “%(text)s”. Type it instead of pasting.")
            yield refuse(f"hidden-sign:{field}", message % {"text": _HIDDEN.sub("", value)}, field)


def _sex_in_use(animal: Animal, sex: str) -> Iterator[Finding]:
    if sex == Sex.BOAR and animal.litters.exists():
        message = _("%(animal)s is the dam of a litter, so it cannot be a boar.")
        yield refuse("dam-as-boar", message % {"animal": animal.label}, "sex")
    if sex == Sex.SOW and animal.sired.exists():
        message = _("%(animal)s is the sire of a litter, so it cannot be a sow.")
        yield refuse("sire-as-sow", message % {"animal": animal.label}, "sex")
