"""The limits that a herd goes by before a mating and at a show, as its breeder has set them."""

from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.dates import MONTHS
from django.utils.text import capfirst
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from .. import limits
from .base import HerdRow


def _between(name, default: int, least: int, most: int):
    bounds = [MinValueValidator(least), MaxValueValidator(most)]
    return models.PositiveSmallIntegerField(name, default=default, validators=bounds)


def _month(name, default: int):
    return models.PositiveSmallIntegerField(name, default=default, choices=list(MONTHS.items()))


def _percent(name, default: float):
    bounds = [MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))]
    return models.DecimalField(
        name, max_digits=5, decimal_places=2, default=Decimal(str(default)), validators=bounds
    )


class Limits(HerdRow):
    """The limits that bring a warning, one row a herd; :meth:`of` gives the defaults if none is
    saved.

    Days, grams, months of age, and per cent of inbreeding. The defaults and where they come from
    stand in ``book/limits.py``. No limit refuses anything.
    """

    herd = models.OneToOneField("book.Herd", on_delete=models.CASCADE, related_name="limits")
    first_conception_latest_days = _between(
        _("oldest age for a first conception (days)"), limits.FIRST_CONCEPTION_LATEST_DAYS, 90, 400
    )
    sow_mated_from_days = _between(
        _("youngest age to mate a sow (days)"), limits.SOW_MATED_FROM_DAYS, 30, 365
    )
    sow_mated_from_g = _between(
        _("lightest weight to mate a sow (grams)"),
        limits.SOW_MATED_FROM_G,
        limits.SOW_MATED_FROM_LEAST_G,
        1500,
    )
    sow_rests_days = _between(
        _("rest for a sow after littering (days)"), limits.SOW_RESTS_DAYS, 0, 365
    )
    boar_mated_from_days = _between(
        _("youngest age to use a boar (days)"), limits.BOAR_MATED_FROM_DAYS, 30, 365
    )
    boar_mated_from_g = _between(
        _("lightest weight to use a boar (grams)"), limits.BOAR_MATED_FROM_G, 300, 1500
    )
    boar_stays_days = _between(
        _("time the time the boar stays with the sow (days)"), limits.BOAR_STAYS_DAYS, 1, 60
    )
    hottest_from = _month(_("hottest months: from"), limits.HOTTEST_MONTHS[0])
    hottest_to = _month(_("hottest months: to"), limits.HOTTEST_MONTHS[-1])
    inbreeding_comfortable = _percent(
        _("inbreeding: comfortable below (%)"), limits.INBREEDING_COMFORTABLE
    )
    inbreeding_deliberate = _percent(
        _("inbreeding: only if intended, from (%)"), limits.INBREEDING_DELIBERATE
    )
    inbreeding_exceptional = _percent(
        _("inbreeding: exceptional, from (%)"), limits.INBREEDING_EXCEPTIONAL
    )
    show_from_months = _between(_("shown from (months old)"), limits.SHOW_FROM_MONTHS, 0, 12)
    show_young_under_months = _between(
        _("youngest show class: under (months)"), limits.SHOW_YOUNG_UNDER_MONTHS, 1, 36
    )
    show_adult_from_months = _between(
        _("adult at shows from (months)"), limits.SHOW_ADULT_FROM_MONTHS, 1, 36
    )

    history = HistoricalRecords()

    def __str__(self) -> str:
        return f"limits of {self.herd}"

    @classmethod
    def of(cls, herd) -> "Limits":
        """A herd's own limits; the defaults, not saved and of version 0, where it has none."""
        return cls.objects.filter(herd=herd).first() or cls(herd=herd, version=0)

    @property
    def are_own(self) -> bool:
        """Whether any is another than the book starts from."""
        return any(getattr(self, name) != _column(name).default for name in LIMITS)

    @property
    def beyond_sources(self) -> tuple[str, ...]:
        """The names of those that lie beyond every source."""
        return tuple(
            name
            for name, (least, most) in limits.SOURCES_GO.items()
            if (least is not None and getattr(self, name) < least)
            or (most is not None and getattr(self, name) > most)
        )

    @property
    def hottest_months(self) -> frozenset[int]:
        """Months by number; from November to February goes over the turn of the year."""
        count = (self.hottest_to - self.hottest_from) % 12 + 1
        return frozenset((self.hottest_from - 1 + step) % 12 + 1 for step in range(count))

    def is_hot(self, day: date) -> bool:
        return day.month in self.hottest_months

    def clean(self) -> None:
        """Limits that follow each other must rise. Raises ValidationError."""
        for lower, upper in _RISING:
            if getattr(self, lower) >= getattr(self, upper):
                words = {
                    "this": capfirst(_column(upper).verbose_name),
                    "other": capfirst(_column(lower).verbose_name),
                }
                raise ValidationError(
                    {upper: gettext("“%(this)s” must be more than “%(other)s”.") % words}
                )


def _column(name: str) -> models.Field:
    field = Limits._meta.get_field(name)
    assert isinstance(field, models.Field), "a limit is a column"
    return field


_RISING = (
    ("inbreeding_comfortable", "inbreeding_deliberate"),
    ("inbreeding_deliberate", "inbreeding_exceptional"),
    ("show_from_months", "show_young_under_months"),
    ("show_young_under_months", "show_adult_from_months"),
    ("sow_mated_from_days", "first_conception_latest_days"),
)

#: The names of all that a breeder may set.
LIMITS = tuple(
    field.name
    for field in Limits._meta.fields
    if field.name not in {"id", "public_id", "herd", "version"}
)
