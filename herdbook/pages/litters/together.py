"""A whole litter at once: on the scales, on the table, and a mix-up put right."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from herdbook.book.desk.litters import exchange_records
from herdbook.book.desk.observations import record_looks, record_weighings
from herdbook.book.entries import LookEntry, WeighingEntry
from herdbook.book.findings import Finding
from herdbook.book.models import Animal, Litter
from herdbook.book.models.animal import State
from herdbook.book.models.look import Stage, Warmth

from ..desk_form import DeskForm, say_saved, submit
from ..fields import OneOffered
from ..observations.forms import DayField, weight_field
from ..who import own_or_404

_HERE = (State.IN_HERD, State.ON_LOAN)


class TogetherForm(DeskForm):
    """One day, and one field for each pup of a litter that is here.

    A subclass gives ``stem`` and ``field_of(pup)``.
    """

    on = DayField(label=_("Date"))
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
            raise forms.ValidationError(_now("Nothing is filled in yet."))
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
        label=_("The weeks before were"),
        choices=Warmth.choices,
        required=False,
        widget=forms.RadioSelect,
        initial=Warmth.UNKNOWN,
    )

    def field_of(self, pup: Animal) -> forms.Field:
        choices = [*Stage.choices, ("", _("not looked at"))]
        return forms.ChoiceField(
            label=pup.label, choices=choices, required=False, widget=forms.RadioSelect, initial=""
        )

    def entries(self) -> list[LookEntry]:
        on, warmth = self.cleaned_data["on"], self.cleaned_data["warmth"]
        return [LookEntry(pup, on, stage, {"warmth": warmth}) for pup, stage in self.filled]


class MixUpForm(DeskForm):
    """Two pups that were taken for each other, and since when."""

    first = OneOffered(label=_("This pup"), queryset=Animal.objects.none())
    second = OneOffered(label=_("and this one"), queryset=Animal.objects.none())
    since = DayField(label=_("Mixed up since"), initial=None)

    def __init__(self, *args: Any, litter: Litter, **kwargs: Any):
        super().__init__(*args, **kwargs)
        pups = litter.pups.select_related("litter", "herd").order_by("pk")
        for name in ("first", "second"):
            self.fields[name].queryset = pups
            self.fields[name].label_from_instance = lambda pup: pup.label


@login_required
def weigh(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Weights of all pups in one save."""
    return _together(request, public_id, WeighLitterForm, record_weighings, "litters/weigh.html")


@login_required
def look(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Points of all pups in one save."""
    return _together(request, public_id, LookAtLitterForm, record_looks, "litters/look.html")


def _together(
    request: HttpRequest,
    public_id: UUID,
    form_class: type[TogetherForm],
    write: Callable,
    template: str,
) -> HttpResponse:
    litter = own_or_404(request, Litter.objects.with_family(), public_id)
    today = timezone.localdate()
    form = form_class(request.POST or None, litter=litter, initial={"on": today})
    if form.is_valid():
        written = submit(
            request,
            form,
            write,
            herd=litter.herd,
            entries=form.entries(),
            today=today,
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("litter", litter.public_id)
    return render(request, template, {"form": form, "litter": litter})


@login_required
def exchange(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Two pups that were taken for each other: their looks and weights change places."""
    litter = own_or_404(request, Litter.objects.with_family(), public_id)
    form = MixUpForm(request.POST or None, litter=litter)
    if form.is_valid():
        written = submit(
            request,
            form,
            exchange_records,
            first=form.cleaned_data["first"],
            second=form.cleaned_data["second"],
            since=form.cleaned_data["since"],
            today=timezone.localdate(),
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("litter", litter.public_id)
    return render(request, "litters/exchange.html", {"form": form, "litter": litter})
