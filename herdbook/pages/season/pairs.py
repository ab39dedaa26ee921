"""Pairs that a plan must keep or rule out, named by the breeder before it is worked out."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from genetics.season.request import KeyPairs, Wishes
from herdbook.book.models import Animal, Herd
from herdbook.book.models.animal import Sex, State

from ..common.error_messages import OF_LINES, PlainForm
from ..common.fields import AnimalField, choice_of

HOLD, FORBID = "hold", "forbid"
BLANK_ROWS = 3
MOST_ROWS = 999


class PairForm(PlainForm):
    """A sow, a boar, and whether they must be in the plan or not; a blank row is ignored."""

    sow = AnimalField(sex=Sex.SOW, label=_("Sow"), required=False)
    boar = AnimalField(sex=Sex.BOAR, label=_("Boar"), required=False)
    way = forms.ChoiceField(
        label=_("In the plan"),
        required=False,
        choices=[(HOLD, _("keep: always")), (FORBID, _("rule out: never"))],
    )

    def __init__(self, *args: Any, herd: Herd, **kwargs: Any):
        super().__init__(*args, **kwargs)
        for name in ("sow", "boar"):
            self.fields[name].animals = Animal.objects.filter(herd=herd)

    def clean_sow(self):
        return _fit(
            self.cleaned_data["sow"], Sex.SOW, gettext("%(animal)s is not recorded as a sow.")
        )

    def clean_boar(self):
        return _fit(
            self.cleaned_data["boar"], Sex.BOAR, gettext("%(animal)s is not recorded as a boar.")
        )

    def clean(self):
        cleaned = super().clean()
        for name, other in (("sow", "boar"), ("boar", "sow")):
            if cleaned.get(name) and other in cleaned and not cleaned[other]:
                self.add_error(other, gettext("Name both, or clear the row."))
        return cleaned

    @property
    def pair(self) -> tuple[Animal, Animal] | None:
        """The two of a row that is filled and holds."""
        sow, boar = (self.cleaned_data.get(name) for name in ("sow", "boar"))
        return (sow, boar) if sow and boar else None


def _fit(animal: Animal | None, sex: str, words: str) -> Animal | None:
    if animal is None:
        return None
    if animal.sex != sex:
        raise ValidationError(words % {"animal": animal.label})
    if animal.state != State.IN_HERD:
        raise ValidationError(
            gettext("%(animal)s is not in the herd (%(state)s). Name another, or clear the row.")
            % {"animal": animal.label, "state": animal.get_state_display()}
        )
    return animal


class PairRows(forms.BaseFormSet):
    """All the rows. A pair stands once, and a sow is kept with one boar."""

    default_error_messages = OF_LINES

    def clean(self):
        seen, held = set(), set()
        for form in self.forms:
            if not form.is_valid() or form.pair is None:
                continue
            sow, boar = form.pair
            if form.pair in seen:
                form.add_error(
                    "boar", gettext("This pair is in a row above already. Clear one of them.")
                )
            elif form.cleaned_data["way"] != FORBID:
                if sow in held:
                    form.add_error(
                        "sow",
                        gettext("You keep %(sow)s with two boars. Release one.")
                        % {"sow": sow.label},
                    )
                held.add(sow)
            seen.add(form.pair)

    @property
    def any_filled(self) -> bool:
        """Whether any row is filled."""
        return any(form[name].value() for form in self.forms for name in ("sow", "boar"))

    def pairs(self, way: str) -> KeyPairs:
        """The pairs kept, or those ruled out, by key."""
        return tuple(
            (form.pair[0].pk, form.pair[1].pk)
            for form in self.forms
            if form.pair and (form.cleaned_data["way"] or HOLD) == way
        )


_Rows = forms.formset_factory(
    PairForm, formset=PairRows, extra=BLANK_ROWS, max_num=MOST_ROWS, absolute_max=MOST_ROWS
)


def pair_rows(data: QueryDict | None, *, herd: Herd, before: Wishes | None) -> PairRows:
    """The rows as sent, or those of an earlier plan, with some blank ones after them."""
    initial = list(_as_typed(herd, before)) if before else []
    return _Rows(data, prefix="named", initial=initial, form_kwargs={"herd": herd})


def _as_typed(herd: Herd, before: Wishes) -> Iterator[dict[str, str]]:
    """The earlier pairs as they are typed; those of animals that are gone are dropped."""
    ways = ((before.held, HOLD), (before.forbidden, FORBID))
    keys = {key for pairs, _way in ways for pair in pairs for key in pair}
    if not keys:
        return
    here = list(Animal.objects.filter(herd=herd).select_related("litter"))
    namesakes = Counter(_says(one) for one in here)
    typed = {
        one.pk: choice_of(one, alone=namesakes[_says(one)] == 1) for one in here if one.pk in keys
    }
    for pairs, way in ways:
        for sow, boar in pairs:
            if sow in typed and boar in typed:
                yield {"sow": typed[sow], "boar": typed[boar], "way": way}


def _says(animal: Animal) -> tuple[str, str, str]:
    return animal.stud_prefix, animal.name, animal.number
