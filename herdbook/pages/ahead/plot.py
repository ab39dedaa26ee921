"""The result of each rule by season as small plots: laid out here, drawn by the template as SVG.

Each rule has a mark and a line of its own, so that they are told apart without colour; four runs in
five lie within the pale bar through its mark.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from ..animals.weights import Tick

_TICKS = 5
_APART = 9.0  # between the marks of two rules in one season

Row = Sequence[float | None]  # low, median, high, mean


@dataclass(frozen=True)
class Frame:
    """The size of a drawing, and the edges of the plot in it."""

    wide: int
    high: int
    left: int
    right: int
    top: int
    bottom: int

    @classmethod
    def of(cls, wide: int, high: int, *, left: int, right: int, top: int, bottom: int) -> "Frame":
        """A drawing of this size with margins of these widths."""
        return cls(wide, high, left, wide - right, top, high - bottom)

    def up(self, share: float) -> float:
        """How far down the drawing a share of the plot's height above its lower edge stands."""
        return self.bottom - (self.bottom - self.top) * share

    def across(self, share: float) -> float:
        """Where a share of the plot's width from its left edge stands."""
        return self.left + (self.right - self.left) * share


FRAME = Frame.of(400, 240, left=44, right=10, top=12, bottom=30)


@dataclass(frozen=True)
class Mark:
    """A season of one rule: where its median stands, and the ends of its bar."""

    x: float
    y: float
    low: float
    high: float


@dataclass(frozen=True)
class Drawn:
    """One rule in a plot; `number` picks its mark and its line."""

    number: int
    marks: tuple[Mark, ...]

    @property
    def line(self) -> str:
        return " ".join(f"{mark.x:.1f},{mark.y:.1f}" for mark in self.marks)


@dataclass(frozen=True)
class Plot:
    """All that the template draws; lengths in the plot's own units."""

    name: str
    title: str
    series: tuple[Drawn, ...]
    seasons: tuple[Tick, ...]
    values: tuple[Tick, ...]
    frame: Frame = FRAME


def plot_rules(
    name: str, title: str, rules: Sequence[Sequence[Row]], word: Callable[[float], str]
) -> Plot:
    """Lay out one measure of several rules, each a row a season; `word` says a tick's value."""
    seasons = max(len(rows) for rows in rules)
    told = [value for rows in rules for row in rows for value in row[:3] if value is not None]
    step = _step(max(told, default=0.0))
    top = max(1, ceil(max(told, default=0.0) / step - 1e-9)) * step

    def across(season: int, place: float = 0.0) -> float:
        return FRAME.across((season + 0.5) / seasons) + place

    def up(value: float) -> float:
        return FRAME.up(value / top)

    apart = min(_APART, 0.8 * (across(1) - across(0)) / len(rules))
    series = []
    for number, rows in enumerate(rules):
        beside = (number - (len(rules) - 1) / 2) * apart
        marks = tuple(
            Mark(across(season, beside), up(median), up(low), up(high))
            for season, (low, median, high, mean) in enumerate(rows)
            if low is not None and median is not None and high is not None and mean is not None
        )
        series.append(Drawn(number, marks))
    return Plot(
        name,
        title,
        tuple(series),
        tuple(Tick(across(season), str(season + 1)) for season in range(seasons)),
        tuple(
            Tick(up(number * step), word(number * step)) for number in range(round(top / step) + 1)
        ),
    )


def _step(top: float) -> float:
    """A round step that makes `_TICKS` ticks or fewer."""
    if top <= 0:
        return 1.0
    scale = 10.0 ** floor(log10(top / _TICKS))
    return next(scale * step for step in (1, 2, 5, 10) if scale * step * _TICKS >= top)
