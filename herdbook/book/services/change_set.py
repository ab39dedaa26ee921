"""How anything is written: in one transaction, under one change-set, once for each form.

Every use case of the desk opens :func:`change`, saves rows through it, and leaves. The book's
revision moves once a change; each row keeps its version; each history row names its change-set.
"""

import hashlib
import uuid
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from simple_history.utils import bulk_create_with_history

from herdbook.book.exceptions import (
    AlreadyWrittenError,
    ConfirmationNeededError,
    EditConflictError,
    RecordRefusedError,
)

from ..models import Answer, Book, ChangeSet, Herd, User
from ..models.base import HerdRow
from ..rules.findings import ASK, REFUSE, Finding, refuse

Row = TypeVar("Row", bound=Herd | HerdRow)


@dataclass(frozen=True)
class Submission:
    """Who hands something in, on which day, and what came with the form.

    ``key`` marks the form, so that a double tap writes once; ``answered`` holds the codes of the
    questions that were answered; ``version`` is that of the row that the form was opened on, and
    0, which no row has, where there was none.
    """

    user: User | None
    today: date = field(default_factory=timezone.localdate)
    key: str = ""
    answered: Collection[str] = ()
    version: int = 0


class Change:
    """An open change-set: the only way that rows of a herd are saved."""

    def __init__(self, change_set: ChangeSet, submission: Submission):
        self.change_set = change_set
        self._answered = submission.answered
        self._reason = str(change_set.pk)

    def require_confirmed(
        self, findings: Iterable[Finding], *, subject: uuid.UUID | None = None
    ) -> None:
        """Raise RecordRefusedError or ConfirmationNeededError unless every question is answered;
        keep the answers given now.

        A question about ``subject`` that was answered before, in the same words, is not asked
        again.
        """
        findings = _without_answered_before(findings, subject)
        if any(finding.kind == REFUSE for finding in findings):
            raise RecordRefusedError(findings)
        asked = [finding for finding in findings if finding.kind == ASK]
        if any(finding.code not in self._answered for finding in asked):
            raise ConfirmationNeededError(asked)
        Answer.objects.bulk_create(
            Answer(
                change_set=self.change_set,
                code=finding.code,
                question=finding.message,
                answer=_("Yes, that's right."),
            )
            for finding in asked
        )

    def about(self, public_id: uuid.UUID) -> None:
        """Say which row the change is about, so that a replay can be led there."""
        self.change_set.subject = public_id
        self.change_set.save(update_fields=["subject"])

    def add(self, row: Row) -> Row:
        """Write a new row; raises RecordRefusedError where a field does not hold."""
        _make_ready(row)
        self._mark(row)
        row.save(force_insert=True)
        return row

    def add_all(self, rows: Sequence[Row]) -> list[Row]:
        """Write many new rows of one model with their history, checked one by one."""
        if not rows:
            return []
        for row in rows:
            _make_ready(row, alone=False)
        written: list[Row] = bulk_create_with_history(
            rows,
            type(rows[0]),
            batch_size=500,
            default_user=self.change_set.user,
            default_change_reason=self._reason,
        )
        return written

    def update(self, row: Row, values: dict, *, version: int | None) -> Row:
        """Write new values over a row; raises EditConflictError if ``version`` is not its last.

        ``version`` None means that the caller has just read the row inside this change.
        """
        current = _as_it_stands(row)
        if version is not None and current.version != version:
            raise EditConflictError(current, _differences(current, values, version))
        for name, value in values.items():
            setattr(current, name, value)
        current.version += 1
        _make_ready(current)
        self._mark(current)
        current.save()
        return current

    def remove(self, row: Herd | HerdRow, *, version: int | None) -> None:
        """Take a row out; its history stays. ``version`` is as in :meth:`update`."""
        current = _as_it_stands(row)
        if version is not None and current.version != version:
            raise EditConflictError(current, _differences(current, {}, version))
        self._mark(current)
        current.delete()

    def _mark(self, row: models.Model) -> None:
        """Set who changes a row, and under which change-set, where its history reads it."""
        vars(row).update(_history_user=self.change_set.user, _change_reason=self._reason)


