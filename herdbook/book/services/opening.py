"""Opening a book: its owner, the first herd, and the keys that sign the owner in."""

import hashlib
import secrets
from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from ..models import Book, Herd, Membership, SignInKey, User

KEY_LIFE = timedelta(minutes=10)


@transaction.atomic
def open_book(*, herd_name: str = "My herd") -> User:
    """Give the book its owner and first herd, if it has none yet; gives the owner."""
    Book.objects.get_or_create(pk=1)
    membership = Membership.objects.order_by("pk").first()
    if membership:
        return membership.user
    owner = User.objects.create_user(username="owner")
    herd = Herd.objects.create(name=herd_name)
    Membership.objects.create(user=owner, herd=herd, role=Membership.Role.OWNER)
    return owner


def make_sign_in_key(user: User) -> str:
    """Make a key that signs the user in once within ten minutes; only its digest is kept."""
    key = secrets.token_urlsafe(24)
    now = timezone.now()
    SignInKey.objects.filter(expires_at__lt=now - timedelta(days=1)).delete()
    SignInKey.objects.create(user=user, digest=_digest(key), expires_at=now + KEY_LIFE)
    return key


def use_sign_in_key(key: str) -> User | None:
    """Give the user whom this key signs in, or None when it is spent, stale or unknown."""
    now = timezone.now()
    fresh = SignInKey.objects.filter(
        digest=_digest(key), used_at=None, expires_at__gt=now, user__is_active=True
    )
    # One update decides, so that two requests cannot both use it.
    if fresh.update(used_at=now) != 1:
        return None
    return SignInKey.objects.get(digest=_digest(key)).user


def _digest(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()
