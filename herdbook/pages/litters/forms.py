"""The form of a litter: at birth with its pups, later for its own facts."""

from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.functional import cached_property
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.exceptions import EditConflictError
from herdbook.book.inputs import LitterEntry
from herdbook.book.models import Animal, Herd, Litter, LitterCount
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.findings import ASK, Finding
from herdbook.book.services.litters import next_numbers

from ..common.entry_form import EntryForm
from ..common.fields import AnimalField, PartialDateFormField, SomeOffered, is_public_id
from ..common.formatting import counted_words
from .other_litters import with_links
from .pups import MORE_LINES, MOST_PUPS, PupLines, pup_lines, usual_coat
from .sire_choices import boars_there

# So many boars stand open on the page, the others are folded.
BOARS_OPEN = 6
# So many, the likeliest, have a box at all: any other is typed.
MOST_BOARS = 40
_LEAVE_UNWRITTEN = "pups-not-written"


def count_field(label: str, **kwargs: Any) -> forms.IntegerField:
    """A number of pups, typed on the keys for numbers; it may be left empty."""
    attrs = {"inputmode": "numeric", "autocomplete": "off", "maxlength": 2, "class": "count"}
    return forms.IntegerField(
        label=label,
        min_value=0,
        max_value=30,
        required=False,
        widget=forms.TextInput(attrs=attrs),
        **kwargs,
    )


