"""Whether counts of pups fit what Mendel leads to expect.

`fit` compares counts with a ratio, by chi-square (Pearson 1900, from memory) and exactly: the
chance, if the ratio holds, of all outcomes that are as unlikely as the one seen or more so.

Families that came to notice because a recessive showed in them are no fair sample: those of the
same parents in which none happened to show are missing. With s pups and a chance q for each, a
family is seen with chance 1 - (1 - q)^s, and `fit_where_one_showed` weighs each family's count
given that at least one shows: every family in which one shows is there (truncate selection). The
share itself is estimated by the singles method of Li CC, Mantel N 1968, A simple method of
estimating the segregation ratio under complete ascertainment, Am J Hum Genet 20:61-81 (formula
seen in a secondary source, citation from memory): (R - J) / (T - J), with R affected of T in all,
and J families with just one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, gammaln, xlogy

Table = NDArray[np.float64]

OUTCOMES = 1_000_000  # more than this are not gone through one by one
ROUNDING = 1e-7  # relative: outcomes this near as likely as the one seen count as likely as it


@dataclass(frozen=True)
class Fit:
    """Counts (k,) beside what was expected (k,), and how likely so great a difference is by chance.

    `p_chi_square` is NaN where nothing is free to differ, `p_exact` where the outcomes are too many
    to be gone through. `share` is the estimate of a recessive's share where families were picked by
    it, NaN else, and where every family has but one.
    """

    counts: tuple[int, ...]
    expected: tuple[float, ...]
    chi_square: float
    degrees: int
    p_chi_square: float
    p_exact: float
    share: float = math.nan

    @property
    def cannot_be(self) -> bool:
        """Whether a class was counted that cannot occur."""
        return math.isinf(self.chi_square)

    @property
    def p(self) -> float:
        """The exact chance, where there is one."""
        return self.p_chi_square if math.isnan(self.p_exact) else self.p_exact


def fit(counts: Sequence[int], ratio: Sequence[float]) -> Fit:
    """Counts against a ratio on any scale. A class that cannot occur, and did, gives a chance of 0.

    Raises ValueError for negative counts, a ratio that is negative or all zero, or lengths that
    differ.
    """
    if len(counts) != len(ratio) or min(counts) < 0 or min(ratio) < 0 or sum(ratio) <= 0:
        raise ValueError("a fit wants a count for each share of the ratio, none of them negative")
    shares = np.array(ratio, dtype=np.float64) / sum(ratio)
    expected = shares * sum(counts)
    seen = np.array(counts)
    degrees = int((shares > 0).sum()) - 1
    if seen[shares == 0].any():
        return Fit(tuple(counts), tuple(expected.tolist()), math.inf, degrees, 0.0, 0.0)
    free = expected > 0
    statistic = float(((seen - expected)[free] ** 2 / expected[free]).sum())
    return Fit(
        tuple(counts),
        tuple(expected.tolist()),
        statistic,
        degrees,
        float(chdtrc(degrees, statistic)) if degrees else math.nan,
        _exact(seen[shares > 0], shares[shares > 0]),
    )


def fit_where_one_showed(families: Sequence[tuple[int, int]], share: float) -> Fit:
    """Families of (pups, affected), each with at least one affected, against a recessive's share.

    Counts and expected are of those not affected and affected, over all families. The chi-square
    has one degree: the squared difference of affected over its variance. Raises ValueError for a
    family without an affected pup, with more than it has pups, or a share not between 0 and 1.
    """
    if not 0 < share < 1:
        raise ValueError(f"a share lies between 0 and 1, and is not {share}")
    if not families or any(not 1 <= affected <= pups for pups, affected in families):
        raise ValueError("each family has one affected pup or more, and no more than it has pups")
    total = sum(pups for pups, _ in families)
    affected = sum(count for _, count in families)
    whole = np.ones(1)
    for pups, _ in families:
        numbers = np.arange(pups + 1)
        chances = _chances(
            np.stack([pups - numbers, numbers], axis=1), np.array([1 - share, share])
        )
        chances[0] = 0
        whole = np.convolve(whole, chances / chances.sum())
    numbers = np.arange(len(whole))
    mean = float(whole @ numbers)
    variance = float(whole @ (numbers - mean) ** 2)
    free = variance > ROUNDING
    statistic = (affected - mean) ** 2 / variance if free else 0.0
    singles = sum(count == 1 for _, count in families)
    return Fit(
        (total - affected, affected),
        (total - mean, mean),
        statistic,
        int(free),
        float(chdtrc(1, statistic)) if free else math.nan,
        _as_unlikely(whole, float(whole[affected])) if free else math.nan,
        (affected - singles) / (total - singles) if total > singles else math.nan,
    )


def _exact(counts: NDArray[np.int64], shares: Table) -> float:
    """Chance of all outcomes of a multinomial that are as unlikely as the counts or more so."""
    total, classes = int(counts.sum()), len(counts)
    if math.comb(total + classes - 1, classes - 1) > OUTCOMES:
        return math.nan
    outcomes = np.array(_outcomes(total, classes))
    chances = _chances(outcomes, shares)
    seen = (outcomes == counts).all(axis=1)
    return _as_unlikely(chances, float(chances[seen][0]))


def _chances(outcomes: NDArray[np.int64], shares: Table) -> Table:
    """Chance (n,) of each multinomial outcome (n, k)."""
    ways = gammaln(outcomes.sum(axis=1) + 1) - gammaln(outcomes + 1).sum(axis=1)
    chances: Table = np.exp(ways + xlogy(outcomes, shares).sum(axis=1))
    return chances


def _as_unlikely(chances: Table, seen: float) -> float:
    return min(1.0, float(chances[chances <= seen * (1 + ROUNDING)].sum()))


def _outcomes(total: int, classes: int) -> NDArray[np.int64]:
    """Every way (ways, classes) to share out a total."""
    if classes == 1:
        return np.array([[total]])
    return np.vstack(
        [
            np.insert(_outcomes(total - first, classes - 1), 0, first, axis=1)
            for first in range(total + 1)
        ]
    )
