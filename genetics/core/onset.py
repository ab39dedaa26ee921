"""The chance of what many animals showed at their ages, for all of them at once.

With s the chance that an animal of dose d and pace z shows the stage written after weeks of that
warmth, z standard normal, and m the rate of misread looks,

    L(d) = mean over z of prod over looks ((1 - m) s + m (1 - s) / 3).

The mean is exact: between two slowest paces that matter, nothing changes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from genetics.core.curves import Curves
from genetics.core.seen import STAGES, WARMTHS, SeenLook

Table = NDArray[np.float64]

AT_ONCE = 2_000_000  # numbers in one array


@dataclass(frozen=True)
class Weather:
    """What warmth does to what is shown, and how far ahead points come in it.

    `weeks`: share of looks after weeks of each warmth, where nobody noted it. `ahead`: points
    begin to come as at an age so many times an animal's own. `shown` (w, 4, 4): for each warmth of
    `WARMTHS`, the chance of each stage shown (columns) at each stage reached (rows).
    """

    weeks: Mapping[str, float]
    ahead: Mapping[str, float]
    shown: Table


@dataclass(frozen=True)
class _Alike:
    """Animals that were looked at equally often: `ages` and `written` (n, m), and for each pull
    of the weather, `by_stage` (n, m, 4): the chance of the stage written at each stage reached."""

    animals: NDArray[np.int64]
    ages: Table
    pulls: tuple[tuple[float, Table], ...]


class LookTable:
    """The looks at each of many animals, ready to be weighed under any curves."""

    def __init__(self, looks: Sequence[Sequence[SeenLook]], weather: Weather) -> None:
        self.animals = len(looks)
        counts = np.array([len(row) for row in looks], dtype=np.int64)
        self._alike = [
            _alike(np.flatnonzero(counts == count), looks, weather)
            for count in np.unique(counts[counts > 0])
        ]

    def log_chances(self, dose: int, curves: Curves, misjudged: float) -> Table:
        """Logarithm (n,) of the chance of each animal's looks at one dose; 0 without a look."""
        logs = np.zeros(self.animals)
        for alike in self._alike:
            looks = alike.ages.shape[1]
            cells = 2 * looks * len(curves.milestones) + 1
            step = max(1, AT_ONCE // (cells * looks))
            for start in range(0, len(alike.animals), step):
                rows = slice(start, start + step)
                logs[alike.animals[rows]] = _log_chances(alike, rows, dose, curves, misjudged)
        return logs


def _alike(
    animals: NDArray[np.int64], looks: Sequence[Sequence[SeenLook]], weather: Weather
) -> _Alike:
    seen = [looks[animal] for animal in animals]
    ages = np.array([[look.age_days for look in row] for row in seen], dtype=np.float64)
    written = np.array([[STAGES.index(look.stage) for look in row] for row in seen])
    weights = np.array([[_weights(look, weather) for look in row] for row in seen])
    pulls = []
    for pull in sorted(set(weather.ahead.values())):
        by_stage = np.zeros((*ages.shape, len(STAGES)))
        for number, warmth in enumerate(WARMTHS):
            if weather.ahead[warmth] == pull:
                chances = weather.shown[number].T[written]
                by_stage += weights[..., number, None] * chances
        pulls.append((pull, by_stage))
    return _Alike(animals, ages, tuple(pulls))


def _weights(look: SeenLook, weather: Weather) -> list[float]:
    if look.warmth == "":
        return [weather.weeks[warmth] for warmth in WARMTHS]
    return [float(look.warmth == warmth) for warmth in WARMTHS]


def _log_chances(alike: _Alike, rows: slice, dose: int, curves: Curves, misjudged: float) -> Table:
    ages = alike.ages[rows]
    reached = [_slowest_paces(ages, pull, dose, curves) for pull, _ in alike.pulls]
    uppers, widths = _cells(reached, len(ages))
    shown = np.zeros((*ages.shape, uppers.shape[1]))
    for (_, by_stage), paces in zip(alike.pulls, reached, strict=True):
        stages = np.zeros(shown.shape, dtype=np.int64)
        for stage, pace in paces:
            stages = np.maximum(stages, np.where(pace[..., None] >= uppers[:, None], stage, 0))
        shown += np.take_along_axis(by_stage[rows], stages, axis=2)
    with np.errstate(divide="ignore"):
        logs = np.log((1 - misjudged) * shown + misjudged * (1 - shown) / 3).sum(axis=1)
        logs += np.log(widths)
        largest = logs.max(axis=1)
        safe = np.where(np.isfinite(largest), largest, 0)
        summed: Table = safe + np.log(np.exp(logs - safe[:, None]).sum(axis=1))
    return summed


def _slowest_paces(ages: Table, pull: float, dose: int, curves: Curves) -> list[tuple[int, Table]]:
    """For each milestone of a dose its stage and the slowest pace (n, m) that has reached it by
    each age; at birth none is reached by anyone. Milestones fall at median exp(spread z)."""
    with np.errstate(divide="ignore"):
        return [
            (
                STAGES.index(one.stage),
                np.log((pull if one.stage == "coming" else 1.0) * ages / one.median_days)
                / one.spread,
            )
            for one in curves.of(dose)
        ]


def _cells(reached: list[list[tuple[int, Table]]], animals: int) -> tuple[Table, Table]:
    """The upper ends (n, c) of the cells of pace in which nothing changes, and how much of all
    animals each holds."""
    paces = [pace for row in reached for _, pace in row]
    ends = np.full((animals, 1), np.inf)
    uppers = np.sort(np.concatenate([*paces, ends], axis=1), axis=1)
    below = ndtr(uppers)
    widths = np.diff(below, axis=1, prepend=0.0)
    return uppers, widths
