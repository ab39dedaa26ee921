"""Whether chances come true: reliability and Brier's score, on plain arrays.

Brier GW 1950, Verification of forecasts expressed in terms of probability, Mon Weather Rev 78:1-3
(cited from memory), here summed over the three doses: 0 is perfect, 2 the worst.

What is right or wrong together counts as one where errors are stated: the animals of one herd in
a simulation, all that was said of one animal in a book. Each such group is a pair of chances
(n, 3) and true doses (n,); what has no figure is left out by the caller.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Group = tuple[NDArray[np.float64], NDArray[np.int64]]

BANDS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)


@dataclass(frozen=True)
class Band:
    """Chances from `low` up to `high`: how many were said, their mean, and how many came true.

    `error` is the standard error of the share that came true, group by group.
    """

    low: float
    high: float
    said: int
    mean: float
    came_true: float
    error: float


def reliability(groups: Sequence[Group], bands: Sequence[float] = BANDS) -> list[Band]:
    """A row for each band that holds any of the three chances of each figure."""
    found = []
    for low, high in zip(bands, bands[1:], strict=False):
        parts = []
        for chances, doses in groups:
            there = (chances >= low) & ((chances < high) | ((high == 1) & (chances <= 1)))
            true = doses[:, None] == np.arange(3)
            parts.append((there.sum(), chances[there].sum(), true[there].sum()))
        said, summed, came = np.array(parts, dtype=float).reshape(-1, 3).T
        if said.sum():
            share = came.sum() / said.sum()
            spread = np.sqrt(((came - share * said) ** 2).sum()) / said.sum()
            mean = summed.sum() / said.sum()
            found.append(Band(low, high, int(said.sum()), mean, share, spread))
    return found


def between(groups: Sequence[Group], low: float, high: float) -> tuple[int, float, float, float]:
    """Figures whose likeliest dose has a chance from `low` to `high`: how many, the mean chance,
    the share that has that dose, and its standard error, group by group."""
    parts = []
    for chances, doses in groups:
        top = chances.max(axis=1)
        there = (top >= low) & (top < high)
        right = chances.argmax(axis=1) == doses
        parts.append((there.sum(), top[there].sum(), right[there].sum()))
    said, summed, right = np.array(parts, dtype=float).T
    share = right.sum() / said.sum()
    error = np.sqrt(((right - share * said) ** 2).sum()) / said.sum()
    return int(said.sum()), summed.sum() / said.sum(), share, error


def brier(groups: Sequence[Group]) -> tuple[float, float, float]:
    """Brier's score, what it would be on average if every chance were right, and the standard
    error of their difference, group by group."""
    parts = []
    for chances, doses in groups:
        truth = np.eye(3)[doses]
        score, hope = ((chances - truth) ** 2).sum(), (1 - (chances**2).sum(axis=1)).sum()
        parts.append((score, hope, len(doses)))
    scores, hoped, counts = np.array(parts, dtype=float).T
    gap = (scores - hoped).sum() / counts.sum()
    error = np.sqrt(((scores - hoped - gap * counts) ** 2).sum()) / counts.sum()
    return scores.sum() / counts.sum(), hoped.sum() / counts.sum(), error
