"""What the book knows of its own writing: its revision, each change, each question answered."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone


class Book(models.Model):
    """The one row that says how far the book has been written."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    revision = models.PositiveBigIntegerField(default=0)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="only_one_book")]

    def __str__(self) -> str:
        return f"revision {self.revision}"


class ChangeSet(models.Model):
    """One act of writing: who, when, what, and the form that asked for it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="change_sets"
    )
    herd = models.ForeignKey("book.Herd", on_delete=models.CASCADE, related_name="change_sets")
    action = models.CharField(max_length=40)
    made_at = models.DateTimeField(default=timezone.now)
    revision = models.PositiveBigIntegerField(unique=True)
    submission_key = models.CharField(max_length=64, null=True, blank=True, unique=True)
    subject = models.UUIDField(null=True, blank=True)

    class Meta:
        ordering = ["-revision"]

    def __str__(self) -> str:
        return f"{self.action} (revision {self.revision})"


class Answer(models.Model):
    """A question that the book asked before it took a record, and what the keeper said."""

    change_set = models.ForeignKey(ChangeSet, on_delete=models.CASCADE, related_name="answers")
    code = models.CharField(max_length=60)
    question = models.TextField()
    answer = models.TextField()

    def __str__(self) -> str:
        return f"{self.code}: {self.answer}"
