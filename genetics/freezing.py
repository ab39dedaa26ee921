"""What was said of each animal and when, kept as it was said so that it can be scored later."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Max
from django.utils import timezone

from genetics.models import Figure, Said

# A chance that moved by less than this is the same to any keeper.
MOVED = 0.01


def freeze(figures: Sequence[Figure], engine: str, fit: int | None) -> None:
    """Keep each figure that is new, or has a chance that moved by more than ``MOVED`` since the
    animal's was last kept. Animals without a figure have had nothing said of them. ``fit`` is the
    key of the fit in force."""
    before = _last_said()
    now = timezone.now()
    Said.objects.bulk_create(
        (
            Said(
                animal_id=figure.animal_id,
                said_at=now,
                revision=figure.revision,
                dose0=figure.dose0,
                dose1=figure.dose1,
                dose2=figure.dose2,
                method=figure.method,
                error=figure.error or 0.0,
                engine=engine,
                fit_id=fit,
            )
            for figure in figures
            if figure.chances is not None
            and has_moved(before.get(figure.animal_id), figure.chances)
        ),
        batch_size=500,
    )


def has_moved(before: Sequence[float] | None, chances: Sequence[float]) -> bool:
    """Whether some chance is new or moved by more than ``MOVED``."""
    return before is None or any(
        abs(now - then) > MOVED for now, then in zip(chances, before, strict=True)
    )


def _last_said() -> dict[int, tuple[float, float, float]]:
    """The chances last kept of each animal, by its key."""
    newest = Said.objects.order_by().values("animal").annotate(last=Max("pk")).values("last")
    rows = Said.objects.filter(pk__in=newest).values_list("animal", "dose0", "dose1", "dose2")
    return {animal: chances for animal, *chances in rows.order_by()}
