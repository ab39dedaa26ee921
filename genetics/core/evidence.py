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

import math
from collections.abc import Iterable, Sequence
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

BOUGHT_AS = {  # shares of 0, 1, 2 doses; common practice, no source
    "self": (0.96, 0.03, 0.01),
    "marked": (0.02, 0.90, 0.08),
    "overmarked": (0.005, 0.045, 0.95),
}


def look_likelihood(stage: str, age_days: float, *, misjudged: float = MISJUDGED) -> Likelihood:
    """Likelihood (3,) of one look of `stage` at `age_days`, at each dose; the largest is 1.

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
    """Likelihood (3,) of all looks, as (stage, age in days), at one animal; the largest is 1.

    With r = 1 where an animal of dose d and pace z is at the stage written and else 0, z standard
    normal, m = `misjudged` and x = `mixed_up`, each look misread evenly as one of the other three
    stages,

        L(d) = mean over z of prod over looks ((1 - m) r + m (1 - r) / 3),
        and of that (1 - x) L(d) + x mean over d of L(d):

    however often a wrong animal is looked at, it is one mistake. No looks say nothing: all ones.
    Raises ValueError as `look_likelihood` does, and where no dose explains the looks, which
    can be only if no mistakes are allowed for.
    """
    if not 0 <= misjudged <= 1 or not 0 <= mixed_up <= 1:
        raise ValueError("rates of mistakes lie from 0 to 1")
    seen = [(_number(stage), _age(age_days)) for stage, age_days in looks]
    logs = np.array([_log_likelihood(seen, dose, misjudged) for dose in range(3)])
    if logs.max() == -np.inf:
        raise ValueError("no dose explains these looks, if none is a mistake")
    likelihood = np.exp(logs - logs.max())
    likelihood = (1 - mixed_up) * likelihood + mixed_up * likelihood.mean()
    scaled: Likelihood = likelihood / likelihood.max()
    return scaled


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


def _age(age_days: float) -> float:
    if not 0 <= age_days < math.inf:
        raise ValueError(f"an age at a look is 0 days or more, and not {age_days}")
    return age_days


def _log_likelihood(seen: Sequence[tuple[int, float]], dose: int, misjudged: float) -> float:
    """Logarithm of L(d): between two slowest paces that matter, every look sees one stage."""
    slowest = [_slowest_paces(age_days, dose) for _, age_days in seen]
    edges = sorted({pace for paces in slowest for pace, _ in paces})
    below = [0.0, *(NormalDist().cdf(edge) for edge in edges), 1.0]
    logs = []
    for cell, upper in enumerate([*edges, math.inf]):
        right = sum(
            number == max((stage for pace, stage in paces if pace >= upper), default=0)
            for (number, _), paces in zip(seen, slowest, strict=True)
        )
        share = below[cell + 1] - below[cell]
        chances = [share, *[1 - misjudged] * right, *[misjudged / 3] * (len(seen) - right)]
        logs.append(math.fsum(map(math.log, chances)) if all(chances) else -math.inf)
    largest = max(logs)
    if largest == -math.inf:
        return largest
    return largest + math.log(math.fsum(math.exp(log - largest) for log in logs))


def _slowest_paces(age_days: float, dose: int) -> list[tuple[float, int]]:
    """The slowest pace z that has reached each stage of a dose by an age, with that stage.

    Milestones fall at median exp(spread z); at birth none is reached by anyone.
    """
    if age_days == 0:
        return []
    return [
        (math.log(age_days / milestone.median_days) / milestone.spread, _number(milestone.stage))
        for milestone in MILESTONES
        if milestone.dose == dose
    ]
