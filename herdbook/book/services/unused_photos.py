"""Photos that came with a form which was never saved."""

from datetime import timedelta
from typing import Any

from django.db.models import Manager
from django.utils import timezone

from ..models import Animal, Herd, Look, Photo

KEPT_FOR = timedelta(days=1)


def clear_unused_photos(herd: Herd) -> int:
    """Delete a herd's photos that no row and no history refers to, a day after they came.

    Gives how many went. A keeper who puts a refused form right within the day finds theirs kept.
    """
    old = Photo.objects.filter(herd=herd, taken_at__lt=timezone.now() - KEPT_FOR)
    tables: list[Manager[Any]] = [Animal.objects, Look.objects, Animal.history, Look.history]
    for rows in tables:
        old = old.exclude(pk__in=rows.filter(photo__isnull=False).values("photo_id"))
    gone = list(old)
    for photo in gone:
        photo.image.delete(save=False)
        photo.delete()
    return len(gone)
