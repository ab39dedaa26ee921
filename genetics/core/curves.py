"""When points come in: the onset curves of the doses, as parameters that are passed along.

Ages at a milestone are log-normal, and one number for each animal, its pace, moves all its
milestones alike. The table is common practice, no source; a herd's own book can say better
(`genetics.core.fitting`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple


class Milestone(NamedTuple):
    """When an animal of a dose begins to look like a stage.

    `median_days` is the age that half of them have reached; `spread` is the standard deviation
    of the natural logarithm of the age.
    """

    dose: int
    stage: str
    median_days: float
    spread: float
    standing: str

    @property
    def usual_days(self) -> tuple[float, float]:
        """The ages between which two of three reach it: a spread to either side of the median, by
        a normal distribution 68 of 100."""
        factor = math.exp(self.spread)
        return self.median_days / factor, self.median_days * factor


MILESTONES = (
    Milestone(1, "coming", 42.0, 0.40, "common practice, no source: unmarked at birth, then weeks"),
    Milestone(1, "full", 120.0, 0.16, "common practice, no source: three to five months"),
    Milestone(2, "coming", 26.0, 0.40, "common practice, no source: much sooner than one dose"),
    Milestone(2, "full", 40.0, 0.20, "common practice, no source: much sooner than one dose"),
    Milestone(2, "overmarked", 50.0, 0.20, "common practice, no source: told by about eight weeks"),
)


@dataclass(frozen=True)
class Curves:
    """The milestones that looks are weighed by. Raises ValueError for ages that cannot be."""

    milestones: tuple[Milestone, ...] = MILESTONES

    def __post_init__(self) -> None:
        for one in self.milestones:
            if not (0 < one.median_days < math.inf and 0 < one.spread < math.inf):
                raise ValueError(f"a milestone has a median age and a spread above 0, not {one}")

    def of(self, dose: int) -> tuple[Milestone, ...]:
        """The milestones of one dose."""
        return tuple(one for one in self.milestones if one.dose == dose)

    def with_ages(
        self, median_days: Sequence[float], standing: str, spreads: Sequence[float] | None = None
    ) -> Curves:
        """The same with other medians, one for each milestone in order, and other spreads."""
        spreads = [one.spread for one in self.milestones] if spreads is None else spreads
        rows = zip(self.milestones, median_days, spreads, strict=True)
        return Curves(
            tuple(
                one._replace(median_days=days, spread=spread, standing=standing)
                for one, days, spread in rows
            )
        )


CURVES = Curves()
