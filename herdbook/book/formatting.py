"""Figures as a breeder says them, alike on a page, a list, a sheet and in a rule's message: ages,
doses, chances, inbreeding."""

import math
from collections.abc import Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

if TYPE_CHECKING:
    from .models import Animal

_DAYS_TO = 14
_MONTHS_FROM = 3
_MONTHS_TO = 24


def age_on(animal: "Animal", day: date) -> str:
    """How old it was on a day: '9 days', '7 weeks', '5 months', '2 years 3 months'.

    'about' stands before an age whose birth is known to the month or the year alone; '' before its
    birth or where that is unknown.
    """
    if animal.born is None or animal.born.earliest > day:
        return ""
    words = span(animal.born.middle, day)
    return words if animal.born.precision == "day" else _("about %(age)s") % {"age": words}


def span(start: date, end: date) -> str:
    """The time between two days in the largest unit that still says something."""
    days = max((end - start).days, 0)
    if days < _DAYS_TO:
        return ngettext("%(count)d day", "%(count)d days", days) % {"count": days}
    months = whole_months(start, end)
    if months < _MONTHS_FROM:
        return ngettext("%(count)d week", "%(count)d weeks", days // 7) % {"count": days // 7}
    if months < _MONTHS_TO:
        return _count_months(months)
    years, months = divmod(months, 12)
    words = ngettext("%(count)d year", "%(count)d years", years) % {"count": years}
    return f"{words} {_count_months(months)}" if months else words


def whole_months(start: date, end: date) -> int:
    """The months that are over between two days."""
    months = (end.year - start.year) * 12 + end.month - start.month
    return months - (end.day < start.day)


def _count_months(months: int) -> str:
    return ngettext("%(count)d month", "%(count)d months", months) % {"count": months}


def uncertain(chances: Sequence[float]) -> tuple[float, ...]:
    """The same chances, but none is 1 through rounding alone while another is above 0."""
    if sum(share > 0 for share in chances) < 2:
        return tuple(chances)
    return tuple(min(share, math.nextafter(1, 0)) for share in chances)


def chance(share: float | None) -> str:
    """A chance as a percentage that never rounds to certainty; '' where there is none."""
    if share is None:
        return ""
    percent = share * 100
    if 0 < percent < 0.1:
        return _("under 0.1%")
    if 99.9 < percent < 100:
        return _("over 99.9%")
    places = 0 if 1 <= percent <= 99 or percent in (0, 100) else 1
    return f"{rounded(percent, places)}%"


def about(share: float) -> str:
    """A chance that is not exact: 'about 83%', and 'over 99.9%' as it is."""
    words = chance(share)
    return _("about %(share)s") % {"share": words} if 0.001 <= share <= 0.999 else words


def coefficient(share: float | None) -> str:
    """An inbreeding coefficient as breeders write it, half up to two places of a percentage and
    without trailing zeros: '12.5%', '6.25%', '1.56%' of a sixty-fourth; '' where there is none."""
    if share is None:
        return ""
    if 0 < share < 0.0001:
        return _("under 0.01%")
    percent = (Decimal(str(share)) * 100).quantize(Decimal("0.01"), ROUND_HALF_UP)
    places = max(0, -int(percent.normalize().as_tuple().exponent))
    return f"{number_format(percent, places)}%"


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


def rounded(number: float, places: int) -> str:
    """A figure to so many places, half up; Django's own formatting cuts the rest off."""
    exact = Decimal(str(number)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return number_format(exact, places)
