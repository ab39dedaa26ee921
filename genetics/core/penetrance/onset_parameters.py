"""When points come in: the onset curves of the doses, as parameters that are passed along.

Ages at a milestone are log-normal. One number for each animal, its pace, moves all its milestones
together; when points are full tells it, and when they begin and when they run over keep to it
loosely, by `OWN`. The tables are common practice, no source; a herd's own book can say better of
the ages (`genetics.core.estimation.ecm`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from genetics.core.penetrance.observation import STAGES

Table = NDArray[np.float64]


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


class Own(NamedTuple):
    """How loosely a milestone keeps to an animal's pace: the part of its spread that is its own,
    as a correlation, from 0 for not at all to 1."""

    stage: str
    part: float
    standing: str


OWN = (
    Own("coming", 0.6, "common practice, no source: early to start is not always early to end"),
    Own("overmarked", 0.6, "common practice, no source: the face goes on in its own time"),
)
# What milestones have of their own is summed over as many equally likely ways as stand here: the
# first that has some takes each of as many points of a normal distribution in turn, the second
# those of these numbers. A quarter turn maps the pairs onto themselves, so that they are no kin.
SECOND = (5, 2, 7, 0, 4, 8, 1, 6, 3)


class Apart(NamedTuple):
    """The milestones of a dose, by stage, in each of some equally likely ways (v, i) that they may
    be apart from an animal's pace."""

    stages: tuple[int, ...]
    medians: Table
    spreads: Table


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

    def apart(self, dose: int) -> Apart:
        """The milestones of one dose as they may be apart from an animal's pace.

        The age at a milestone is median exp(spread (sqrt(1 - o^2) z + o e)), with z the pace, o of
        `OWN` and e standard normal: its median and its spread stay those of the table.
        """
        own = self.of(dose)
        parts = np.array([_part(one.stage) for one in own])
        days = np.array([one.median_days for one in own])
        spreads = np.array([one.spread for one in own])
        loose = np.flatnonzero(parts)
        apart = np.zeros((len(SECOND) if len(loose) else 1, len(own)))
        for place, order in zip(loose, (range(len(SECOND)), SECOND), strict=False):
            apart[:, place] = _scores()[list(order)]
        return Apart(
            tuple(STAGES.index(one.stage) for one in own),
            days * np.exp(spreads * parts * apart),
            spreads * np.sqrt(1 - parts**2),
        )

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


def _part(stage: str) -> float:
    return next((own.part for own in OWN if own.stage == stage), 0.0)


def _scores() -> Table:
    """Equally likely points of a standard normal, with its variance."""
    middles: Table = ndtri((np.arange(len(SECOND)) + 0.5) / len(SECOND))
    scores: Table = middles / middles.std()
    return scores


CURVES = Curves()
