"""Forms for an animal's own facts and its parents, and for where it went."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.exceptions import EditConflictError
from herdbook.book.inputs import AnimalEntry, ParentsEntry
from herdbook.book.models import Animal, Herd, Litter
from herdbook.book.models.animal import State
from herdbook.book.models.litter import Source

from ..common.entry_form import EntryForm, written_of
from ..common.fields import AnimalField, CoatTypeField, PartialDateFormField
from ..photos import PhotoFields

#: The animal's own columns that a keeper writes; where it is now has a form of its own.
COLUMNS = (
    "sex",
    "name",
    "stud_prefix",
    "number",
    "tag",
    "coat",
    "point_colour",
    "eye_colour",
    "coat_type",
    "breeder",
    "owner",
    "came_from",
    "came_on",
    "bought_as",
    "told_apart",
    "told_apart_note",
    "sureness",
    "birth_weight_g",
    "type_notes",
    "remarks",
)
_AS_BUTTONS = ("sex", "bought_as", "told_apart", "sureness")
_ROWS = ("type_notes", "remarks")
_FEWEST_SIRES = 3


class AnimalForm(PhotoFields, EntryForm):
    """An animal bought or known from paper, or a correction of any animal.

    ``animal`` is the one that is corrected. The parents of one born at home stand on its litter's
    page, so the form then has no fields for them.
    """

    def __init__(self, *args: Any, herd: Herd, animal: Animal | None = None, **kwargs: Any):
        self.herd, self.animal = herd, animal
        litter = animal.litter if animal else None
        self.with_parents = litter is None or litter.source == Source.PAPER
        kwargs["initial"] = {**_written(animal), **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)
        self.fields |= forms.fields_for_model(Animal, fields=COLUMNS, widgets=_widgets())
        self.fields["coat_type"] = CoatTypeField()
        self.fields["came_on"] = PartialDateFormField(label=_("Date it came"), required=False)
        if animal is None:
            self._ask_where()
        if self.with_parents:
            self._ask_parents(litter)
        for field in self.fields.values():
            if isinstance(field, AnimalField):
                field.animals = Animal.objects.filter(herd=herd).select_related("litter")

    def _ask_where(self) -> None:
        where = [
            (State.IN_HERD, _("in the herd")),
            (State.PAPER, _("pedigree only (not kept here)")),
        ]
        self.fields["state"] = forms.ChoiceField(
            label=_("Place"), choices=where, initial=State.IN_HERD, widget=forms.RadioSelect
        )

    def _ask_parents(self, litter: Litter | None) -> None:
        written = list(litter.sires.select_related("boar__litter")) if litter else []
        self.fields["litter_version"] = forms.IntegerField(required=False, widget=forms.HiddenInput)
        if litter:
            self.initial |= {name: getattr(litter, name) for name in ("born", "dam")}
            self.initial["litter_version"] = litter.version
        self.fields["born"] = PartialDateFormField(label=_("Born"), required=False)
        self.fields["dam"] = AnimalField(sex="sow", label=_("Dam"), required=False)
        self._places = range(max(len(written) + 1, _FEWEST_SIRES))
        shares_differ = len({candidate.weight for candidate in written}) > 1
        for place in self._places:
            candidate = written[place] if place < len(written) else None
            label = _("Another possible sire") if place else _("Sire")
            self.fields[f"sire_{place}"] = AnimalField(sex="boar", label=label, required=False)
            self.fields[f"share_{place}"] = forms.FloatField(
                label=_("Its share"),
                min_value=1e-9,
                required=False,
                error_messages={"min_value": _("A share must be above zero.")},
            )
            if candidate:
                self.initial[f"sire_{place}"] = candidate.boar
                if shares_differ:
                    self.initial[f"share_{place}"] = candidate.weight

    @property
    def litter_opened_on(self) -> int:
        """The version of the litter from paper that the form was opened on; 0 without one."""
        return self.cleaned_data.get("litter_version") or 0

    def show_differences(self, error: EditConflictError) -> None:
        found = error.differences
        if found.get("dam"):
            found["dam"] = found["dam"].label
        if "boars" in found:
            found["sire_0"] = ", ".join(boar.label for boar in found.pop("boars"))
        of_litter = isinstance(error.row, Litter)
        super().show_differences(error, "litter_version" if of_litter else "version")

    @property
    def sire_rows(self) -> list[tuple]:
        """The bound fields of each boar that may be the sire, with its share."""
        return [(self[f"sire_{place}"], self[f"share_{place}"]) for place in self._places]

    @property
    def has_more_sires(self) -> bool:
        """Whether the rows after the first boar hold anything, or must be mended."""
        return any(
            field.value() or field.errors for row in self.sire_rows[1:] for field in row
        ) or any(share.errors for _sire, share in self.sire_rows)

    def clean(self) -> dict:
        cleaned = super().clean()
        if self.with_parents:
            self._check_sires(cleaned)
        return cleaned

    def _check_sires(self, cleaned: dict) -> None:
        seen: set[Animal] = set()
        for place in self._places:
            boar, share = cleaned.get(f"sire_{place}"), cleaned.get(f"share_{place}")
            if boar is None and share is not None and not self.has_error(f"sire_{place}"):
                self.add_error(f"sire_{place}", gettext("Which boar has this share?"))
            if boar in seen:
                self.add_error(
                    f"sire_{place}",
                    gettext("%(animal)s is entered twice.") % {"animal": boar.label},
                )
            if boar:
                seen.add(boar)
        shares = [share for boar, share in self._candidates(cleaned)]
        if any(shares) and not all(shares):
            self.add_error(
                "share_0",
                gettext("Enter a share for every boar, or for none: then all are equally likely."),
            )

    def _candidates(self, cleaned: dict) -> list[tuple[Animal, float | None]]:
        pairs = [
            (cleaned.get(f"sire_{place}"), cleaned.get(f"share_{place}")) for place in self._places
        ]
        return [(boar, share) for boar, share in pairs if boar]

    def entry(self) -> AnimalEntry:
        """What the form says, for the desk."""
        values = {name: self.cleaned_data[name] for name in COLUMNS}
        values["photo"] = self.photo_to_write(self.animal.photo if self.animal else None)
        if self.animal is None:
            values["state"] = self.cleaned_data["state"]
        return AnimalEntry(values=values, parents=self._parents())

    def _parents(self) -> ParentsEntry:
        if not self.with_parents:
            return ParentsEntry()
        pairs = self._candidates(self.cleaned_data)
        shares = tuple(share for _boar, share in pairs if share)
        return ParentsEntry(
            dam=self.cleaned_data["dam"],
            boars=tuple(boar for boar, _share in pairs),
            weights=shares if len(shares) == len(pairs) else (),
            born=self.cleaned_data["born"],
        )


class MoveForm(EntryForm):
    """Sold, lent, died, or back."""

    state = forms.ChoiceField(label=_("What happened"), widget=forms.RadioSelect)
    on = PartialDateFormField(label=_("When"), required=False)
    went_to = forms.CharField(label=_("Buyer or new home"), max_length=120, required=False)

    def __init__(self, *args: Any, animal: Animal, **kwargs: Any):
        kwargs["initial"] = {"version": animal.version, "on": timezone.localdate().isoformat()}
        super().__init__(*args, **kwargs)
        self.fields["state"].choices = _moves_from(animal)

    def clean(self) -> dict:
        cleaned = super().clean()
        if cleaned.get("state") == State.IN_HERD:
            # In the herd there is no day of leaving; what was written stays in history.
            cleaned |= {"on": None, "went_to": ""}
        return cleaned


def _moves_from(animal: Animal) -> list[tuple[str, str]]:
    back = {
        State.PAPER: _("in the herd"),
        State.DIED: _("alive and in the herd"),
    }.get(animal.state, _("back in the herd"))
    moves = [
        (State.SOLD, _("sold")),
        (State.ON_LOAN, _("lent")),
        (State.DIED, _("died")),
        (State.IN_HERD, back),
    ]
    return [move for move in moves if animal.state != State.IN_HERD or move[0] != State.IN_HERD]


def _written(animal: Animal | None) -> dict:
    if animal is None:
        return {}
    return written_of(animal, COLUMNS)


def _widgets() -> dict[str, forms.Widget]:
    return {
        **dict.fromkeys(_AS_BUTTONS, forms.RadioSelect),
        **{name: forms.Textarea(attrs={"rows": 3}) for name in _ROWS},
        **{name: forms.TextInput(attrs={"autocomplete": "off"}) for name in ("name", "number")},
    }
