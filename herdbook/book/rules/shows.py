"""Show classes by age: which a litter could enter, and when to mate for one.

Ages are counted in months as a birthday counts years: born on 14 March, five months old from 14
August on. The ages of the classes are the herd's limits; gestation runs 59 to 73 days.
"""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import models
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from .. import limits as figures
from ..models import Limits
from .mating_cautions import TimeTogether

_SHORTEST = timedelta(days=figures.GESTATION_SHORTEST_DAYS)
_USUAL = timedelta(days=figures.GESTATION_USUAL_DAYS)
_LONGEST = timedelta(days=figures.GESTATION_LONGEST_DAYS)
_DAY = timedelta(days=1)


class ShowClass(models.TextChoices):
    """The age classes of a show."""

    YOUNG = "young", gettext_lazy("youngest")
    MIDDLE = "middle", gettext_lazy("middle")
    ADULT = "adult", gettext_lazy("adult")


@dataclass(frozen=True)
class Days:
    """From a day to a day, both included; ``first`` or ``last`` None where it has no end."""

    first: date | None
    last: date | None

    def holds(self, day: date) -> bool:
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


@dataclass(frozen=True)
class Entry:
    """A class that pups of a planned litter could enter: some of the due days, or all of them.

    ``some`` are the days from the first on which a pup born on the first due day is old enough to
    the last on which one born on the last due day is young enough; within ``every`` the class is
    theirs whichever day they are born, None where there is no such day.
    """

    show_class: ShowClass
    some: Days
    every: Days | None


@dataclass(frozen=True)
class Pairing:
    """When to mate for a class at a show.

    ``births``: the days to be born on. Conceived within ``surely``, a litter is born on one of
    them however long she carries, None where there is no such day; within ``usually``, if she
    carries the usual 68 days; outside ``possibly`` it cannot be.
    """

    births: Days
    surely: Days | None
    usually: Days
    possibly: Days


def class_words(show_class: str, limits: Limits) -> str:
    """'under 5 months', '5 to 8 months', 'adult (from 8 months)'."""
    ages = {"young": limits.show_young_under_months, "adult": limits.show_adult_from_months}
    words = {
        ShowClass.YOUNG: _("under %(young)d months"),
        ShowClass.MIDDLE: _("%(young)d to %(adult)d months"),
        ShowClass.ADULT: _("adult (from %(adult)d months)"),
    }
    return words[ShowClass(show_class)] % ages


def class_on(born: date, day: date, limits: Limits) -> ShowClass | None:
    """The class of an animal on a day; None while it is too young to be shown."""
    for show_class in ShowClass:
        if births_for(show_class, day, limits).holds(born):
            return show_class
    return None


def births_for(show_class: ShowClass, day: date, limits: Limits) -> Days:
    """The days on which an animal of this class on that day was born."""
    from_months, under_months = _ages(show_class, limits)
    first = None if under_months is None else _months_before(day, under_months) + _DAY
    return Days(first, _months_before(day, from_months))


def pairing_for(show_class: ShowClass, day: date, limits: Limits) -> Pairing:
    """When to mate for pups of this class on that day."""
    births = births_for(show_class, day, limits)
    return Pairing(
        births,
        surely=_if_any(_less(births.first, _SHORTEST), _less(births.last, _LONGEST)),
        usually=Days(_less(births.first, _USUAL), _less(births.last, _USUAL)),
        possibly=Days(_less(births.first, _LONGEST), _less(births.last, _SHORTEST)),
    )


def entries_after(together: TimeTogether, limits: Limits) -> tuple[Entry, ...]:
    """When pups of this mating could enter each class, the youngest first."""
    first_due, last_due = together.due
    found = []
    for show_class in ShowClass:
        from_months, under_months = _ages(show_class, limits)
        ends = [
            None if under_months is None else months_after(due, under_months) - _DAY
            for due in (first_due, last_due)
        ]
        old_enough = [months_after(due, from_months) for due in (first_due, last_due)]
        found.append(
            Entry(show_class, Days(old_enough[0], ends[1]), _if_any(old_enough[1], ends[0]))
        )
    return tuple(found)


def months_after(day: date, months: int) -> date:
    """The first day on which something born that day is so many months old."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if day.day > monthrange(year, month + 1)[1]:
        year, month = divmod(year * 12 + month + 1, 12)
        return date(year, month + 1, 1)
    return date(year, month + 1, day.day)


def _months_before(day: date, months: int) -> date:
    """The last day to be born on to be so many months old that day."""
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def _ages(show_class: ShowClass, limits: Limits) -> tuple[int, int | None]:
    """Months of age from which an animal is in the class, and under which it is."""
    return {
        ShowClass.YOUNG: (limits.show_from_months, limits.show_young_under_months),
        ShowClass.MIDDLE: (limits.show_young_under_months, limits.show_adult_from_months),
        ShowClass.ADULT: (limits.show_adult_from_months, None),
    }[show_class]


def _less(day: date | None, span: timedelta) -> date | None:
    return None if day is None else day - span


def _if_any(first: date | None, last: date | None) -> Days | None:
    return None if first and last and first > last else Days(first, last)
