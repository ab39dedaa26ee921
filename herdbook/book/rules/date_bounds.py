"""Days of so long ago that no record can bear them, or further ahead than any plan."""

from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _

from ..partial_date import PartialDate
from .findings import Finding, refuse

# A slip of the keys ('0206' for 2026) is no birth. No herd kept today is written from further back
# (common practice, no source), and days worked out back from the calendar's first do not exist.
EARLIEST_YEAR = 1900
# Nor does a plan reach further ahead; days counted on from the calendar's last do not exist.
LATEST_YEAR = 2199


def long_ago(day: PartialDate | date | None, field: str) -> Iterator[Finding]:
    """Refuse a day of a year that no herd-book reaches back to."""
    if day is not None and day.year < EARLIEST_YEAR:
        message = _("%(year)04d is too long ago. The earliest year is %(first)d.")
        yield refuse(
            f"long-ago:{field}", message % {"year": day.year, "first": EARLIEST_YEAR}, field
        )
