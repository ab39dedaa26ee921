"""The errors of the book, under one root: what it refuses, and what it asks first."""

from collections.abc import Iterable

from django.db import models

from .models import ChangeSet
from .rules.findings import Finding


class BookError(Exception):
    """The root of the book's errors."""


class RecordRefusedError(BookError):
    """The record cannot be: nothing was written."""

    def __init__(self, findings: Iterable[Finding]):
        self.findings = tuple(findings)
        super().__init__("; ".join(finding.message for finding in self.findings))


class ConfirmationNeededError(BookError):
    """The record is unlikely: nothing is written until the keeper confirms it."""

    def __init__(self, findings: Iterable[Finding]):
        self.findings = tuple(findings)
        super().__init__("; ".join(finding.message for finding in self.findings))


class AlreadyWrittenError(BookError):
    """The form was taken before (a double tap, a replay): ``change_set`` is what it wrote."""

    def __init__(self, change_set: ChangeSet):
        self.change_set = change_set
        super().__init__(str(change_set))


class EditConflictError(BookError):
    """Someone saved the row after this page was opened.

    ``differences`` maps the name of each field that was changed to its value in the book now,
    where that is not what this save would write.
    """

    def __init__(self, row: models.Model, differences: dict):
        self.row = row
        self.differences = differences
        super().__init__(str(row))
