"""What animals of a herd weigh at an age: a growth curve that a few odd weighings do not bend.

Weight W at age t is A / (1 + exp(-k (t - t0))) (logistic) or A exp(-exp(-k (t - t0))) (Gompertz),
whichever of the two fits better, by least squares of the logarithm with a soft-L1 loss (Huber 1964
for the idea of a loss that grows linearly, from memory), so that spread is a share of the weight.
Both are usual for guinea pigs; a logistic for males is published (Tapie and others, Tropical and
Subtropical Agroecosystems, article 5179).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

Figures = NDArray[np.float64]

# Residuals beyond this share of the weight count less and less: a sow in pig, a slip of the pen.
ODD = 0.1
# Of a normal spread, the median absolute deviation times this is one standard deviation.
_MEDIAN_TO_DEVIATION = 1.4826


@dataclass(frozen=True)
class Growth:
    """A fitted curve. `shape`: 'logistic' or 'gompertz'; `grown_g`: its plateau in grams; `rate`
    a day; `turn_days`: the age of its inflexion; `spread`: standard deviation of the logarithm
    of weight around it, robustly; `ages`: the youngest and the oldest age weighed, in days."""

    shape: str
    grown_g: float
    rate: float
    turn_days: float
    spread: float
    ages: tuple[float, float]

    def usual_g(self, age_days: float) -> float:
        """The middle weight at an age within `ages`, in grams; NaN outside."""
        if not self.ages[0] <= age_days <= self.ages[1]:
            return float("nan")
        parameters = np.array([np.log(self.grown_g), np.log(self.rate), self.turn_days])
        return float(np.exp(_LOG_SHAPES[self.shape](parameters, np.array([age_days]))[0]))

    def weight_g(self, age_days: float, deviations: float) -> float:
        """The weight so many standard deviations above the middle (below, if negative)."""
        return self.usual_g(age_days) * float(np.exp(deviations * self.spread))


def fit_growth(age_days: ArrayLike, weight_g: ArrayLike) -> Growth:
    """The curve of these weighings (n,), several of one animal among them or not.

    Raises ValueError where ages or weights are not positive and finite, where there are fewer
    than four different ages, or where no curve could be found.
    """
    ages = np.asarray(age_days, dtype=np.float64)
    weights = np.asarray(weight_g, dtype=np.float64)
    good = np.isfinite(ages) & (ages >= 0), np.isfinite(weights) & (weights > 0)
    if ages.shape != weights.shape or not np.all(good):
        raise ValueError("each weighing needs an age of 0 days or more and a weight above 0 g")
    if len(np.unique(ages)) < 4:
        raise ValueError("a growth curve needs weighings at four different ages at least")
    fits = [(_fit(shape, ages, weights), shape) for shape in _LOG_SHAPES]
    (cost, parameters, residuals), shape = min(fits, key=lambda fit: fit[0][0])
    if not np.isfinite(cost):
        raise ValueError("no growth curve fits these weighings")
    return Growth(
        shape,
        float(np.exp(parameters[0])),
        float(np.exp(parameters[1])),
        float(parameters[2]),
        float(_MEDIAN_TO_DEVIATION * np.median(np.abs(residuals))),
        (float(ages.min()), float(ages.max())),
    )


def _log_logistic(parameters: Figures, ages: Figures) -> Figures:
    grown, rate, turn = parameters
    return np.asarray(grown - np.logaddexp(0.0, -np.exp(rate) * (ages - turn)))


def _log_gompertz(parameters: Figures, ages: Figures) -> Figures:
    grown, rate, turn = parameters
    return np.asarray(grown - np.exp(np.minimum(-np.exp(rate) * (ages - turn), 50.0)))


_LOG_SHAPES: dict[str, Callable[[Figures, Figures], Figures]] = {
    "logistic": _log_logistic,
    "gompertz": _log_gompertz,
}


def _fit(shape: str, ages: Figures, weights: Figures) -> tuple[float, Figures, Figures]:
    """Cost, parameters and residuals of the logarithm."""
    logs = np.log(weights)
    start = np.array([np.log(np.quantile(weights, 0.95)), np.log(0.03), np.median(ages) / 2])

    def off(parameters: Figures) -> Figures:
        return np.asarray(_LOG_SHAPES[shape](parameters, ages) - logs)

    fit = partial(least_squares, loss="soft_l1", f_scale=ODD)
    found = fit(off, start, x_scale=[1.0, 1.0, 30.0])
    return float(found.cost), found.x, off(found.x)
