"""Dates as breeders know them: to the day, to the month, or the year alone.

Written as ISO 8601 with reduced precision ('2026-03-14', '2026-03', '2026'), which also sorts
as text, so one column holds the date and how well it is known.
"""

import calendar
import functools
import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.expressions import Combinable
from django.utils import formats
from django.utils.translation import gettext as _

_FORM = re.compile(r"([0-9]{4})(?:-([0-9]{2})(?:-([0-9]{2}))?)?")


@functools.total_ordering
@dataclass(frozen=True)
class PartialDate:
    """A date known to the day, the month (no day) or the year (neither)."""

    year: int
    month: int | None = None
    day: int | None = None

    def __post_init__(self) -> None:
        if self.day is not None and self.month is None:
            raise ValueError("a day needs its month")
        date(self.year, self.month or 1, self.day or 1)

    @classmethod
    def parse(cls, text: str) -> "PartialDate":
        """Read '2026-03-14', '2026-03' or '2026'; raises ValueError for anything else."""
        match = _FORM.fullmatch(text.strip())
        if match is None:
            raise ValueError(text)
        year, month, day = match.groups()
        return cls(int(year), int(month) if month else None, int(day) if day else None)

    @classmethod
    def of(cls, day: date) -> "PartialDate":
        return cls(day.year, day.month, day.day)

    @property
    def precision(self) -> str:
        return "day" if self.day else "month" if self.month else "year"

    @property
    def earliest(self) -> date:
        """The first day that it can mean."""
        return date(self.year, self.month or 1, self.day or 1)

    @property
    def latest(self) -> date:
        """The last day that it can mean."""
        month = self.month or 12
        return date(self.year, month, self.day or calendar.monthrange(self.year, month)[1])

    @property
    def middle(self) -> date:
        """A day in the middle of what it can mean, for working out an age."""
        return date.fromordinal((self.earliest.toordinal() + self.latest.toordinal()) // 2)

    def __str__(self) -> str:
        parts = [f"{self.year:04d}"]
        parts += [f"{part:02d}" for part in (self.month, self.day) if part]
        return "-".join(parts)

    def __lt__(self, other: "PartialDate") -> bool:
        return str(self) < str(other)

    def words(self) -> str:
        """'14 March 2026', 'March 2026' or '2026'."""
        form = {"day": "j F Y", "month": "F Y", "year": "Y"}[self.precision]
        return formats.date_format(self.earliest, form)


def as_partial(value: "PartialDate | date | str | None") -> PartialDate | None:
    """Take a day, a text or a partial date; empty means not known."""
    if value is None or value == "":
        return None
    if isinstance(value, PartialDate):
        return value
    if isinstance(value, date):
        return PartialDate.of(value)
    return PartialDate.parse(value)


class PartialDateField(models.CharField):
    """A column that holds a :class:`PartialDate` as ISO text; empty means not known."""

    if TYPE_CHECKING:
        # What a model's attribute takes, and what it gives: where the base class has text, a date.
        _pyi_private_set_type: PartialDate | date | str | Combinable | None  # type: ignore[assignment]
        _pyi_private_get_type: PartialDate | None  # type: ignore[assignment]

    def __init__(self, *args, **kwargs):
        kwargs.update(max_length=10, blank=True, null=True)
        super().__init__(*args, **kwargs)

    def deconstruct(self):
        name, path, args, kwargs = super().deconstruct()
        for fixed in ("max_length", "blank", "null"):
            kwargs.pop(fixed, None)
        return name, path, args, kwargs

    def from_db_value(self, value, expression, connection):
        return as_partial(value)

    def to_python(self, value):
        try:
            return as_partial(value)
        except ValueError:
            raise ValidationError(
                _("Write the date as 2026-03-14, or 2026-03 or 2026 if you know no more.")
            ) from None

    def get_prep_value(self, value):
        value = as_partial(value)
        return None if value is None else str(value)

    def value_to_string(self, obj):
        return self.get_prep_value(self.value_from_object(obj)) or ""

    def run_validators(self, value):
        """Checked by :meth:`to_python`; a length limit says nothing of a date."""
