"""Who keeps the book: users, herds, and who may write in which."""

import uuid
from typing import Any, Self

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords


class User(AbstractUser):
    """A person who signs in."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)


class HerdQuerySet(models.QuerySet):
    """Herds, by who may see them."""

    def for_user(self, user: Any) -> Self:
        """The herds that this user has a part in."""
        return self.filter(memberships__user=user) if user.is_authenticated else self.none()


class Herd(models.Model):
    """One breeder's animals: every row of the book belongs to one."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(_("name of the herd"), max_length=80)
    stud_prefix = models.CharField(_("stud prefix"), max_length=40, blank=True)
    keeper = models.CharField(_("keeper"), max_length=80, blank=True)
    address = models.CharField(_("address or contact on pedigrees"), max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    history = HistoricalRecords()
    objects = HerdQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name


class Membership(models.Model):
    """A user's part in a herd."""

    class Role(models.TextChoices):
        OWNER = "owner", _("owner")

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    herd = models.ForeignKey(Herd, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role.choices, default=Role.OWNER)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user", "herd"], name="one_membership_a_herd")
        ]

    def __str__(self) -> str:
        return f"{self.user} – {self.herd} ({self.role})"


class SignInKey(models.Model):
    """A key that signs its user in once. Only a digest of it is kept."""

    digest = models.CharField(max_length=64, unique=True)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="sign_in_keys")
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"key of {self.user}, good until {self.expires_at:%H:%M}"