class LitterForm(EntryForm):
    """A litter's own facts: dam, possible sires, dates, counts."""

    dam = AnimalField(sex="sow", label=_("Dam"), required=False)
    boars = SomeOffered(
        label=_("Sire"),
        queryset=Animal.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text=_("Tick every possible sire. Leave blank if you don't know."),
    )
    other_boar = AnimalField(sex="boar", label=_("Another boar"), required=False)
    boar_in = PartialDateFormField(label=_("Boar put in"), required=False, help_text="")
    boar_out = PartialDateFormField(label=_("Boar taken out"), required=False, help_text="")
    born = PartialDateFormField(label=_("Born"), required=False)
    born_alive = count_field(_("Born alive"))
    born_dead = count_field(_("Born dead"))
    remarks = forms.CharField(
        label=_("Remarks"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(
        self,
        *args: Any,
        herd: Herd,
        litter: Litter | None = None,
        dam: Animal | None = None,
        **kwargs: Any,
    ):
        self.herd, self.litter, today = herd, litter, timezone.localdate()
        kwargs["initial"] = {**_written(litter, dam, today), **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)
        animals = Animal.objects.filter(herd=herd).select_related("litter")
        self.fields["dam"].animals = self.fields["other_boar"].animals = animals
        self.fields["boars"].queryset = animals.exclude(sex="sow")
        self.fields["boars"].choices = [
            (str(boar.public_id), boar.label) for boar in self._boars_offered(today, dam)
        ]
        self._add_shares()

    def _boars_offered(self, today: date, dam: Animal | None) -> list[Animal]:
        written = self.litter.candidate_boars if self.litter else []
        born = self.litter.born.middle if self.litter and self.litter.born else today
        offered = boars_there(self.herd, born=born, dam=self.litter.dam if self.litter else dam)
        ticked = self.fields["boars"].queryset.filter(public_id__in=self._ticked())
        self._say_how_many_are_not_listed(len(offered) - MOST_BOARS)
        return list(dict.fromkeys([*written, *offered[:MOST_BOARS], *ticked]))

    def _say_how_many_are_not_listed(self, count: int) -> None:
        if count > 0:
            self.fields["other_boar"].help_text = ngettext(
                "%(n)d more boar is not listed. Type his name or number here.",
                "%(n)d more boars are not listed. Type the name or number here.",
                count,
            ) % {"n": count}

    def _ticked(self) -> list[str]:
        """Boars ticked in what was sent that are ids at all; the field says what is wrong."""
        sent = self["boars"].value() or []
        return [value for value in map(str, sent) if is_public_id(value)]

    def _add_shares(self) -> None:
        """A share for each of several boars, once they are written."""
        candidates = list(self.litter.sires.all()) if self.litter else []
        self._written_shares = {candidate.boar: candidate.weight for candidate in candidates}
        if len(candidates) < 2:
            return
        for candidate in candidates:
            self.fields[f"share-{candidate.boar.public_id}"] = forms.FloatField(
                label=candidate.boar.label,
                min_value=1e-9,
                error_messages={"min_value": _("A share must be above zero.")},
                required=False,
                initial=candidate.weight,
                widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
            )

    def show_differences(self, error: EditConflictError) -> None:
        found = error.differences
        if "boars" in found:
            found["boars"] = ", ".join(boar.label for boar in found["boars"]) or "–"
        if found.get("dam"):
            found["dam"] = found["dam"].label
        super().show_differences(error)

    def take(self, findings: tuple[Finding, ...]) -> None:
        super().take(with_links(findings, self.herd))

    @property
    def shares(self) -> list:
        return [self[name] for name in self.fields if name.startswith("share-")]

    @property
    def boars_open(self) -> list:
        return self["boars"][:BOARS_OPEN]

    @property
    def boars_folded(self) -> list:
        return self["boars"][BOARS_OPEN:]

    @property
    def is_folded_needed(self) -> bool:
        """Whether the folded boars hold a tick, a word or a fault."""
        ticked = any(box.data["selected"] for box in self.boars_folded)
        return bool(ticked or self["other_boar"].value() or self["other_boar"].errors)

    def _chosen_boars(self) -> tuple[Animal, ...]:
        other = self.cleaned_data["other_boar"]
        boars = [*self.cleaned_data["boars"], *([other] if other else [])]
        return tuple(dict.fromkeys(boars))

    def _weights(self, boars: tuple[Animal, ...]) -> tuple[float, ...]:
        """The shares as written on the page, or as they stood; a new boar gets the mean."""
        shares = {
            boar: self.cleaned_data.get(f"share-{boar.public_id}") or weight
            for boar, weight in self._written_shares.items()
        }
        kept = [shares[boar] for boar in boars if boar in shares]
        mean = sum(kept) / len(kept) if kept else 1.0
        return tuple(shares.get(boar, mean) for boar in boars)

    def entry(self) -> LitterEntry:
        """What the form says, for the desk."""
        cleaned, boars = self.cleaned_data, self._chosen_boars()
        return LitterEntry(
            dam=cleaned["dam"],
            boars=boars,
            weights=self._weights(boars),
            born=cleaned["born"],
            boar_in=cleaned["boar_in"],
            boar_out=cleaned["boar_out"],
            born_alive=cleaned["born_alive"],
            born_dead=cleaned["born_dead"] or 0,
            remarks=cleaned["remarks"],
        )


class PupsInForm(EntryForm):
    """What forms with lines for pups have in common."""

    pups: PupLines
    herd: Herd

    def is_valid(self) -> bool:
        own = super().is_valid()
        if not self.is_bound or self.pups.is_valid():
            return own
        self.add_error(None, gettext("Please fix the pups marked below."))
        return False

    def take(self, findings: tuple[Finding, ...]) -> None:
        rest = []
        for finding in findings:
            at = self.pups.field_at(finding.field)
            if at and finding.kind != ASK:
                line, name = at
                line.add_error(name, finding.message)
                self.add_error(None, gettext("Please fix the pups marked below."))
            else:
                rest.append(finding)
        super().take(tuple(rest))

    @cached_property
    def numbers(self) -> list[str]:
        """The numbers that the pups will get, as far as can be told before the save."""
        typed = {line["number"].value() for line in self.pups if line["number"].value()}
        return next_numbers(self.herd, MOST_PUPS, besides=typed)

    @property
    def lines(self) -> list[tuple]:
        """Each line with the number that is in store for it."""
        free = iter(self.numbers)
        return [(line, line["number"].value() or next(free)) for line in self.pups]


class NewLitterForm(PupsInForm, LitterForm):
    """A litter at birth, with its pups."""

    def __init__(
        self, *args: Any, files=None, herd: Herd, dam: Animal | None = None, **kwargs: Any
    ):
        lines = kwargs.pop("lines", None)
        super().__init__(*args, herd=herd, dam=dam, **kwargs)
        data = self.data if self.is_bound else None
        coat = usual_coat(herd, dam)
        self.pups = pup_lines(data, files, herd=herd, coat=coat, initial=lines)

    def entry(self) -> LitterEntry:
        entry = super().entry()
        alive = entry.born_alive
        lines = self.pups.chosen(None if _LEAVE_UNWRITTEN in self.answered else alive)
        pups = tuple(line.entry() for line in lines)
        return LitterEntry(**{**entry.__dict__, "pups": pups})


class MorePupsForm(PupsInForm):
    """Pups to add to a litter that is written already."""

    def __init__(self, *args: Any, files=None, litter: Litter, **kwargs: Any):
        self.herd, self.litter = litter.herd, litter
        kwargs["initial"] = {"version": litter.version, **(kwargs.get("initial") or {})}
        lines = kwargs.pop("lines", None)
        super().__init__(*args, **kwargs)
        coat = usual_coat(litter.herd, litter.dam)
        self.pups = pup_lines(
            self.data if self.is_bound else None,
            files,
            herd=litter.herd,
            coat=coat,
            initial=lines if lines is not None else [{"coat": coat}],
        )
        self._counts = {_among(count): count for count in litter.counts.filter(nameless__gt=0)}
        self.fields |= {name: among_field(count) for name, count in self._counts.items()}

    @property
    def counts(self) -> list:
        """A question for each count in which the pups may be."""
        return [self[name] for name in self._counts]

    @property
    def counted(self) -> tuple[LitterCount, ...]:
        """The counts that they were in."""
        return tuple(
            count for name, count in self._counts.items() if self.cleaned_data[name] == "yes"
        )

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.pups.total_form_count():
            raise forms.ValidationError(gettext("Add a pup, or cancel."))
        return cleaned

    @property
    def entries(self) -> tuple:
        """The pups to add: every line counts."""
        return tuple(line.entry() for line in self.pups)


def _among(count: LitterCount) -> str:
    return f"among-{count.public_id}"


def among_field(count: LitterCount) -> forms.ChoiceField:
    """Asks whether pups that are given a line were among those counted without one."""
    words = ngettext(
        "Counted on %(date)s: %(counted)s; %(count)d of these was not listed. Is it this one?",
        "Counted on %(date)s: %(counted)s; %(count)d of these were not listed. Is this one of "
        "them?",
        count.nameless,
    )
    return forms.ChoiceField(
        label=words
        % {
            "date": date_format(count.on, "j F Y"),
            "count": count.nameless,
            "counted": counted_words(count),
        },
        choices=[("yes", _("yes")), ("no", _("no"))],
        widget=forms.RadioSelect,
    )


def with_more_lines(data: QueryDict) -> dict:
    """What to begin the form with so that it comes back as typed, with more lines for pups.

    The page without a script asks for it; nothing is judged yet.
    """
    count = min(_sent_count(data) + MORE_LINES, MOST_PUPS)
    typed = {
        name: data.getlist(name) if name == "boars" else data.get(name)
        for name in data
        if not name.startswith("pups-")
    }
    lines = []
    for place in range(count):
        start = f"pups-{place}-"
        lines.append({n.removeprefix(start): data[n] for n in data if n.startswith(start)})
    return {"initial": typed, "lines": lines}


def _sent_count(data: QueryDict) -> int:
    sent = data.get("pups-TOTAL_FORMS", "")
    return int(sent) if sent.isdecimal() and len(sent) <= len(str(MOST_PUPS)) else 0


def _written(litter: Litter | None, dam: Animal | None, today: date) -> dict:
    if litter is None:
        return {"dam": dam, "born": PartialDate.of(today)}
    return {
        "version": litter.version,
        "dam": litter.dam,
        "boars": [boar.public_id for boar in litter.candidate_boars],
        "born": litter.born,
        "boar_in": litter.boar_in,
        "boar_out": litter.boar_out,
        "born_alive": litter.born_alive,
        "born_dead": litter.born_dead,
        "remarks": litter.remarks,
    }
