"""How pairs are ranked: tried out in the address, saved for the herd on request."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import DecimalField
from django.http import HttpRequest, HttpResponse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Herd, RankingWeights
from herdbook.book.models.ranking_weights import WEIGHTS
from herdbook.book.services.change_set import Submission
from herdbook.book.services.settings import set_ranking_weights

from ..common.entry_form import EntryForm, WriteView, written_of
from ..common.error_messages import PlainForm

_LABELS = {
    "per_inbreeding": _("Pups I would give up to avoid 10% inbreeding"),
    "per_kinship": _("Pups I would give up to avoid 10% relatedness to the herd"),
    "per_caution": _("Pups I would give up to avoid one caution"),
}


def _field(name: str) -> forms.DecimalField:
    column = RankingWeights._meta.get_field(name)
    assert isinstance(column, DecimalField), "a weight is a decimal number"
    least, most = (
        next(one.limit_value for one in column.validators if isinstance(one, kind))
        for kind in (MinValueValidator, MaxValueValidator)
    )
    attrs = {"inputmode": "decimal", "autocomplete": "off", "class": "short"}
    return forms.DecimalField(
        label=_LABELS[name],
        min_value=least,
        max_value=most,
        max_digits=column.max_digits,
        decimal_places=column.decimal_places,
        widget=forms.TextInput(attrs=attrs),
    )


class WeightsForm(PlainForm):
    """The weights that a ranking uses now: those of the address, else the saved ones."""

    def __init__(self, request: HttpRequest, herd: Herd):
        self.kept = RankingWeights.of(herd)
        asked = any(name in request.GET for name in WEIGHTS)
        initial = {name: f"{getattr(self.kept, name).normalize():f}" for name in WEIGHTS}
        super().__init__(request.GET if asked else None, initial=initial)
        self.fields |= {name: _field(name) for name in WEIGHTS}
        #: All else in the address, to be sent along.
        self.along = [
            (name, value)
            for name, values in request.GET.lists()
            for value in values
            if name not in {*WEIGHTS, "sort", "page"}
        ]

    @property
    def weights(self) -> RankingWeights:
        if not self.is_bound or not self.is_valid():
            return self.kept
        values = {name: self.cleaned_data[name] for name in WEIGHTS}
        return RankingWeights(herd=self.kept.herd, **values)

    @property
    def to_keep(self) -> "KeepForm | None":
        """The form that saves these weights, where they differ from the saved ones."""
        values = {name: getattr(self.weights, name) for name in WEIGHTS}
        if all(value == getattr(self.kept, name) for name, value in values.items()):
            return None
        return KeepForm(initial={**values, "version": self.kept.version})


class KeepForm(EntryForm):
    """The weights to save, in hidden fields: the form beside it shows them."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in WEIGHTS:
            self.fields[name] = _field(name)
            self.fields[name].widget = forms.HiddenInput()


class KeepWeights(WriteView):
    """Save the weights for the herd's rankings, and go back to the ranking."""

    form_class = KeepForm
    template_name = "matings/weights.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"initial": written_of(RankingWeights.of(self.row), WEIGHTS)}

    def write(self, submission: Submission, form: KeepForm) -> RankingWeights:
        values = {name: form.cleaned_data[name] for name in WEIGHTS}
        return set_ranking_weights(submission, herd=self.row, values=values)

    def next_page(self, written: Any) -> str:
        return _back(self.request)

    def show(self, form: KeepForm) -> HttpResponse:
        for name in WEIGHTS:
            form.fields[name].widget = _field(name).widget
        return super().show(form)

    def context(self) -> dict[str, Any]:
        return {"next": _back(self.request)}


def _back(request: HttpRequest) -> str:
    """The ranking that the form was sent from; the grid for any other address."""
    asked = request.POST.get("next", "")
    here = url_has_allowed_host_and_scheme(asked, allowed_hosts={request.get_host()})
    return asked if here and asked.startswith("/matings/") else "mating-grid"
