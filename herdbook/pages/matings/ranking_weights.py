"""What weighs in a ranking: tried out in the address, kept for the herd when told to."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.http import HttpRequest, HttpResponse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.text import capfirst

from herdbook.book.models import Herd, RankingWeights
from herdbook.book.models.ranking_weights import WEIGHTS
from herdbook.book.services.change_set import Submission
from herdbook.book.services.settings import set_ranking_weights

from ..common.entry_form import DeskForm, WriteView, written_of
from ..common.error_messages import PlainForm


def _field(name: str) -> forms.DecimalField:
    column = RankingWeights._meta.get_field(name)
    least, most = (
        next(one.limit_value for one in column.validators if isinstance(one, kind))
        for kind in (MinValueValidator, MaxValueValidator)
    )
    attrs = {"inputmode": "decimal", "autocomplete": "off", "class": "short"}
    return forms.DecimalField(
        label=capfirst(column.verbose_name),
        min_value=least,
        max_value=most,
        max_digits=column.max_digits,
        decimal_places=column.decimal_places,
        widget=forms.TextInput(attrs=attrs),
    )


class WeightsForm(PlainForm):
    """The weights that a ranking goes by now: those of the address, else those kept."""

    def __init__(self, request: HttpRequest, herd: Herd):
        self.kept = RankingWeights.of(herd)
        asked = any(name in request.GET for name in WEIGHTS)
        initial = {name: f"{getattr(self.kept, name).normalize():f}" for name in WEIGHTS}
        super().__init__(request.GET if asked else None, initial=initial)
        self.fields |= {name: _field(name) for name in WEIGHTS}
        #: All else that the address says, to be sent along.
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
        """The form that keeps these weights, where they are not those kept."""
        values = {name: getattr(self.weights, name) for name in WEIGHTS}
        if all(value == getattr(self.kept, name) for name, value in values.items()):
            return None
        return KeepForm(initial={**values, "version": self.kept.version})


class KeepForm(DeskForm):
    """The weights to be kept, unseen: they stand in the form beside it."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in WEIGHTS:
            self.fields[name] = _field(name)
            self.fields[name].widget = forms.HiddenInput()


class KeepWeights(WriteView):
    """Keep the weights for the herd's next rankings, and go back to the ranking."""

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
    """Where the ranking stands that the form was sent from; the grid for any other address."""
    asked = request.POST.get("next", "")
    here = url_has_allowed_host_and_scheme(asked, allowed_hosts={request.get_host()})
    return asked if here and asked.startswith("/matings/") else "mating-grid"
