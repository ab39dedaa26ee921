"""A show and a planned litter: which classes the pups could enter, and when to mate for one."""

from dataclasses import dataclass
from datetime import date, timedelta

from django import forms
from django.http import QueryDict
from django.utils.formats import date_format
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Limits
from herdbook.book.rules.mating_cautions import TimeTogether
from herdbook.book.rules.shows import (
    Days,
    Pairing,
    ShowClass,
    class_on,
    class_words,
    entries_after,
    pairing_for,
)

from ..common.error_messages import PlainForm
from ..observations.forms import PlannedDayField


class ShowForm(PlainForm):
    """The date of a show and a class there, to find when to mate."""

    show_on = PlannedDayField(label=_("Show date"))
    show_class = forms.ChoiceField(label=_("Class"))

    def __init__(self, data: QueryDict, *, limits: Limits, today: date):
        # The form of the mating, on the same page, has a day of the show too.
        super().__init__(data if "show_class" in data else None, auto_id="for_%s")
        self.limits, self.today = limits, today
        classes = self.fields["show_class"]
        assert isinstance(classes, forms.ChoiceField), "a class is chosen"
        classes.choices = [(one, class_words(one, limits)) for one in ShowClass]

    @property
    def answer(self) -> "Answer | None":
        if not self.is_bound or not self.is_valid():
            return None
        asked = ShowClass(self.cleaned_data["show_class"])
        day = self.cleaned_data["show_on"]
        pairing = pairing_for(asked, day, self.limits)
        return Answer(day, class_words(asked, self.limits), pairing, self.limits, self.today)


@dataclass(frozen=True)
class Answer:
    """When to mate for a class at a show, in words; ``together``: days that are certain."""

    show_on: date
    show_class: str
    pairing: Pairing
    limits: Limits
    today: date

    @property
    def is_too_late(self) -> bool:
        last = self.pairing.possibly.last
        return last is not None and last < self.today

    @property
    def surely(self) -> str:
        """The days that are certain; where there is none, a sentence."""
        still = self._still(self.pairing.surely)
        if still:
            return days_words(still)
        return gettext("no date left: even conceived today, a litter could come too late")

    @property
    def usually(self) -> str:
        """The days for a litter carried as usual; after those, how short it would have to be."""
        still = self._still(self.pairing.usually)
        if still:
            return days_words(still)
        last = self.pairing.births.last
        assert last is not None, "dates run out only where births must end"
        longest = (last - self.today).days
        return ngettext(
            "no date left: conceived today, the litter must be born within %(days)d day",
            "no date left: conceived today, the litter must be born within %(days)d days",
            longest,
        ) % {"days": longest}

    @property
    def births(self) -> str:
        return days_words(self.pairing.births)

    @property
    def together(self) -> TimeTogether | None:
        """The boar's days within those that are certain, no longer than he stays."""
        sure = self._still(self.pairing.surely)
        if sure is None or sure.last is None:
            return None
        first = sure.first or sure.last - timedelta(days=self.limits.boar_stays_days)
        last = min(sure.last, first + timedelta(days=self.limits.boar_stays_days))
        return TimeTogether(max(first, self.today), max(last, self.today))

    def _still(self, days: Days | None) -> Days | None:
        """The part of it that is still to come."""
        if days is None or (days.last is not None and days.last < self.today):
            return None
        return Days(days.first and max(days.first, self.today), days.last)


@dataclass(frozen=True)
class ClassRow:
    """One class that pups of a litter to come could enter, in words."""

    words: str
    some: str
    every: str


def class_rows(together: TimeTogether, limits: Limits) -> list[ClassRow]:
    return [
        ClassRow(
            class_words(entry.show_class, limits), days_words(entry.some), days_words(entry.every)
        )
        for entry in entries_after(together, limits)
    ]


def classes_at(together: TimeTogether, show_on: date, limits: Limits) -> str:
    """The classes that pups of this mating could enter on that day, in a sentence."""
    first, last = together.due
    if show_on < first:
        return gettext("The litter will not be born by then.")
    due = (first + timedelta(days=n) for n in range((min(last, show_on) - first).days + 1))
    found = dict.fromkeys(class_on(born, show_on, limits) for born in due)
    named = [class_words(one, limits) for one in found if one]
    young = gettext("too young to show if born later") if named else gettext("too young to show")
    return "; ".join([*named, young] if None in found else named)


def days_words(days: Days | None) -> str:
    """'1 March to 4 April 2027', 'from 1 March 2027', 'up to 4 April 2027'; '–' for no day."""
    if days is None:
        return "–"
    if days.last is None:
        return gettext("from %(first)s") % {"first": _day(days.first)} if days.first else "–"
    if days.first is None:
        return gettext("up to %(last)s") % {"last": _day(days.last)}
    said = {"first": _day(days.first), "last": _day(days.last)}
    return gettext("%(first)s to %(last)s") % said


def _day(day: date) -> str:
    return date_format(day, "j M Y")
