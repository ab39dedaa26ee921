"""An animal's weights as a small plot, laid out here and drawn by the template as SVG."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from herdbook.book.models import Animal

from ..common.formatting import age_on

WIDE, HIGH = 400, 210
LEFT, RIGHT, TOP, BOTTOM = 48, 12, 12, 28
_MOST_TICKS = 5
_WEIGHT_STEPS = (10, 20, 50, 100, 200, 500, 1000)
_DAY_STEPS = (1, 2, 7, 14, 28, 61, 91, 183, 365, 730)
_YEARLY = 300


@dataclass(frozen=True)
class Weight:
    """What an animal weighed on a day, how old it was, and where to correct it."""

    on: date
    grams: int
    age: str
    correct: str = ""


@dataclass(frozen=True)
class Point:
    """Where one weighing stands in the plot, in its units."""

    x: float
    y: float


@dataclass(frozen=True)
class Tick:
    """A mark on an axis of the chart of weights: where it stands, and its words."""

    at: float
    words: str


@dataclass(frozen=True)
class Plot:
    """All that the template draws; lengths in the plot's own units."""

    points: tuple[Point, ...]
    days: tuple[Tick, ...]
    grams: tuple[Tick, ...]
    wide: int = WIDE
    high: int = HIGH
    left: int = LEFT
    right: int = WIDE - RIGHT
    top: int = TOP
    bottom: int = HIGH - BOTTOM

    @property
    def line(self) -> str:
        return " ".join(f"{point.x:.1f},{point.y:.1f}" for point in self.points)


def weights_of(animal: Animal) -> list[Weight]:
    """What it weighed, the earliest first, from birth on where its weight and day are known."""
    weights = []
    if animal.birth_weight_g and animal.born and animal.born.precision == "day":
        weights.append(Weight(animal.born.earliest, animal.birth_weight_g, _("at birth")))
    for weighing in animal.weighings.all():
        address = reverse("correct-weighing", args=[weighing.public_id])
        age = age_on(animal, weighing.on)
        weights.append(Weight(weighing.on, weighing.weight_g, age, address))
    return sorted(weights, key=lambda weight: weight.on)


def plot_weights(weights: Sequence[Weight]) -> Plot | None:
    """Lay the plot out; None for fewer than two days, which make no line."""
    if len({weight.on for weight in weights}) < 2:
        return None
    first, last = weights[0].on, weights[-1].on
    top = _ceiling(max(weight.grams for weight in weights))

    def across(on: date) -> float:
        return LEFT + (WIDE - RIGHT - LEFT) * (on - first).days / (last - first).days

    def up(grams: float) -> float:
        return HIGH - BOTTOM - (HIGH - BOTTOM - TOP) * grams / top

    return Plot(
        points=tuple(Point(across(weight.on), up(weight.grams)) for weight in weights),
        days=tuple(Tick(across(on), _day_words(on, first, last)) for on in _days(first, last)),
        grams=tuple(Tick(up(grams), str(grams)) for grams in range(0, top + 1, _weight_step(top))),
    )


def _weight_step(top: int) -> int:
    return next((step for step in _WEIGHT_STEPS if top / step <= _MOST_TICKS), _WEIGHT_STEPS[-1])


def _ceiling(most: int) -> int:
    step = _weight_step(most)
    return ceil(most / step) * step


def _days(first: date, last: date) -> list[date]:
    span = (last - first).days
    step = next((step for step in _DAY_STEPS if span / step <= _MOST_TICKS - 1), _DAY_STEPS[-1])
    return [first + timedelta(days=days) for days in range(0, span + 1, step)]


def _day_words(on: date, first: date, last: date) -> str:
    return date_format(on, "M Y" if (last - first).days > _YEARLY else "j M")
