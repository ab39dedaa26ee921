"""Whether chances come true: reliability and Brier's score, on plain arrays.

Brier GW 1950, Verification of forecasts expressed in terms of probability, Mon Weather Rev 78:1-3
(cited from memory), here summed over the three doses: 0 is perfect, 2 the worst.
"""

from dataclasses import dataclass

import numpy as np

BANDS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0)


@dataclass(frozen=True)
class Band:
    """Chances from `low` up to `high`: how many were said, their mean, and how many came true.

    `error` is the standard error of the share that came true, herd by herd: animals of one herd
    are right or wrong together.
    """

    low: float
    high: float
    said: int
    mean: float
    came_true: float
    error: float


def reliability(herds: list[tuple[np.ndarray, np.ndarray]]) -> list[Band]:
    """A row for each band, over the three chances of each animal.

    `herds`: chances (n, 3) and true doses (n,) of each herd; animals without a figure left out.
    """
    bands = []
    for low, high in zip(BANDS, BANDS[1:], strict=False):
        parts = []
        for chances, doses in herds:
            there = (chances >= low) & ((chances < high) | ((high == 1) & (chances <= 1)))
            true = doses[:, None] == np.arange(3)
            parts.append((there.sum(), chances[there].sum(), true[there].sum()))
        said, summed, came = np.array(parts, dtype=float).T
        if said.sum():
            share = came.sum() / said.sum()
            spread = np.sqrt(((came - share * said) ** 2).sum()) / said.sum()
            mean = summed.sum() / said.sum()
            bands.append(Band(low, high, int(said.sum()), mean, share, spread))
    return bands


def between(herds, low: float, high: float) -> tuple[int, float, float, float]:
    """Animals whose likeliest dose has a chance from `low` to `high`: how many, the mean chance,
    the share that has that dose, and its standard error, herd by herd."""
    parts = []
    for chances, doses in herds:
        top = chances.max(axis=1)
        there = (top >= low) & (top < high)
        right = chances.argmax(axis=1) == doses
        parts.append((there.sum(), top[there].sum(), right[there].sum()))
    said, summed, right = np.array(parts, dtype=float).T
    share = right.sum() / said.sum()
    error = np.sqrt(((right - share * said) ** 2).sum()) / said.sum()
    return int(said.sum()), summed.sum() / said.sum(), share, error


def brier(herds) -> tuple[float, float, float]:
    """Brier's score, what it would be on average if every chance were right, and the standard
    error of their difference, herd by herd."""
    scores, hoped, counts = [], [], []
    for chances, doses in herds:
        truth = np.eye(3)[doses]
        scores.append(((chances - truth) ** 2).sum())
        hoped.append((1 - (chances**2).sum(axis=1)).sum())
        counts.append(len(doses))
    scores, hoped, counts = map(np.array, (scores, hoped, counts))
    gap = (scores - hoped).sum() / counts.sum()
    error = np.sqrt(((scores - hoped - gap * counts) ** 2).sum()) / counts.sum()
    return scores.sum() / counts.sum(), hoped.sum() / counts.sum(), error
