"""What was said of each animal and when, kept as it was said so that it can be scored later."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Max
from django.utils import timezone

from genetics.models import Figure, Said

# A chance that moved by less than this is the same to any keeper.
MOVED = 0.01


def freeze(figures: Sequence[Figure], engine: str, fit: int | None) -> None:
    """Keep each figure that is new, has a chance that moved by more than ``MOVED`` since the
    animal's was last kept, or is worked out by another method than that one.

    What is said of an animal is its chances and how they were come by: a chance that was exact and
    is refined now is said with an error beside it, and whoever scores refined figures apart from
    exact ones wants it from that day on. Where the chances are scored as such, `came_true` counts
    those that stood still once. Animals without a figure have had nothing said of them. ``fit`` is
    the key of the fit in force.
    """
    before = _last_said([figure.animal_id for figure in figures])
    now = timezone.now()
    Said.objects.bulk_create(
        (
            Said(
                animal_id=figure.animal_id,
                said_at=now,
                revision=figure.revision,
                dose0=chances[0],
                dose1=chances[1],
                dose2=chances[2],
                method=figure.method,
                error=figure.error or 0.0,
                engine=engine,
                fit_id=fit,
            )
            for figure in figures
            if (chances := figure.chances) is not None
            and _is_news(figure.method, chances, before.get(figure.animal_id))
        ),
        batch_size=500,
    )


def has_moved(before: Sequence[float], chances: Sequence[float]) -> bool:
    """Whether some chance moved by more than ``MOVED``."""
    return any(abs(now - then) > MOVED for now, then in zip(chances, before, strict=True))


def _is_news(
    method: str, chances: Sequence[float], before: tuple[str, Sequence[float]] | None
) -> bool:
    return before is None or method != before[0] or has_moved(before[1], chances)


def _last_said(animals: Sequence[int]) -> dict[int, tuple[str, tuple[float, ...]]]:
    """The method and the chances last kept of each of these animals, by its key."""
    said = Said.objects.order_by().filter(animal__in=animals)
    newest = said.values("animal").annotate(last=Max("pk")).values("last")
    rows = Said.objects.filter(pk__in=newest).values_list(
        "animal", "method", "dose0", "dose1", "dose2"
    )
    return {animal: (method, tuple(chances)) for animal, method, *chances in rows.order_by()}
