"""How many of a litter's one-dose pups come to be shown in this herd: found good enough, and alive.

One dose is needed to be showable and not enough, and some pups are lost. Both shares are the
herd's own, drawn towards what is known elsewhere while the herd has few of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, TypeVar

import numpy as np
from django.db.models import OuterRef, Subquery
from numpy.typing import NDArray

from herdbook.book import limits
from herdbook.book.models import Animal, Herd, Judgement, Litter
from herdbook.book.models.animal import State
from herdbook.book.models.judgement import Verdict
from herdbook.book.models.litter import Source
from herdbook.book.partial_date import PartialDate

Pups = TypeVar("Pups", float, NDArray[np.float64])

# An animal counts as one of one dose when that is likelier than not.
LIKELY = 0.5

# The share good enough, before any is judged: a half, worth four judged animals, as a Beta(2, 2)
# prior (common practice, no source).
GOOD_PRIOR, GOOD_WORTH = 0.5, 4

# Losses to 28 days: 27 per cent of all pups born, more than 80 per cent of them stillborn (abstract
# on long-haired guinea pigs, litter size and birthweight). So 22 per cent of all are born dead, and
# of those born alive at most 0.27 x 0.2 / (1 - 0.27 x 0.8) = 6.9 per cent are lost.
LOST_BORN = 0.27
STILLBORN = LOST_BORN * 0.8
LOST_ALIVE = (LOST_BORN - STILLBORN) / (1 - STILLBORN)
# What that is worth beside the herd's own, in pups (common practice, no source).
LOST_WORTH = 20


@dataclass(frozen=True)
class Share:
    """A share with what it rests on: ``count`` of ``of`` in this herd, and the prior."""

    value: float
    count: int
    of: int

    @classmethod
    def drawn(cls, count: int, of: int, *, prior: float, worth: float) -> Share:
        """The mean of a Beta with a prior of this mean that is worth so many cases."""
        return cls((count + prior * worth) / (of + worth), count, of)


@dataclass(frozen=True)
class Outlook:
    """What becomes of one-dose pups in a herd.

    ``good``: the share of judged one-dose animals found good enough. ``lost``: of pups born alive,
    those dead by 28 days.
    """

    good: Share
    lost: Share

    @classmethod
    def of(cls, data: dict[str, dict[str, Any]]) -> Outlook:
        """Back from plain data."""
        return cls(**{name: Share(**share) for name, share in data.items()})

    def alive(self, pups: Pups, lethal: Pups | float = 0.0) -> Pups:
        """Of so many pups born alive, how many to expect at 28 days.

        ``lethal`` is the chance that a pup is a lethal white: those are born alive and soon lost,
        whatever their dose, on top of what this herd loses else. Numbers or tables of one shape.
        """
        return pups * (1 - self.lost.value) * (1 - lethal)

    def showable(self, one_dose_pups: Pups, lethal: Pups | float = 0.0) -> Pups:
        """Of so many one-dose pups born alive, how many to expect at 28 days and good enough."""
        return self.good.value * self.alive(one_dose_pups, lethal)


def outlook_of(herd: Herd, *, on: date) -> Outlook:
    """The shares of a herd as its book stands on a day, in a few queries."""
    good, judged = _judged(herd)
    died, alive = _lost(herd, on)
    return Outlook(
        Share.drawn(good, judged, prior=GOOD_PRIOR, worth=GOOD_WORTH),
        Share.drawn(died, alive, prior=LOST_ALIVE, worth=LOST_WORTH),
    )


def _judged(herd: Herd) -> tuple[int, int]:
    """How many judged animals of one dose are good enough, by the latest judgement, of how many."""
    latest = Judgement.objects.filter(animal=OuterRef("pk")).order_by("-on", "-pk")
    verdicts = (
        Animal.objects.filter(herd=herd, figure__dose1__gt=LIKELY)
        .annotate(verdict=Subquery(latest.values("verdict")[:1]))
        .exclude(verdict=None)
        .values_list("verdict", flat=True)
    )
    found = list(verdicts)
    return found.count(Verdict.SHOWABLE), len(found)


def _lost(herd: Herd, on: date) -> tuple[int, int]:
    """Of litters born at home 28 days ago or longer: pups dead by 28 days, pups written down."""
    litters = Litter.objects.filter(herd=herd, source=Source.HOME).exclude(born=None)
    pups = [
        (born, pup)
        for litter in litters.prefetch_related("pups")
        if (born := litter.born) is not None
        and born.latest + timedelta(days=limits.LOSS_DAYS) <= on
        for pup in litter.pups.all()
    ]
    return sum(_died_young(born, pup) for born, pup in pups), len(pups)


def _died_young(born: PartialDate, pup: Animal) -> bool:
    if pup.state != State.DIED or pup.left_on is None:
        return False
    return (pup.left_on.middle - born.middle).days <= limits.LOSS_DAYS
