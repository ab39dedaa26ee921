"""Form fields of our own: dates known in part, a day, and an animal chosen among many."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.urls import reverse
from django.utils.dates import MONTHS, MONTHS_3, MONTHS_AP
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.coat_type import CoatType, as_coat_type, coat_type_words
from herdbook.book.models import Animal
from herdbook.book.models.animal import Sex
from herdbook.book.partial_date import PartialDate, as_partial
from herdbook.book.search import fold

# Animals with the same name and number differ by this many characters of their public id.
_ID_SIGNS = 8
_MOST_NAMED = 6
# What may stand between the parts of a date, and the year that ends one written day first.
_BETWEEN = re.compile(r"[\s./-]+")
_YEAR = re.compile(r"[0-9]{4}")


class PartialDateFormField(forms.CharField):
    """Reads 2026-03-14, 14.3.2026, 14/3/2026, 14-3-2026 or 14 Mar 2026; a month or a year alone."""

    def __init__(self, **kwargs):
        kwargs.setdefault("help_text", _("For example 14 Mar 2026, Mar 2026 or 2026."))
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")
        self.widget.attrs.setdefault("class", "short")

    def prepare_value(self, value):
        return str(value) if isinstance(value, PartialDate) else value

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            return as_partial(_as_iso(text))
        except ValueError:
            raise ValidationError(
                gettext("Could not read the date “%(text)s”. Try 10 Sep 2026.") % {"text": text}
            ) from None

    def run_validators(self, value):
        """Checked by :meth:`to_python`; a text's validators do not apply to a date."""


class CoatTypeField(forms.MultipleChoiceField):
    """Boxes to tick for coat and marks; gives the words as the database keeps them."""

    def __init__(self, **kwargs):
        kwargs.setdefault("label", _("Coat and marks"))
        kwargs.setdefault(
            "help_text",
            _("Leave all blank if you have not looked. Satin and roan matter before a mating."),
        )
        super().__init__(
            choices=CoatType.choices,
            required=False,
            widget=forms.CheckboxSelectMultiple,
            **kwargs,
        )

    def prepare_value(self, value):
        return value.split() if isinstance(value, str) else value

    def clean(self, value):
        return as_coat_type(super().clean(value))

    def has_changed(self, initial, data):
        return super().has_changed(self.prepare_value(initial), data)

    @staticmethod
    def as_shown(kept: str) -> str:
        return coat_type_words(kept)


def _as_iso(text: str) -> str:
    """Turn day-first writing, as British and most other breeders do it, into ISO order."""
    parts = [part for part in _BETWEEN.split(text) if part]
    if len(parts) < 2 or not _YEAR.fullmatch(parts[-1]):
        return text
    parts[-2] = _months().get(parts[-2].casefold(), parts[-2])
    return "-".join(part.zfill(2) for part in reversed(parts))


def _months() -> dict[str, str]:
    """The number of each month by its name, whole and cut short, as the pages print it."""
    return {
        str(name).rstrip(".").casefold(): str(month)
        for names in (MONTHS, MONTHS_3, MONTHS_AP)
        for month, name in names.items()
    }


class AnimalInput(forms.TextInput):
    """A text input that suggests animals as you type; it works without the script too."""

    def __init__(self, *, sex: str = "", attrs: dict | None = None):
        super().__init__(attrs)
        self.sex = sex

    def get_context(self, name: str, value: Any, attrs: dict | None) -> dict:
        context = super().get_context(name, value, attrs)
        own = context["widget"]["attrs"]
        found = f"{own.get('id', name)}-found"
        own |= {
            "list": found,
            "autocomplete": "off",
            "autocapitalize": "off",
            "spellcheck": "false",
            "hx-get": f"{reverse('suggest-animals')}?{urlencode({'sex': self.sex})}",
            "hx-trigger": "input changed delay:200ms, focus once",
            "hx-target": f"#{found}",
        }
        return context

    def render(self, name, value, attrs=None, renderer=None):
        box = super().render(name, value, attrs, renderer)
        own = self.build_attrs(self.attrs, attrs)
        return format_html('{}<datalist id="{}-found"></datalist>', box, own.get("id", name))


