"""The limits of a herd: what the book asks at before a mating, and the classes of a show."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.functional import cached_property
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Limits
from herdbook.book.models.limits import LIMITS
from herdbook.book.services.change_set import Submission
from herdbook.book.services.settings import set_limits

from ..common.entry_form import EntryForm, WriteView

_SHOWS = _("Common practice, no source. Countries and clubs differ: yours decides.")

#: Each group with its limits, and what sources hold of each.
_GROUPS = (
    (
        _("The sow"),
        {
            "sow_mated_from_days": _(
                "2 to 3 months in stock kept for meat (researchanimaltraining.com 2021); fact "
                "sheets for vets say not before 3 months."
            ),
            "sow_mated_from_g": _(
                "350 to 450 g in stock kept for meat (researchanimaltraining.com 2021), not to be "
                "set lower. If your sows are heavier at that age, the warning starts at their "
                "weight."
            ),
            "first_conception_latest_days": _(
                "6 months (veterinary and university fact sheets), 7 months (vetpedia.it), 7 to 8 "
                "months (veterinary articles). After it the pelvis may have stiffened, and a sow "
                "that has never littered can die in labour."
            ),
            "sow_rests_days": _(
                "No source. Pups are weaned at 14 to 21 days, and she needs time to recover. "
                "Sows can conceive within hours of littering."
            ),
        },
    ),
    (
        _("The boar"),
        {
            "boar_mated_from_days": _("3 to 4 months (researchanimaltraining.com 2021)."),
            "boar_mated_from_g": _("600 to 700 g (researchanimaltraining.com 2021)."),
            "boar_stays_days": _(
                "A sow comes on heat every 15 to 17 days (researchanimaltraining.com 2021). Take "
                "him out before she litters."
            ),
        },
    ),
    (
        _("Heat"),
        {
            "hottest_from": _(
                "Common practice, no source: July and August north of the equator, January and "
                "February south of it. Heat is dangerous for a sow late in pregnancy."
            ),
            "hottest_to": _("Choose the same month twice for one month only."),
        },
    ),
    (
        _("Inbreeding of the litter"),
        {
            "inbreeding_comfortable": _("6.25% (from memory): as of first cousins."),
            "inbreeding_deliberate": _("12.5% (from memory): as of half brother and sister."),
            "inbreeding_exceptional": _(
                "25% (from memory): as of brother and sister, or parent and young. Ask a vet "
                "where a fault runs in the line."
            ),
        },
    ),
    (
        _("Shows"),
        {
            "show_from_months": _(
                "No source. Points take three to five months, so a younger one has little to show."
            ),
            "show_young_under_months": _("5 months. %s") % _SHOWS,
            "show_adult_from_months": _("8 months. %s") % _SHOWS,
        },
    ),
)


#: What a herd starts from.
_DEFAULTS = {name: Limits._meta.get_field(name).default for name in LIMITS}


@dataclass(frozen=True)
class Limit:
    """One limit on the page: its field, what sources hold, and its default."""

    field: forms.BoundField
    sources: str
    usual: str


class LimitsForm(EntryForm):
    """Every limit of a herd."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in LIMITS:
            self.fields[name] = _form_field(Limits._meta.get_field(name))

    @property
    def groups(self) -> list[tuple[str, list[Limit]]]:
        return [
            (words, [Limit(self[name], sources, _usual(name)) for name, sources in limits.items()])
            for words, limits in _GROUPS
        ]


class SetLimits(WriteView):
    """Show the limits, set them, or put back those that the book starts from."""

    template_name = "limits.html"

    @cached_property
    def limits(self) -> Limits:
        return Limits.of(self.row)

    def make_form(self, **sent: Any) -> EntryForm:
        if "defaults" in sent.get("data", ()):
            return EntryForm(**sent)
        values = {name: _bare(getattr(self.limits, name)) for name in LIMITS}
        return LimitsForm(**sent, initial={"version": self.limits.version, **values})

    def write(self, submission: Submission, form: EntryForm) -> Limits:
        values = form.cleaned_data if isinstance(form, LimitsForm) else _DEFAULTS
        values = {name: values[name] for name in LIMITS}
        return set_limits(submission, herd=self.row, values=values)

    def next_page(self, written: Any) -> str:
        return "limits"

    def show(self, form: EntryForm) -> HttpResponse:
        limits_form = form if isinstance(form, LimitsForm) else self.make_form()
        context = {"form": limits_form, "shown": form, "limits": self.limits}
        return render(self.request, self.template_name, context)


def beyond_sources(limits: Limits) -> str:
    """'oldest age for a first conception (days): 400' of each limit beyond sources; '' for none."""
    return "; ".join(
        f"{Limits._meta.get_field(name).verbose_name}: {_bare(getattr(limits, name))}"
        for name in limits.beyond_sources
    )


def _form_field(field: models.Field) -> forms.Field:
    """A field on the keys for numbers, with the model's own bounds; a month from a list."""
    label = capfirst(field.verbose_name)
    if field.choices:
        return forms.TypedChoiceField(label=label, choices=field.choices, coerce=int)
    least, most = (
        next(one.limit_value for one in field.validators if isinstance(one, kind))
        for kind in (MinValueValidator, MaxValueValidator)
    )
    given = {"label": label, "min_value": least, "max_value": most}
    attrs = {"autocomplete": "off", "class": "short"}
    if isinstance(field, models.DecimalField):
        attrs["inputmode"] = "decimal"
        return forms.DecimalField(
            max_digits=5, decimal_places=2, widget=forms.TextInput(attrs=attrs), **given
        )
    attrs["inputmode"] = "numeric"
    return forms.IntegerField(widget=forms.TextInput(attrs=attrs), **given)


def _bare(value: int | Decimal) -> str:
    """A number without the noughts that the table pads it with."""
    return f"{value.normalize():f}" if isinstance(value, Decimal) else str(value)


def _usual(name: str) -> str:
    field = Limits._meta.get_field(name)
    return dict(field.flatchoices).get(field.default, _bare(field.default))


urls = [path("herd/limits/", SetLimits.as_view(), name="limits")]
