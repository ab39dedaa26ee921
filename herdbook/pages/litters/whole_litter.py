"""A whole litter at once: on the scales, on the table, and a mix-up put right."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.inputs import LookEntry, WeighingEntry
from herdbook.book.models import Animal, Litter
from herdbook.book.models.animal import State
from herdbook.book.models.look import Stage, Warmth
from herdbook.book.rules.findings import Finding
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import exchange_records
from herdbook.book.services.observations import Observation, record_observations

from ..common.entry_form import EntryForm, WriteView
from ..common.fields import OneOffered
from ..observations.forms import DayField, weight_field

_HERE = (State.IN_HERD, State.ON_LOAN)


class TogetherForm(EntryForm):
    """One day, and one field for each pup of a litter that is here.

    A subclass gives ``stem`` and ``field_of(pup)``.
    """

    on = DayField(label=_("Date"), initial=timezone.localdate)
    #: What a pup's field is called before its id, as the desk's findings call it.
    stem: str

    def __init__(self, *args: Any, litter: Litter, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.here = list(
            litter.pups.filter(state__in=_HERE).select_related("litter").order_by("pk")
        )
        for pup in self.here:
            self.fields[self._name(pup)] = self.field_of(pup)

    def _name(self, pup: Animal) -> str:
        return f"{self.stem}-{pup.public_id}"

    @property
    def lines(self) -> list[tuple]:
        return [(pup, self[self._name(pup)]) for pup in self.here]

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.errors and not self.filled:
            raise forms.ValidationError(gettext("Nothing is entered yet."))
        return cleaned

    @property
    def filled(self) -> list[tuple[Animal, Any]]:
        """Each pup that something was written of, with what."""
        pairs = [(pup, self.cleaned_data.get(self._name(pup))) for pup in self.here]
        return [(pup, value) for pup, value in pairs if value not in (None, "")]

    def take(self, findings: tuple[Finding, ...]) -> None:
        """What is found of the day stands at the day, once."""
        seen, own = set(), []
        for finding in findings:
            field = "on" if finding.field.startswith("on-") else finding.field
            if finding.kind == "ask" or (field, finding.message) not in seen:
                own.append(Finding(finding.kind, finding.code, finding.message, field))
            seen.add((field, finding.message))
        super().take(tuple(own))


class WeighLitterForm(TogetherForm):
    """A litter on the scales."""

    stem = "weight_g"

    def field_of(self, pup: Animal) -> forms.Field:
        return weight_field(label=pup.label, required=False)

    def entries(self) -> list[WeighingEntry]:
        on = self.cleaned_data["on"]
        return [WeighingEntry(pup, on, weight) for pup, weight in self.filled]


class LookAtLitterForm(TogetherForm):
    """A litter on the table: one tap a pup."""

    stem = "stage"
    warmth = forms.ChoiceField(
        label=_("Weather in the weeks before"),
        choices=Warmth.choices,
        required=False,
        widget=forms.RadioSelect,
        initial=Warmth.UNKNOWN,
    )

    def field_of(self, pup: Animal) -> forms.Field:
        choices = [*Stage.choices, ("", _("not checked"))]
        return forms.ChoiceField(
            label=pup.label, choices=choices, required=False, widget=forms.RadioSelect, initial=""
        )

    def entries(self) -> list[LookEntry]:
        on, warmth = self.cleaned_data["on"], self.cleaned_data["warmth"]
        return [LookEntry(pup, on, stage, {"warmth": warmth}) for pup, stage in self.filled]


class MixUpForm(EntryForm):
    """Two pups that were taken for each other, and since when."""

    first = OneOffered(label=_("This pup"), queryset=Animal.objects.none())
    second = OneOffered(label=_("and this one"), queryset=Animal.objects.none())
    since = DayField(label=_("Mixed up since"))

    def __init__(self, *args: Any, litter: Litter, **kwargs: Any):
        super().__init__(*args, **kwargs)
        pups = litter.pups.select_related("litter", "herd").order_by("pk")
        for name in ("first", "second"):
            self.fields[name].queryset = pups
            self.fields[name].label_from_instance = lambda pup: pup.label


class LitterView(WriteView):
    """A page that writes of a whole litter."""

    rows = Litter.objects.with_family()

    def form_arguments(self) -> dict[str, Any]:
        return {"litter": self.row}

    def context(self) -> dict[str, Any]:
        return {"litter": self.row}


class TogetherView(LitterView):
    """Something of all pups in one save."""

    def write(self, submission: Submission, form: TogetherForm) -> list[Observation]:
        return record_observations(submission, entries=form.entries())


class WeighLitter(TogetherView):
    """Weights of all pups in one save."""

    form_class = WeighLitterForm
    template_name = "litters/weigh.html"


class LookAtLitter(TogetherView):
    """Points of all pups in one save."""

    form_class = LookAtLitterForm
    template_name = "litters/look.html"


class ExchangeRecords(LitterView):
    """Two pups that were taken for each other: their looks and weights change places."""

    form_class = MixUpForm
    template_name = "litters/exchange.html"

    def write(self, submission: Submission, form: MixUpForm) -> Litter:
        said = {name: form.cleaned_data[name] for name in ("first", "second", "since")}
        return exchange_records(submission, **said)
