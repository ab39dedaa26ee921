"""What every form and every page that writes have in common: the one way from a form to the desk.

A form carries a submission key (so that a double tap writes once), the version of the row it was
opened on, and the questions that its keeper has answered. :func:`submit` calls the desk and turns
what it says into the form's own errors and questions, so that the page comes back filled.
"""

import hashlib
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django import forms
from django.contrib import messages
from django.contrib.auth.mixins import LoginRequiredMixin
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views import View

from herdbook.book.exceptions import (
    AlreadyWrittenError,
    ConfirmationNeededError,
    EditConflictError,
    RecordRefusedError,
)
from herdbook.book.models import ChangeSet
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.findings import ASK, Finding
from herdbook.book.services.change_set import Submission, taken_before
from herdbook.book.services.observations import REMOVE

from .access import herd_of, own_or_404
from .error_messages import PlainForm

# The form of a page that writes.
Sent = TypeVar("Sent", bound="EntryForm")


@dataclass(frozen=True)
class LinkedQuestion(Finding):
    """A question with a way to what it is about."""

    address: str = ""
    link: str = ""


class EntryForm(PlainForm):
    """A form whose values go to the desk."""

    submission_key = forms.CharField(max_length=64, widget=forms.HiddenInput)
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.fields["submission_key"].initial = uuid.uuid4().hex
        #: Questions still open or just answered, to be shown with a box each.
        self.questions: list[Finding] = []
        #: What stands in the book now, where it was changed meanwhile: (label, value) pairs.
        self.differences: list[tuple[str, Any]] = []

    def clean_submission_key(self) -> str:
        """The key of this form as it is filled now.

        A double tap or a replay says the same and is written once. A page that was saved, gone
        back to and changed says something else: it must not be dropped in silence.
        """
        said = sorted(
            (name, values) for name, values in self.data.lists() if name != "csrfmiddlewaretoken"
        )
        files = sorted((name, file.name, file.size) for name, file in self.files.items())
        return hashlib.sha256(repr((said, files)).encode()).hexdigest()

    @property
    def answered(self) -> set[str]:
        """Codes of the questions whose box is ticked."""
        return set(self.data.getlist("answered")) if self.is_bound else set()

    def take(self, findings: tuple[Finding, ...]) -> None:
        """Show refusals at their fields and questions in a list of their own."""
        for finding in findings:
            if finding.kind == ASK:
                self.questions.append(finding)
            else:
                field = finding.field if finding.field in self.fields else None
                self.add_error(field, finding.message)

    def show_differences(self, error: EditConflictError, version: str = "version") -> None:
        """Say what was changed meanwhile, and let the next save go over it knowingly.

        ``version`` names the field with the version of the row that was changed.
        """
        self.differences = [
            (self.fields[name].label, _as_shown(self.fields[name], value))
            for name, value in error.differences.items()
            if name in self.fields
        ]
        self.add_error(
            None,
            _(
                "This was changed in another window. The current details are below. Save again to "
                "replace them."
            ),
        )
        self.data = self.data.copy()
        self.data[self.add_prefix(version)] = str(error.row.version)


def _as_shown(field: forms.Field, value: Any) -> Any:
    """What stands in the book, in the words of the form."""
    if isinstance(value, PartialDate):
        return value.words()
    said = getattr(field, "as_shown", dict(getattr(field, "choices", ())).get)
    words = said(value) or value
    return "–" if words in (None, "") else words


def written_of(row: Any, names: Iterable[str]) -> dict[str, Any]:
    """What a form that corrects a row starts from: its version, and these columns as they are."""
    return {name: getattr(row, name) for name in ("version", *names)}


def public_id_of(written: Any) -> uuid.UUID:
    """The public id of what :func:`submit` gave: the row, or the subject of the earlier change."""
    return written.subject if isinstance(written, ChangeSet) else written.public_id


def submit(request: HttpRequest, form: EntryForm, write: Callable[[Submission], Any]) -> Any:
    """Hand a valid form to the desk.

    Gives what ``write`` wrote, or None when the form must be shown again. A form that was taken
    before gives its change-set, whose ``subject`` is what it wrote.
    """
    try:
        return write(submission_of(request, form))
    except AlreadyWrittenError as again:
        return again.change_set
    except (RecordRefusedError, ConfirmationNeededError) as found:
        form.take(found.findings)
    except EditConflictError as changed:
        form.show_differences(changed)
    return None


def submission_of(request: HttpRequest, form: EntryForm) -> Submission:
    """Who sends a valid form, when, and what came with it."""
    return Submission(
        user=request.user,
        key=form.cleaned_data["submission_key"],
        answered=form.answered,
        version=form.cleaned_data["version"] or 0,
    )


class WriteView(LoginRequiredMixin, View, Generic[Sent]):
    """A page that writes: who may, fetch, form, desk call, redirect.

    A subclass names its ``form_class`` and ``template_name``, hands the valid form to the desk in
    ``write``, and says in ``next_page`` where that leads.
    """

    form_class: type[Sent]
    template_name: str
    #: Of these rows the address names one; without them the page is about the keeper's herd.
    rows: QuerySet | None = None
    #: What the next page says.
    done = gettext_lazy("Saved.")

    def get(self, request: HttpRequest, **address: Any) -> HttpResponse:
        return self.show(self.make_form())

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        form = self.make_form(data=request.POST, files=request.FILES)
        written = submit(request, form, self._write(form)) if form.is_valid() else None
        if not written:
            return self.show(form)
        page = self.next_page(written)
        self.say_done(page)
        return redirect(page)

    @cached_property
    def row(self) -> Any:
        """What the page is about; raises Http404 where the user keeps no such row."""
        if self.rows is None:
            return herd_of(self.request)
        return own_or_404(self.request, self.rows, self.kwargs["public_id"])

    def make_form(self, **sent: Any) -> Sent:
        return self.form_class(**sent, **self.form_arguments())

    def form_arguments(self) -> dict[str, Any]:
        """What the form is made of besides what was sent."""
        return {}

    def write(self, submission: Submission, form: Sent) -> Any:
        """Hand a valid form to the desk; gives the row that was written."""
        raise NotImplementedError

    def next_page(self, written: Any) -> Any:
        """Where to go then: an address, its name, or a row with a page of its own."""
        return self.row

    def say_done(self, page: Any) -> None:
        """Have the next page say that what was written is in the book."""
        messages.success(self.request, self.done)

    def context(self) -> dict[str, Any]:
        """What the template needs besides the form."""
        return {}

    def show(self, form: Sent) -> HttpResponse:
        return render(self.request, self.template_name, {"form": form, **self.context()})

    def _write(self, form: Sent) -> Callable[[Submission], Any]:
        return lambda submission: self.write(submission, form)


class RemoveView(WriteView[EntryForm]):
    """A page that takes a row out: asked first, then done. A second tap is led on."""

    form_class = EntryForm
    done = gettext_lazy("Deleted.")
    #: The page of what the row was of, by its name.
    back: str

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        form = EntryForm(request.POST)
        again = form.is_valid() and taken_before(
            submission_of(request, form), herd_of(request), REMOVE
        )
        return redirect(self.back, again.subject) if again else super().post(request, **address)

    def form_arguments(self) -> dict[str, Any]:
        return {"initial": {"version": self.row.version}}
