"""The chances of an animal's dose as a bar that is right in grey."""

from dataclasses import dataclass
from typing import Protocol

from ..common.formatting import full_dose_name, uncertain

WIDE = 300


@dataclass(frozen=True)
class Part:
    """One dose's share of the bar, in the bar's own units."""

    dose: int
    chance: float
    start: float
    wide: float

    @property
    def words(self) -> str:
        return full_dose_name(self.dose).capitalize()


class HasChances(Protocol):
    """A figure of an animal, or a mating: chances of no, one and two doses, or None."""

    @property
    def chances(self) -> tuple[float, float, float] | None: ...


def dose_bar(figure: HasChances | None) -> tuple[Part, ...]:
    """Three parts from left to right, none where no figure could be made."""
    chances = figure.chances if figure else None
    if chances is None:
        return ()
    chances = uncertain(chances)
    starts = (0.0, chances[0], chances[0] + chances[1])
    return tuple(
        Part(dose, chance, round(WIDE * start, 1), round(WIDE * chance, 1))
        for dose, (chance, start) in enumerate(zip(chances, starts, strict=True))
    )