class AnimalField(forms.CharField):
    """Reads an animal by its name, number or tag as typed; gives the Animal, or None when empty.

    The form sets ``animals``, the queryset to choose among, already cut to what the user may see.
    A word that fits several animals is refused with their names, one that fits none with what to
    do. ``sex`` steers the suggestions and the words; the book's rules judge the choice.
    """

    animals: QuerySet

    def __init__(self, *, sex: str = "", **kwargs):
        super().__init__(max_length=160, widget=AnimalInput(sex=sex), **kwargs)
        self.sex = sex
        self.animals = Animal.objects.none()

    def prepare_value(self, value):
        return as_choice(value, self.animals) if isinstance(value, Animal) else value

    def clean(self, value):
        text = super().clean(value)
        return self._found(text) if text else None

    def _found(self, text: str) -> Animal:
        found = find_animals(self.animals, text)
        if len(found) == 1:
            return found[0]
        if not found:
            raise ValidationError(_not_found(self.sex) % {"text": text})
        # Of several with one name the wanted sex may leave a single one.
        fitting = [animal for animal in found if animal.sex in (self.sex, Sex.UNKNOWN)]
        if self.sex and len(fitting) == 1:
            return fitting[0]
        names = [as_choice(animal, self.animals) for animal in found[:_MOST_NAMED]]
        if len(found) > _MOST_NAMED:
            names.append("…")
        raise ValidationError(
            gettext("“%(text)s” matches several: %(names)s. Type one of these in full.")
            % {"text": text, "names": "; ".join(names)}
        )


def animal_field(form: forms.BaseForm, name: str) -> AnimalField:
    """The field of a form in which an animal is typed."""
    field = form.fields[name]
    assert isinstance(field, AnimalField), f"{name} is typed as an animal"
    return field


class _OfThoseOffered:
    """Rows sent by their public ids. What is no id at all is none of them, like the id of a row
    that is not offered."""

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, to_field_name="public_id", **kwargs)

    def clean(self, value: Any) -> Any:
        sent = value if isinstance(value, (list, tuple)) else [value]
        if not all(is_public_id(str(one)) for one in sent if one not in self.empty_values):
            raise ValidationError(self.error_messages["invalid_choice"], code="invalid_choice")
        return super().clean(value)


class OneOffered(_OfThoseOffered, forms.ModelChoiceField):
    """One row of those offered."""


class SomeOffered(_OfThoseOffered, forms.ModelMultipleChoiceField):
    """Any of the rows offered."""


def is_public_id(text: str) -> bool:
    """Whether a text sent by a form can be the public id of a row at all."""
    plain = text.replace("-", "")
    return len(plain) == 32 and all(sign in "0123456789abcdef" for sign in plain.lower())


def find_animals(animals: QuerySet, text: str) -> list[Animal]:
    """The animals that a typed text means: first by whole name or number, then by its words."""
    words, _sign, mark = text.rpartition(" #")
    if words and len(mark) == _ID_SIGNS:
        marked = [animal for animal in animals.matching(_bare(words)) if _mark(animal) == mark]
        if marked:
            return marked
    exact = [
        animal for animal in animals.matching(_bare(text)) if fold(text) in _ways_to_say(animal)
    ]
    by_number = [animal for animal in exact if fold(animal.number) == fold(text)]
    return by_number or exact or list(animals.matching(_bare(text))[:50])


def _ways_to_say(animal: Animal) -> set[str]:
    """All full names of this animal, with the stud prefix or without."""
    said = (animal.label, animal.full_name, animal.name, animal.number)
    return {fold(words) for words in said if words}


def as_choice(animal: Animal, animals: QuerySet) -> str:
    """The text to type for this animal: its label, with a mark where another has the same."""
    namesakes = animals.filter(
        stud_prefix=animal.stud_prefix, name=animal.name, number=animal.number
    ).exclude(pk=animal.pk)
    return choice_of(animal, alone=not namesakes.exists())


def choice_of(animal: Animal, *, alone: bool) -> str:
    """The same where it is known already whether the animal is alone in its name and number."""
    return animal.label if alone else f"{animal.label} #{_mark(animal)}"


def _bare(text: str) -> str:
    """A label without the brackets around its number, and without the words for a number."""
    without = text.replace("(", " ").replace(")", " ")
    numbered = gettext("No. %(number)s") % {"number": ""}
    return without.removeprefix(numbered)


def _mark(animal: Animal) -> str:
    return animal.public_id.hex[:_ID_SIGNS]


def _not_found(sex: str) -> str:
    if sex == Sex.SOW:
        return gettext("No sow matches “%(text)s”. Add her first, then choose her here.")
    if sex == Sex.BOAR:
        return gettext("No boar matches “%(text)s”. Add him first, then choose him here.")
    return gettext("No animal matches “%(text)s”. Add it first, then choose it here.")
