"""Pups of a litter seen together and not told apart: counted, put right, taken out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from herdbook.book.inputs import CountEntry
from herdbook.book.models import Animal, Litter, LitterCount
from herdbook.book.models.animal import State
from herdbook.book.models.litter_count import COUNTED
from herdbook.book.models.look import Warmth
from herdbook.book.rules.counts import without_a_line
from herdbook.book.services.change_set import Submission
from herdbook.book.services.counts import correct_count, record_count, remove_count

from ..common.entry_form import EntryForm, RemoveView, WriteView, written_of
from ..common.fields import SomeOffered
from ..common.formatting import counted_words, span
from ..observations.forms import DayField
from .forms import count_field
from .whole_litter import LitterView

_HERE = (State.IN_HERD, State.ON_LOAN)


class CountForm(EntryForm):
    """How many pups showed what on a day, and which of them were there."""

    on = DayField(label=_("Date"))
    none = count_field(_("No points"))
    coming = count_field(_("Coming"))
    full = count_field(_("Full"))
    overmarked = count_field(_("Overmarked"))
    pups = SomeOffered(
        label=_("Which pups were there"),
        queryset=Animal.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text=_("Tick all that were there, whatever they showed."),
    )
    nameless = count_field(
        _("Other pups that were there"),
        help_text=_("Pups that are not listed: sold or lost before you listed them."),
    )
    warmth = forms.ChoiceField(
        label=_("Weather in the weeks before"),
        choices=Warmth.choices,
        required=False,
        widget=forms.RadioSelect,
        initial=Warmth.UNKNOWN,
    )
    remarks = forms.CharField(label=_("Remarks"), max_length=500, required=False)

    def __init__(self, *args: Any, litter: Litter, **kwargs: Any):
        self.litter = litter
        super().__init__(*args, **kwargs)
        pups = litter.pups.select_related("litter", "herd").order_by("pk")
        self.fields["pups"].queryset = pups
        self.fields["pups"].label_from_instance = lambda pup: pup.label
        if not pups:
            del self.fields["pups"]
        if not without_a_line(litter) and not self.initial.get("nameless"):
            del self.fields["nameless"]

    @property
    def numbers(self) -> list:
        return [self[stage] for stage in COUNTED]

    def entry(self) -> CountEntry:
        cleaned = self.cleaned_data
        return CountEntry(
            litter=self.litter,
            on=cleaned["on"],
            counted={stage: cleaned[stage] or 0 for stage in COUNTED},
            pups=tuple(cleaned.get("pups", ())),
            nameless=cleaned.get("nameless") or 0,
            warmth=cleaned["warmth"],
            remarks=cleaned["remarks"],
        )


@dataclass(frozen=True)
class CountRow:
    """One count in words: '2 coming, 2 no points', of whom, and at what age."""

    on: date
    age: str
    counted: str
    of: str
    remarks: str
    correct: str


def counts_of(litter: Litter) -> list[CountRow]:
    """The latest first."""
    counts = litter.counts.with_pups().order_by("-on", "-pk")
    return [
        CountRow(
            on=count.on,
            age=span(litter.born.middle, count.on) if litter.born else "",
            counted=counted_words(count),
            of=_of(count),
            remarks=count.remarks,
            correct=reverse("correct-count", args=[count.public_id]),
        )
        for count in counts
    ]


def _of(count: LitterCount) -> str:
    named = [pup.label for pup in count.pups]
    if count.nameless:
        more = ngettext(
            "%(count)d unlisted",
            "%(count)d unlisted",
            count.nameless,
        )
        named.append(more % {"count": count.nameless})
    return ", ".join(named)


class RecordCount(LitterView):
    """Write how many pups showed what, where nobody can tell which."""

    form_class = CountForm
    template_name = "litters/together.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"litter": self.row, "initial": _usual(self.row, timezone.localdate())}

    def write(self, submission: Submission, form: CountForm) -> LitterCount:
        return record_count(submission, entry=form.entry())


class CorrectCount(WriteView):
    """Put a count right; what was written before stays in history."""

    rows = LitterCount.objects.with_pups()
    form_class = CountForm
    template_name = "litters/together.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"litter": self.row.litter, "initial": _written(self.row)}

    def write(self, submission: Submission, form: CountForm) -> LitterCount:
        return correct_count(submission, count=self.row, entry=form.entry())

    def next_page(self, written: Any) -> Litter:
        return self.row.litter

    def context(self) -> dict[str, Any]:
        return {"litter": self.row.litter, "count": self.row}


class RemoveCount(RemoveView):
    """Take out a count that never was."""

    rows = LitterCount.objects.with_pups()
    template_name = "litters/remove_count.html"
    back = "litter"

    def write(self, submission: Submission, form: EntryForm) -> Litter:
        return remove_count(submission, count=self.row)

    def next_page(self, written: Any) -> Litter:
        return self.row.litter

    def context(self) -> dict[str, Any]:
        return {"count": self.row, "counted": counted_words(self.row), "of": _of(self.row)}


def _usual(litter: Litter, today: date) -> dict:
    """All pups that are here and whose points can be seen; none of those without a line."""
    pups: Iterable[Animal] = litter.pups.filter(state__in=_HERE)
    seen = [pup.public_id for pup in pups if pup.shows_points or not pup.coat]
    return {"on": today, "pups": seen, "nameless": None}


def _written(count: LitterCount) -> dict:
    return {
        **written_of(count, ("on", "warmth", "remarks")),
        **{name: getattr(count, name) or None for name in (*COUNTED, "nameless")},
        "pups": [pup.public_id for pup in count.pups],
    }
