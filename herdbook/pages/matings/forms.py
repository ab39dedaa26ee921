"""Which sow, which boar, and when he is with her."""

from datetime import date, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Animal, Herd, Limits
from herdbook.book.models.animal import Sex
from herdbook.book.rules.mating_cautions import TimeTogether
from herdbook.book.rules.matings import with_mating_records

from ..common.error_messages import PlainForm
from ..common.fields import AnimalField, animal_field, as_choice
from ..observations.forms import PlannedDayField

CHOICES = ("sow", "boar")


class TimeForm(PlainForm):
    """When the boar is with the sow. It may be left blank."""

    boar_in = PlannedDayField(
        label=_("Boar goes in"), required=False, help_text=_("Leave blank for today.")
    )
    boar_out = PlannedDayField(label=_("Boar comes out"), required=False)
    show_on = PlannedDayField(
        label=_("Show date"),
        required=False,
        help_text=_("To see which class the pups could enter."),
    )

    def __init__(self, data: QueryDict | None, *, limits: Limits, today: date, **kwargs):
        self.today = today
        self.limits = limits
        super().__init__(data, **kwargs)
        self.fields["boar_out"].help_text = _(
            "Leave blank for %(days)d days later, so that no heat is missed."
        ) % {"days": limits.boar_stays_days}

    def clean(self):
        cleaned = super().clean()
        if self.errors:
            return cleaned
        if self.together.last < self.together.first:
            self.add_error(
                "boar_out",
                gettext("The boar comes out before he goes in. Change one of the dates."),
            )
        elif self.together.due[1] < self.today:
            self.add_error(
                "boar_in",
                gettext("A litter from these dates would already be born. Enter later dates."),
            )
        return cleaned

    @property
    def together(self) -> TimeTogether:
        """When the boar is with the sow, as entered or by default."""
        first = self.cleaned_data.get("boar_in") or self.today
        stays = timedelta(days=self.limits.boar_stays_days)
        return TimeTogether(first, self.cleaned_data.get("boar_out") or first + stays)

    @property
    def days_written(self) -> dict[str, str]:
        """The dates that were entered, as an address carries them on."""
        return {
            name: self.cleaned_data[name].isoformat()
            for name in ("boar_in", "boar_out", "show_on")
            if self.cleaned_data.get(name)
        }


class MatingForm(TimeForm):
    """A sow, a boar or both. An address may name them by public id instead of by name."""

    sow = AnimalField(sex="sow", label=_("Sow"), required=False)
    boar = AnimalField(sex="boar", label=_("Boar"), required=False)

    field_order = ("sow", "boar", "boar_in", "boar_out", "show_on")

    def __init__(
        self,
        data: QueryDict,
        *,
        herd: Herd,
        limits: Limits,
        today: date,
        days: TimeTogether | None = None,
    ):
        animals = Animal.objects.filter(herd=herd)
        asked = "show_class" not in data and any(name in data for name in self.base_fields)
        initial = {"boar_in": days.first, "boar_out": days.last} if days else {}
        super().__init__(
            _by_name(data, animals) if asked else None,
            limits=limits,
            today=today,
            initial=initial | {"show_on": data.get("show_on", "")},
        )
        for name in CHOICES:
            animal_field(self, name).animals = with_mating_records(animals).select_related("figure")

    def clean_sow(self):
        return self._of_sex("sow", Sex.SOW, gettext("%(animal)s is a boar. Choose a sow."))

    def clean_boar(self):
        return self._of_sex("boar", Sex.BOAR, gettext("%(animal)s is a sow. Choose a boar."))

    def _of_sex(self, name: str, sex: str, wrong: str) -> Animal | None:
        animal = self.cleaned_data[name]
        if animal is None or animal.sex == sex:
            return animal
        if animal.sex == Sex.UNKNOWN:
            wrong = gettext("%(animal)s has no sex recorded. Record its sex first.")
        raise ValidationError(wrong % {"animal": animal.label})

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not cleaned["sow"] and not cleaned["boar"]:
            raise ValidationError(gettext("Choose a sow, a boar or both."))
        for name in CHOICES:
            if not self.errors and cleaned[name]:
                self._check_born(cleaned[name])
        return cleaned

    def _check_born(self, animal: Animal) -> None:
        if animal.born and self.together.first < animal.born.earliest:
            words = gettext("%(animal)s was not born yet (born %(born)s). Enter later dates.")
            said = {"animal": animal.full_name, "born": animal.born.words()}
            self.add_error("boar_in", words % said)


def _by_name(data: QueryDict, animals) -> QueryDict:
    """The same with public ids replaced by names; the id of no animal stays as it is."""
    data = data.copy()
    for name in CHOICES:
        try:
            public_id = UUID(data.get(name, ""))
        except ValueError:
            continue
        animal = animals.filter(public_id=public_id).first()
        if animal is not None:
            data[name] = as_choice(animal, animals)
    return data
