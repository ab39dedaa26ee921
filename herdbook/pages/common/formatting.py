"""Numbers as a breeder says them: ages, doses, counts; chances and inbreeding as the rules do."""

import math
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.formatting import chance, coefficient, rounded
from herdbook.book.models import Animal
from herdbook.book.models.animal import State
from herdbook.book.models.litter_count import COUNTED
from herdbook.book.models.look import Stage

__all__ = [
    "age_of",
    "age_on",
    "chance",
    "coefficient",
    "counted_words",
    "dose_name",
    "full_dose_name",
    "how_exact",
    "likeliest_dose",
    "rounded",
    "span",
    "uncertain",
]

_DAYS_TO = 14
_MONTHS_FROM = 3
_MONTHS_TO = 24


def age_of(animal: Animal, today: date) -> str:
    """'9 days', '7 weeks', '5 months', '2 years 3 months'; for one that died, how old it grew.

    'about' stands before an age whose birth is known to the month or the year alone; '' where
    nothing is known.
    """
    end = today
    if animal.state == State.DIED:
        if animal.left_on is None:
            return ""
        end = animal.left_on.middle
    return age_on(animal, end)


def age_on(animal: Animal, day: date) -> str:
    """How old it was on a day, in the same words; '' before its birth or where that is unknown."""
    if animal.born is None or animal.born.earliest > day:
        return ""
    words = span(animal.born.middle, day)
    return words if animal.born.precision == "day" else _("about %(age)s") % {"age": words}


def span(start: date, end: date) -> str:
    """The time between two days in the largest unit that still says something."""
    days = max((end - start).days, 0)
    if days < _DAYS_TO:
        return ngettext("%(count)d day", "%(count)d days", days) % {"count": days}
    months = _months(start, end)
    if months < _MONTHS_FROM:
        return ngettext("%(count)d week", "%(count)d weeks", days // 7) % {"count": days // 7}
    if months < _MONTHS_TO:
        return _count_months(months)
    years, months = divmod(months, 12)
    words = ngettext("%(count)d year", "%(count)d years", years) % {"count": years}
    return f"{words} {_count_months(months)}" if months else words


def uncertain(chances: Sequence[float]) -> tuple[float, ...]:
    """The same chances, where none is 1 that only the machine's rounding made so: another is left,
    however small."""
    if sum(share > 0 for share in chances) < 2:
        return tuple(chances)
    return tuple(min(share, math.nextafter(1, 0)) for share in chances)


def dose_name(dose: int) -> str:
    """The one name of a dose of the points gene: 'self', 'clean marked' or 'overmarked'."""
    return (_("self"), _("clean marked"), _("overmarked"))[dose]


def full_dose_name(dose: int) -> str:
    """The name with the number of doses beside it: 'clean marked (one dose)'."""
    return (
        _("self (no dose)"),
        _("clean marked (one dose)"),
        _("overmarked (two doses)"),
    )[dose]


def likeliest_dose(figure) -> str:
    """'clean marked 98%', or why there is none; '' for an animal without a figure."""
    if figure is None:
        return ""
    if figure.likeliest is None:
        return str(figure.get_method_display())
    share = chance(uncertain(figure.chances)[figure.likeliest])
    if figure.error:
        share = _("about %(share)s") % {"share": share}
    return f"{dose_name(figure.likeliest)} {share}"


def how_exact(figure) -> str:
    """Whether a dose is exact, and else how far it may be off; '' where there is none."""
    if figure is None or figure.chances is None:
        return ""
    if not figure.error:
        return str(figure.get_method_display()).capitalize()
    return _("%(method)s, give or take %(error)s") % {
        "method": str(figure.get_method_display()).capitalize(),
        "error": chance(figure.error),
    }


def _months(start: date, end: date) -> int:
    months = (end.year - start.year) * 12 + end.month - start.month
    return months - (end.day < start.day)


def _count_months(months: int) -> str:
    return ngettext("%(count)d month", "%(count)d months", months) % {"count": months}


def counted_words(count: Any) -> str:
    """'2 coming, 2 with no points' of a count of pups, or of a row of its history."""
    words = {**dict(Stage.choices), Stage.NONE: _("with no points")}
    shown = [(getattr(count, stage), words[Stage(stage)]) for stage in COUNTED]
    return ", ".join(f"{number} {stage}" for number, stage in shown if number)
