"""How many pups to expect in a sow's next litter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Avg, Count

from genetics.core.estimation.litter_size import expected_size, herds_mean
from genetics.matings.showable_rate import STILLBORN
from herdbook.book.models import Animal, Litter
from herdbook.book.models.litter import Source

# Litters hold 3 on average (1 to 6; vetpedia.it, reproduction of the guinea pig), 2.7 in one study
# of long-haired cavies, 3 to 4 in another review; those born dead are taken off.
USUAL_BORN = 3
USUAL_ALIVE = USUAL_BORN * (1 - STILLBORN)


@dataclass(frozen=True)
class LitterSize:
    """Pups ``expected`` alive at birth, and what that rests on: the ``mean`` of so many ``litters``
    of the sow's own, drawn towards ``usual``, what the herd's ``herd_litters`` make of a usual
    litter. ``mean`` is 0 where she has no litter."""

    expected: float
    mean: float
    litters: int
    usual: float
    herd_litters: int

    @property
    def pups(self) -> int:
        """The likeliest whole number, one at least."""
        return max(1, round(self.expected))


def litter_sizes(sows: Sequence[Animal]) -> dict[int, LitterSize]:
    """That of each of some sows of one herd, by key; litters born at home count."""
    if not sows:
        return {}
    mean, litters = _of_herd(sows[0].herd_id)
    usual = herds_mean(USUAL_ALIVE, mean, litters)
    own = _own(sows)
    means = [own.get(sow.pk, (0.0, 0)) for sow in sows]
    expected = expected_size(usual, [one for one, _ in means], [count for _, count in means])
    return {
        sow.pk: LitterSize(float(size), *of_hers, usual, litters)
        for sow, of_hers, size in zip(sows, means, expected, strict=True)
    }


def _written():
    return Litter.objects.filter(source=Source.HOME).exclude(born_alive=None).order_by()


def _of_herd(herd: int) -> tuple[float, int]:
    found = _written().filter(herd=herd).aggregate(mean=Avg("born_alive"), litters=Count("pk"))
    return found["mean"] or 0.0, found["litters"]


def _own(sows: Sequence[Animal]) -> dict[int, tuple[float, int]]:
    rows = (
        _written()
        .filter(dam__in=[sow.pk for sow in sows])
        .values("dam")
        .annotate(mean=Avg("born_alive"), litters=Count("pk"))
    )
    return {row["dam"]: (float(row["mean"]), row["litters"]) for row in rows}
