"""Forms for what is seen of an animal: its weight, its points; what a person makes of it."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.inputs import JudgementEntry, LookEntry, WeighingEntry
from herdbook.book.models import Animal, Herd, Look
from herdbook.book.models.judgement import Verdict
from herdbook.book.models.look import Density, Stage
from herdbook.book.rules.date_bounds import EARLIEST_YEAR, LATEST_YEAR

from ..common.entry_form import EntryForm
from ..photos import PhotoFields

PLACES = ("smut", "ears", "fore_feet", "hind_feet")
_IN_DETAIL = (*PLACES, "spread", "stain", "bare_skin")
COLUMNS = (*_IN_DETAIL, "warmth", "remarks")


class DayField(forms.DateField):
    """A day, chosen from the device's own calendar or typed."""

    def __init__(self, **kwargs: Any):
        widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "class": "short"})
        super().__init__(widget=widget, **kwargs)


class PlannedDayField(DayField):
    """A day that may lie ahead, of a year from which days can be counted on and back."""

    def validate(self, value: date | None) -> None:
        """Raises ValidationError where the year is a slip of the keys."""
        super().validate(value)
        if value is not None and not EARLIEST_YEAR <= value.year <= LATEST_YEAR:
            years = {"first": EARLIEST_YEAR, "last": LATEST_YEAR}
            raise ValidationError(gettext("Enter a year from %(first)d to %(last)d.") % years)


def weight_field(**kwargs: Any) -> forms.IntegerField:
    """A weight in grams, typed on the keys for numbers."""
    attrs = {"inputmode": "numeric", "autocomplete": "off", "maxlength": 4, "class": "short"}
    kwargs.setdefault("label", _("Weight (g)"))
    return forms.IntegerField(
        min_value=10, max_value=4000, widget=forms.TextInput(attrs=attrs), **kwargs
    )


class ObservationForm(EntryForm):
    """An observation of an animal of ``herd``; ``written`` is the one that is corrected."""

    on = DayField(label=_("Date"), initial=timezone.localdate)

    def __init__(self, *args: Any, herd: Herd, written: Any = None, **kwargs: Any):
        self.herd, self.written = herd, written
        super().__init__(*args, **kwargs)


class WeighingForm(ObservationForm):
    """One weighing."""

    weight_g = weight_field()
    remarks = forms.CharField(label=_("Remarks"), max_length=200, required=False)

    def entry(self, animal: Animal) -> WeighingEntry:
        cleaned = self.cleaned_data
        return WeighingEntry(animal, cleaned["on"], cleaned["weight_g"], cleaned["remarks"])


class JudgementForm(ObservationForm):
    """What a person makes of an animal."""

    verdict = forms.ChoiceField(
        label=_("Verdict"), choices=Verdict.choices, widget=forms.RadioSelect
    )
    by = forms.CharField(label=_("Judged by"), max_length=80, required=False)
    remarks = forms.CharField(label=_("Remarks"), max_length=200, required=False)

    def __init__(self, *args: Any, herd: Herd, **kwargs: Any):
        super().__init__(*args, herd=herd, **kwargs)
        self.fields["by"].initial = herd.keeper

    def entry(self, animal: Animal) -> JudgementEntry:
        cleaned = self.cleaned_data
        return JudgementEntry(
            animal, cleaned["on"], cleaned["verdict"], cleaned["by"], cleaned["remarks"]
        )


class LookForm(PhotoFields, ObservationForm):
    """One look at the points: the stage, and place by place if wanted."""

    stage = forms.ChoiceField(
        label=_("Points overall"), choices=Stage.choices, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        buttons = {name: forms.RadioSelect for name in COLUMNS if name != "remarks"}
        self.fields |= forms.fields_for_model(Look, fields=COLUMNS, widgets=buttons)
        for name in PLACES:
            self.fields[name].choices = [
                (value, _("hidden by white") if value == Density.HIDDEN else words)
                for value, words in Density.choices
            ]
        self.fields["bare_skin"].help_text = _(
            "Skin, not hair: pads, ears and nose may be dark at birth, even on a self."
        )
        self.fields["warmth"].help_text = _("Warm weather pales new hair, cold darkens it.")

    @property
    def places(self) -> list:
        return [self[name] for name in _IN_DETAIL]

    @property
    def has_details(self) -> bool:
        """Whether the folded part holds anything, or must be mended."""
        return any(field.value() or field.errors for field in self.places)

    def entry(self, animal: Animal) -> LookEntry:
        cleaned = self.cleaned_data
        values = {name: cleaned[name] for name in COLUMNS}
        values["photo"] = self.photo_to_write(self.written.photo if self.written else None)
        return LookEntry(animal, cleaned["on"], cleaned["stage"], values)