@contextmanager
def change(
    submission: Submission, herd: Herd, action: str, *, of: Iterable[models.Model] = ()
) -> Iterator[Change]:
    """Open a change-set in a transaction.

    ``of`` are the rows that a form may say the same of: its key is another for each. Raises
    AlreadyWrittenError when this form has been taken before.
    """
    with transaction.atomic():
        yield _open(submission, herd, action, of)


def _open(submission: Submission, herd: Herd, action: str, of: Iterable[models.Model]) -> Change:
    """Take the book's lock, so that changes come one after another, and move its revision."""
    Book.objects.get_or_create(pk=1)
    book = Book.objects.select_for_update().get(pk=1)
    key = _key_of(submission, herd, action, of)
    earlier = _with_key(key)
    if earlier:
        raise AlreadyWrittenError(earlier)
    book.revision += 1
    book.save(update_fields=["revision"])
    change_set = ChangeSet.objects.create(
        user=submission.user,
        herd=herd,
        action=action,
        revision=book.revision,
        submission_key=key,
    )
    return Change(change_set, submission)


def taken_before(submission: Submission, herd: Herd, action: str) -> ChangeSet | None:
    """What this very form wrote when it was taken before, if it was."""
    return _with_key(_key_of(submission, herd, action))


def _with_key(key: str | None) -> ChangeSet | None:
    return None if key is None else ChangeSet.objects.filter(submission_key=key).first()


def _key_of(
    submission: Submission, herd: Herd, action: str, of: Iterable[models.Model] = ()
) -> str | None:
    """A form's key as it is kept: another keeper's, or another page's, is never taken for it."""
    if not submission.key:
        return None
    rows = ",".join(str(row.pk) for row in of)
    whole = f"{getattr(submission.user, 'pk', None)} {herd.pk} {action} {submission.key} {rows}"
    return hashlib.sha256(whole.encode()).hexdigest()


def _without_answered_before(
    findings: Iterable[Finding], subject: uuid.UUID | None
) -> list[Finding]:
    findings = list(findings)
    if subject is None or not findings:
        return findings
    kept = Answer.objects.filter(change_set__subject=subject)
    before = set(kept.values_list("code", "question"))
    return [
        finding
        for finding in findings
        if finding.kind == REFUSE or (finding.code, finding.message) not in before
    ]


def _make_ready(row: models.Model, *, alone: bool = True) -> None:
    """Check a row's fields and fold its search text; raises RecordRefusedError, one finding a
    fault.

    Among many (``alone`` false) what asks the database a row at a time is left to its constraints.
    """
    if hasattr(row, "refresh_search_text"):
        row.refresh_search_text()
    # A photo's size is read off the picture as it is saved.
    exclude = {"width", "height"}
    if not alone:
        exclude |= {field.name for field in row._meta.fields if field.is_relation}
    try:
        row.clean_fields(exclude=exclude)
        row.clean()
        if alone:
            row.validate_unique(exclude=exclude)
            row.validate_constraints(exclude=exclude)
    except ValidationError as error:
        raise RecordRefusedError(_as_findings(error)) from error


def _as_findings(error: ValidationError) -> list[Finding]:
    by_field = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    return [
        refuse(f"field:{field}", message, "" if field == NON_FIELD_ERRORS else field)
        for field, messages in by_field.items()
        for message in messages
    ]


def _as_it_stands(row: Row) -> Row:
    """The row read afresh and locked; raises RecordRefusedError where it was taken out
    meanwhile."""
    rows: models.QuerySet[Row] = models.QuerySet(type(row))
    current = rows.select_for_update().filter(pk=row.pk).first()
    if current is None:
        raise RecordRefusedError(
            [refuse("gone", _("This was deleted in another window. Nothing was saved."))]
        )
    return current


def _differences(current: Herd | HerdRow, values: dict, version: int) -> dict:
    """What was changed since ``version`` and is not what ``values`` would write."""
    then = current.history.filter(version=version).first()
    changed = {
        field.name: getattr(current, field.name)
        for field in current._meta.fields
        if then is None or getattr(then, field.attname, None) != getattr(current, field.attname)
    }
    return {
        name: changed[name] for name in values if name in changed and changed[name] != values[name]
    }
