"""The lines for the pups of a litter: one form each, as many as there are pups."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from herdbook.book.inputs import PupEntry
from herdbook.book.models import Animal, Herd
from herdbook.book.models.animal import Coat, Sex, ToldApart
from herdbook.book.models.base import Sureness

from ..common.error_messages import OF_LINES
from ..photos import PhotoFields

MOST_PUPS = 20
BLANK_LINES = 4
MORE_LINES = 4

# What makes a line a pup though the count of those born alive is left empty.
_TELLING = ("sex", "birth_weight_g", "name", "tag", "number", "told_apart_note", "remarks")


class PupForm(PhotoFields):
    """One pup as it is written at birth."""

    sex = forms.ChoiceField(
        label=_("Sex"),
        choices=[
            (Sex.BOAR, _("Boar")),
            (Sex.SOW, _("Sow")),
            (Sex.UNKNOWN, _("Not sexed")),
        ],
        widget=forms.RadioSelect,
        required=False,
    )
    birth_weight_g = forms.IntegerField(
        label=_("Birth weight (g)"),
        min_value=1,
        max_value=2000,
        required=False,
        widget=forms.TextInput(
            attrs={"inputmode": "numeric", "autocomplete": "off", "maxlength": 4, "class": "short"}
        ),
    )
    coat = forms.ChoiceField(label=_("Body colour"), choices=Coat.choices, required=False)
    told_apart = forms.ChoiceField(
        label=_("Identified by"),
        choices=ToldApart.choices,
        required=False,
        widget=forms.RadioSelect,
    )
    told_apart_note = forms.CharField(
        label=_("Details of the mark"), max_length=120, required=False
    )
    sureness = forms.ChoiceField(
        label=_("How sure"),
        choices=Sureness.choices,
        initial=Sureness.SURE,
        required=False,
        widget=forms.RadioSelect,
    )
    name = forms.CharField(label=_("Name"), max_length=80, required=False)
    tag = forms.CharField(label=_("Tag"), max_length=40, required=False)
    number = forms.CharField(
        label=_("Number"),
        max_length=20,
        required=False,
        help_text=_("Leave blank for the next free number."),
    )
    remarks = forms.CharField(
        label=_("Remarks on this pup"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, herd: Herd, **kwargs: Any):
        self.herd = herd
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs.setdefault("autocomplete", "off")

    @property
    def is_written(self) -> bool:
        """Whether the keeper wrote anything that makes this line a pup."""
        return self.kept is not None or any(self.cleaned_data.get(name) for name in _TELLING)

    @property
    def has_details(self) -> bool:
        """Whether the folded part holds anything, or must be mended."""
        own = ("sex", "birth_weight_g", "coat", "no_photo", "sureness")
        return bool(
            self.kept
            or self["sureness"].value() not in ("", None, Sureness.SURE)
            or any(field.value() or field.errors for field in self if field.name not in own)
        )

    def entry(self) -> PupEntry:
        """What the line says, for the desk."""
        cleaned = self.cleaned_data
        return PupEntry(
            sex=cleaned["sex"],
            coat=cleaned["coat"],
            birth_weight_g=cleaned["birth_weight_g"],
            number=cleaned["number"],
            name=cleaned["name"],
            tag=cleaned["tag"],
            told_apart=cleaned["told_apart"],
            told_apart_note=cleaned["told_apart_note"],
            sureness=cleaned["sureness"] or Sureness.SURE,
            remarks=cleaned["remarks"],
            photo=self.photo_to_write(None),
        )


class PupLines(forms.BaseFormSet):
    """All the lines of a form."""

    default_error_messages = {**forms.BaseFormSet.default_error_messages, **OF_LINES}

    def chosen(self, alive: int | None) -> list[PupForm]:
        """The lines that are pups: those written on, and blank ones up to the count alive."""
        written = [line for line in self.forms if line.is_written]
        blank = [line for line in self.forms if not line.is_written]
        missing = max(0, (alive or 0) - len(written))
        taken = {id(line) for line in written + blank[:missing]}
        return [line for line in self.forms if id(line) in taken]

    def field_at(self, path: str) -> tuple[forms.Form, str] | None:
        """The form and field that a finding's ``pups-2-number`` names."""
        for line in self.forms:
            name = path.removeprefix(f"{line.prefix}-")
            if name != path and name in line.fields:
                return line, name
        return None

    @property
    def empty_form(self) -> PupForm:
        """A line for the script to copy."""
        return self.form(
            auto_id=self.auto_id,
            prefix=self.add_prefix("__prefix__"),
            initial=self.fresh,
            **self.get_form_kwargs(None),
        )

    #: What a fresh line starts with.
    fresh: dict = {}


_Lines = forms.formset_factory(
    PupForm, formset=PupLines, extra=0, max_num=MOST_PUPS, absolute_max=MOST_PUPS
)


def pup_lines(
    data=None, files=None, *, herd: Herd, coat: str = "", initial: list[dict] | None = None
) -> PupLines:
    """The lines of a form: as sent, or so many blank ones with the usual colour."""
    fresh = {"coat": coat}
    lines = initial if initial is not None else [fresh] * BLANK_LINES
    # Every line is judged, a blank one too: the count alive may make it a pup.
    each = {"herd": herd, "empty_permitted": False, "use_required_attribute": False}
    made = _Lines(data, files, prefix="pups", initial=lines, form_kwargs=each)
    made.fresh = fresh
    return made


def usual_coat(herd: Herd, dam: Animal | None) -> str:
    """The colour that the next pup most likely has: its dam's last pup's, hers, or the herd's last.

    A start that one tap changes, not a forecast. Never a lethal white: that is written by hand.
    """
    written = Animal.objects.exclude(coat__in=("", Coat.LETHAL)).order_by("-pk")
    if dam is not None:
        hers = written.filter(litter__dam=dam).first()
        return hers.coat if hers else dam.coat
    last = written.filter(herd=herd).first()
    return last.coat if last else ""
