"""What sows of a herd weigh at an age, from the herd's own weighings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from genetics.core.estimation.growth_curve import Growth, fit_growth
from herdbook.book import limits
from herdbook.book.models import Animal, Herd
from herdbook.book.models.animal import Sex
from herdbook.book.rules.mating_cautions import Lightest, TimeTogether

# Fewer weighings, or of fewer sows, make no curve: then the published weight stands alone (common
# practice, no source).
FEWEST_WEIGHINGS = 40
FEWEST_SOWS = 8

# One in twenty of a normal spread lies this many standard deviations below the middle, or lower.
ONE_IN_TWENTY = -1.645


@dataclass(frozen=True)
class HerdGrowth:
    """The growth curve of a herd's sows, and what it rests on."""

    curve: Growth
    weighings: int
    sows: int

    def lightest(self, sow: Animal, together: TimeTogether) -> Lightest | None:
        """What nineteen in twenty weighed at the age at which this sow was last weighed.

        None where she was not weighed by the last day together, has no birth date, or was older
        or younger than any sow of the curve. Her weighings are fetched already.
        """
        weighed = [one for one in sow.weighings.all() if one.on <= together.last]
        age = sow.age_days(weighed[-1].on) if weighed else None
        if age is None or not self.curve.ages[0] <= age <= self.curve.ages[1]:
            return None
        least = self.curve.weight_g(age, ONE_IN_TWENTY)
        return Lightest(least, self.curve.usual_g(age), self.weighings, self.sows)


def growth_of_sows(herd: Herd) -> HerdGrowth | None:
    """The curve of a herd's sows, those in pig left out; None where too few were weighed."""
    sows = Animal.objects.filter(herd=herd, sex=Sex.SOW, weighings__isnull=False).distinct()
    sows = sows.select_related("litter").prefetch_related("weighings", "litters")
    weighed = {sow.pk: list(_weighed(sow)) for sow in sows}
    rows = [row for own in weighed.values() for row in own]
    count = sum(bool(own) for own in weighed.values())
    if len(rows) < FEWEST_WEIGHINGS or count < FEWEST_SOWS:
        return None
    try:
        curve = fit_growth([age for age, _ in rows], [grams for _, grams in rows])
    except ValueError:  # all weighed at the same few ages
        return None
    return HerdGrowth(curve, len(rows), count)


def _weighed(sow: Animal) -> Iterator[tuple[int, int]]:
    """Age in days and grams of each weighing when she was not in pig, as far as litters tell."""
    in_pig = [
        (litter.born.earliest - timedelta(days=limits.GESTATION_LONGEST_DAYS), litter.born.latest)
        for litter in sow.litters.all()
        if litter.born is not None
    ]
    for weighing in sow.weighings.all():
        age = sow.age_days(weighing.on)
        carried = any(first <= weighing.on <= last for first, last in in_pig)
        if age is not None and age >= 0 and not carried:
            yield age, weighing.weight_g
