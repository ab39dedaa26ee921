"""Import a herd from a spreadsheet: choose the file, see a preview, save."""

from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Animal, ChangeSet, Herd
from herdbook.book.models.animal import RED_SERIES, Coat, State
from herdbook.exchange.exceptions import FaultyFileError
from herdbook.exchange.import_summary import outline
from herdbook.exchange.importer import plan_take_in, take_in
from herdbook.exchange.pedigree_file import read_pedigree_file
from herdbook.exchange.plan import Choices, Plan

from .animals.filters import ANYWHERE
from .common.access import herd_of
from .common.entry_form import EntryForm, submit

MOST_BYTES = 2 * 1024 * 1024  # some thirty thousand animals
FAULTS_SHOWN = 200
ANIMALS_SHOWN = 12


class TakeInForm(EntryForm):
    """The file, and what it does not contain.

    Between the preview and the import the file's text travels in a hidden field, and so do the
    codes of the questions that the preview showed: only those can be answered.
    """

    file = forms.FileField(
        label=_("Pedigree file"),
        required=False,
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv"}),
        help_text=_("Save your spreadsheet as “CSV UTF-8”, with commas."),
    )
    text = forms.CharField(required=False, strip=False, widget=forms.HiddenInput)
    asked = forms.CharField(required=False, widget=forms.HiddenInput)
    state = forms.ChoiceField(
        label=_("Are these animals here, or pedigree only?"),
        choices=[(state.value, state.label) for state in (State.IN_HERD, State.PAPER)],
        initial=State.IN_HERD,
        widget=forms.RadioSelect,
    )
    since = forms.DateField(
        label=_("Here only if born on or after"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text=_(
            "Older animals, and those without a date of birth, are then pedigree only. Leave blank "
            "if all are here."
        ),
    )
    coat = forms.ChoiceField(
        label=_("Body colour of animals with points but no coat in the file"),
        choices=[(coat.value, coat.label) for coat in Coat if coat in RED_SERIES],
        initial=Coat.WHITE,
        help_text=_("Points show on these colours only."),
    )
    so = forms.BooleanField(label=_("Yes, all of this is right."), required=False)

    bytes: bytes = b""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        file, text = cleaned.get("file"), cleaned.get("text")
        if "file" in self.errors:
            return cleaned
        if (file.size if file else len(text or "")) > MOST_BYTES:
            size = MOST_BYTES // 1024**2
            self.add_error(
                "file",
                gettext("The file is larger than %(size)d MB. Import it in parts.")
                % {"size": size},
            )
        elif file:
            self.bytes = file.read()
        elif text:
            self.bytes = text.encode()
        else:
            self.add_error("file", gettext("Choose the file with your herd."))
        return cleaned

    def choices(self) -> Choices:
        chosen = self.cleaned_data
        since = chosen["since"] if chosen["state"] == State.IN_HERD else None
        return Choices(chosen["state"], since, chosen["coat"])

    @property
    def answered(self) -> set[str]:
        return set(self.cleaned_data["asked"].split()) if self.cleaned_data["so"] else set()

    def carry(self, plan: Plan) -> None:
        """Put the file and its questions into the form that is shown with the preview."""
        self.data = self.data.copy()
        self.data["text"] = self.bytes.decode("utf-8-sig")
        codes = " ".join(finding.code for finding in plan.questions)
        if codes != self.cleaned_data["asked"]:
            self.data.pop("so", None)
        self.data["asked"] = codes


@login_required
def take_in_file(request: HttpRequest) -> HttpResponse:
    """Choose a file, see a preview, and import it."""
    herd = herd_of(request)
    form = TakeInForm(request.POST or None, request.FILES or None)
    context: dict[str, Any] = {"form": form, "herd": herd}
    if form.is_valid():
        try:
            written = request.POST.get("step") == "write" and _write(request, form, herd)
            if written:
                return _done(request, written)
            context |= _dry_run(form, herd, timezone.localdate())
        except FaultyFileError as faulty:
            context["faults"] = faulty.faults[:FAULTS_SHOWN]
            context["more_faults"] = max(len(faulty.faults) - FAULTS_SHOWN, 0)
    return render(request, "take_in/take_in.html", context)


def _write(request: HttpRequest, form: TakeInForm, herd: Herd) -> Plan | ChangeSet | None:
    said = {"herd": herd, "data": form.bytes, "choices": form.choices()}
    written = submit(request, form, lambda submission: take_in(submission, **said))
    if form.questions:
        form.add_error("so", gettext("Tick this box if all of it is right, or correct the file."))
        form.questions = []  # the preview shows them, with one box for all
    return written


def _dry_run(form: TakeInForm, herd: Herd, today: date) -> dict[str, Any]:
    choices = form.choices()
    plan = plan_take_in(read_pedigree_file(form.bytes), herd=herd, choices=choices, today=today)
    form.carry(plan)
    return {
        "plan": plan,
        "choices": [form[name] for name in ("state", "since", "coat")],
        "outline": outline(plan, choices),
        "sample": list(zip(plan.rows, plan.animals.values(), _sires(plan), strict=True))[
            :ANIMALS_SHOWN
        ],
    }


def _sires(plan: Plan) -> list[list[Animal]]:
    """The possible sires of each animal; unsaved, so no query can find them."""
    boars = {
        row.id: [sire.boar for sire in family.sires]
        for family in plan.litters
        for row in family.rows
    }
    return [boars[row.id] for row in plan.rows]


def _done(request: HttpRequest, written: Plan | ChangeSet) -> HttpResponse:
    if isinstance(written, ChangeSet):
        messages.info(request, gettext("This file is already imported."))
    else:
        count = len(written.animals)
        words = ngettext("%(count)d animal imported.", "%(count)d animals imported.", count)
        messages.success(request, words % {"count": count})
    return redirect(f"{reverse('animals')}?state={ANYWHERE}")


urls = [path("take-in/", take_in_file, name="take-in")]
