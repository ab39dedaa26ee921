"""What a look at the points says about the dose.

A first, simple table for red-series coats. Points come in as curves in time: at a given dose and
age an animal has reached a stage or not, by a milestone that falls earlier in some animals than
in others. Ages at a milestone are log-normal, and one number for each animal, its pace, moves all
its milestones alike; so several looks at one animal are weighed together, at each pace, and not
multiplied as if they were several animals.

Every figure in `MILESTONES` and the rates below are common practice, no source, put into numbers
by us: breeders say that pups are born with no points, that points take three to five months to
come fully, that two doses point much sooner and that the smut then spreads across the face. No
laboratory has measured these ages; a herd's own book should replace them.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Likelihood = NDArray[np.float64]

STAGES = ("none", "coming", "full", "overmarked")


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


MILESTONES = (
    Milestone(1, "coming", 42.0, 0.40, "common practice, no source: unmarked at birth, then weeks"),
    Milestone(1, "full", 120.0, 0.16, "common practice, no source: three to five months"),
    Milestone(2, "coming", 26.0, 0.40, "common practice, no source: much sooner than one dose"),
    Milestone(2, "full", 40.0, 0.20, "common practice, no source: much sooner than one dose"),
    Milestone(2, "overmarked", 50.0, 0.20, "common practice, no source: told by about eight weeks"),
)
MISJUDGED = 0.01  # common practice, no source: one look in a hundred is written down wrong
MIXED_UP = 0.002  # common practice, no source: the animal looked at was another one altogether
PACES = np.linspace(-4, 4, 81)  # in standard deviations; looks are averaged over them

BOUGHT_AS = {  # shares of 0, 1, 2 doses; common practice, no source
    "self": (0.96, 0.03, 0.01),
    "marked": (0.02, 0.90, 0.08),
    "overmarked": (0.005, 0.045, 0.95),
}


def look_likelihood(stage: str, age_days: float, *, misjudged: float = MISJUDGED) -> Likelihood:
    """Chance (3,) of one look of `stage` at `age_days`, at each dose.

    `stage` is one of `STAGES`, on a red-series coat: other coats hide points, and a look at them
    is no evidence. Raises ValueError for a stage, an age or a rate that cannot be.
    """
    return looks_likelihood([(stage, age_days)], misjudged=misjudged)


def looks_likelihood(
    looks: Iterable[tuple[str, float]],
    *,
    misjudged: float = MISJUDGED,
    mixed_up: float = MIXED_UP,
) -> Likelihood:
    """Chance (3,) of all looks, as (stage, age in days), at one animal, at each dose.

    With r the chance of the stages as the animal's pace z has them, m = `misjudged` and
    x = `mixed_up`, each look misread evenly as one of the three other stages,

        L(d) = mean over z of prod over looks ((1 - m) r + m (1 - r) / 3)
        and of that (1 - x) L(d) + x mean over d of L(d):

    however often a wrong animal is looked at, it is one mistake. No looks say nothing: all ones.
    Raises ValueError as `look_likelihood` does.
    """
    if not 0 <= misjudged <= 1 or not 0 <= mixed_up <= 1:
        raise ValueError("rates of mistakes lie from 0 to 1")
    by_pace = np.ones((3, len(PACES)))
    for stage, age_days in looks:
        reached = _stage_by_pace(age_days) == _number(stage)
        by_pace *= np.where(reached, 1 - misjudged, misjudged / 3)
    likelihood: Likelihood = by_pace @ _shares_of_paces()
    either: Likelihood = (1 - mixed_up) * likelihood + mixed_up * likelihood.mean()
    return either


def founder_shares(bought_as: str) -> Likelihood:
    """Prior shares (3,) of doses for a founder bought as 'self', 'marked' or 'overmarked'.

    'unknown' gives NaN, which `reckon_dose` reads as Hardy-Weinberg at the herd's frequency. The
    look that it was bought on is in these shares and is not to be counted again.
    """
    if bought_as == "unknown":
        return np.full(3, np.nan)
    if bought_as not in BOUGHT_AS:
        raise ValueError(f"bought as {bought_as!r} is not one of {[*BOUGHT_AS, 'unknown']}")
    return np.array(BOUGHT_AS[bought_as])


def _number(stage: str) -> int:
    if stage not in STAGES:
        raise ValueError(f"stage {stage!r} is not one of {', '.join(STAGES)}")
    return STAGES.index(stage)


def _stage_by_pace(age_days: float) -> NDArray[np.int64]:
    """The stage (3, paces), by its number, of each dose at each pace."""
    if not age_days >= 0:
        raise ValueError(f"an age at a look is 0 days or more, and not {age_days}")
    stage = np.zeros((3, len(PACES)), dtype=np.int64)
    for milestone in MILESTONES:  # in the order of their stages
        ages = milestone.median_days * np.exp(milestone.spread * PACES)
        stage[milestone.dose, age_days >= ages] = _number(milestone.stage)
    return stage


@cache
def _shares_of_paces() -> Likelihood:
    """How many animals go at each pace: the normal curve over the cells around `PACES`."""
    half = (PACES[1] - PACES[0]) / 2
    below = [NormalDist().cdf(float(edge)) for edge in [*(PACES - half), PACES[-1] + half]]
    shares = np.diff(below)
    share: Likelihood = shares / shares.sum()
    return share
