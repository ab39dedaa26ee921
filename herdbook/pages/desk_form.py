"""What every form that writes has in common, and the one way from a form to the desk.

A form carries a submission key (so that a double tap writes once), the version of the row it was
opened on, and the questions that its keeper has answered. :func:`submit` calls the desk and turns
what it says into the form's own errors and questions, so that the page comes back filled.
"""

import hashlib
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _

from herdbook.book.dates import PartialDate
from herdbook.book.desk.writing import AlreadyWritten, ChangedMeanwhile
from herdbook.book.findings import ASK, Asked, Finding, Refused
from herdbook.book.models import ChangeSet

from .plain_words import PlainForm


@dataclass(frozen=True)
class LinkedQuestion(Finding):
    """A question with a way to what it is about."""

    address: str = ""
    link: str = ""


class DeskForm(PlainForm):
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

    @property
    def opened_on(self) -> int:
        """The version of the row that the form was opened on; 0, which none has, without one."""
        return self.cleaned_data["version"] or 0

    def take(self, findings: tuple[Finding, ...]) -> None:
        """Show refusals at their fields and questions in a list of their own."""
        for finding in findings:
            if finding.kind == ASK:
                self.questions.append(finding)
            else:
                field = finding.field if finding.field in self.fields else None
                self.add_error(field, finding.message)

    def show_differences(self, error: ChangedMeanwhile, version: str = "version") -> None:
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
                "This was changed meanwhile. Look at what stands in the book now; "
                "save again to put yours in its place."
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


def public_id_of(written: Any) -> uuid.UUID:
    """The public id of what :func:`submit` gave: the row, or the subject of the earlier change."""
    return written.subject if isinstance(written, ChangeSet) else written.public_id


def say_saved(request: HttpRequest) -> None:
    """Have the next page say that what was written is in the book."""
    messages.success(request, _("Saved."))


def submit(request: HttpRequest, form: DeskForm, write: Callable[..., Any], **said: Any) -> Any:
    """Hand a valid form to the desk: who sends it, its key, and what was ``said``.

    Gives what ``write`` wrote, or None when the form must be shown again. A form that was taken
    before gives its change-set, whose ``subject`` is what it wrote.
    """
    key = form.cleaned_data["submission_key"]
    try:
        return write(user=request.user, submission_key=key, **said)
    except AlreadyWritten as again:
        return again.change_set
    except (Refused, Asked) as found:
        form.take(found.findings)
    except ChangedMeanwhile as changed:
        form.show_differences(changed)
    return None
