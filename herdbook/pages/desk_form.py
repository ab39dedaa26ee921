"""What every form that writes has in common, and the one way from a form to the desk.

A form carries a submission key (so that a double tap writes once), the version of the row it was
opened on, and the questions that its keeper has answered. :func:`submit` calls the desk and turns
what it says into the form's own errors and questions, so that the page comes back filled.
"""

import uuid
from collections.abc import Callable
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from herdbook.book.desk.writing import AlreadyWritten, ChangedMeanwhile
from herdbook.book.findings import ASK, Asked, Finding, Refused


class DeskForm(forms.Form):
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

    def show_differences(self, error: ChangedMeanwhile) -> None:
        """Say what was changed meanwhile, and let the next save go over it knowingly."""
        self.differences = [
            (self.fields[name].label if name in self.fields else name, value)
            for name, value in error.differences.items()
        ]
        self.add_error(
            None,
            _(
                "This was changed meanwhile. Look at what stands in the book now; "
                "save again to put yours in its place."
            ),
        )
        self.data = self.data.copy()
        self.data[self.add_prefix("version")] = str(error.row.version)


def submit(form: DeskForm, write: Callable[[], Any]) -> Any:
    """Call the desk; gives what it wrote, or None when the form must be shown again.

    A form that was taken before gives its change-set, whose ``subject`` is what it wrote.
    """
    try:
        return write()
    except AlreadyWritten as again:
        return again.change_set
    except (Refused, Asked) as found:
        form.take(found.findings)
    except ChangedMeanwhile as changed:
        form.show_differences(changed)
    return None
