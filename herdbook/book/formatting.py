"""Numbers as a breeder says them, alike on a page and in what a rule says: chances, inbreeding."""

from decimal import ROUND_HALF_UP, Decimal

from django.utils.formats import number_format
from django.utils.translation import gettext as _


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


def coefficient(share: float | None) -> str:
    """An inbreeding coefficient as a percentage with one place; '' where there is none."""
    return "" if share is None else f"{rounded(share * 100, 1)}%"


def rounded(number: float, places: int) -> str:
    """A figure to so many places, half up. Django's own wording of a number cuts the rest off."""
    exact = Decimal(str(number)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return number_format(exact, places)
