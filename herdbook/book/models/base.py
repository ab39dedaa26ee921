"""What every row of a herd has in common."""

import uuid
from typing import Any, Self

from django.db import models
from django.utils.translation import gettext_lazy as _


class HerdQuerySet(models.QuerySet):
    """Rows that belong to herds."""

    def for_user(self, user: Any) -> Self:
        """The rows that this user may see: those of the herds that they have a part in."""
        if not user.is_authenticated:
            return self.none()
        return self.filter(herd__memberships__user=user)


class HerdRow(models.Model):
    """A row that a herd owns, with the id that addresses show and the version that saves check."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    herd = models.ForeignKey("book.Herd", on_delete=models.CASCADE, related_name="%(class)ss")
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = HerdQuerySet.as_manager()
    history: Any  # each model's own `HistoricalRecords`

    class Meta:
        abstract = True


class Sureness(models.TextChoices):
    """How sure the keeper is which animal this is."""

    SURE = "sure", _("sure")
    FAIRLY = "fairly", _("fairly sure")
    UNSURE = "unsure", _("not sure")
