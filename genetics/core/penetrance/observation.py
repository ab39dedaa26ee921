"""A look at the points as it was written down, in plain words and numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

STAGES = ("none", "coming", "full", "overmarked")
WARMTHS = ("cold", "mild", "hot")
SPREADS = ("nose", "cheeks", "eyes", "face")
STAINS = ("clean", "light", "heavy")
DENSITIES = ("none", "faint", "coming", "dense")
HIDDEN = "hidden"


@dataclass(frozen=True)
class Observation:
    """One look: the stage written, the age at it in days, and what else was noted.

    `warmth` is of the weeks before, `spread` how far the smut reaches over the face, `stain` dark
    hair on the body; each place has a density or is hidden by white. An empty word stands for what
    nobody noted. Raises ValueError for a word or an age that cannot be.
    """

    stage: str
    age_days: float
    warmth: str = ""
    spread: str = ""
    stain: str = ""
    smut: str = ""
    ears: str = ""
    fore_feet: str = ""
    hind_feet: str = ""

    def __post_init__(self) -> None:
        _one_of("stage", self.stage, STAGES)
        _one_of("warmth", self.warmth, ("", *WARMTHS))
        _one_of("spread", self.spread, ("", *SPREADS))
        _one_of("stain", self.stain, ("", *STAINS))
        for place in (self.smut, self.ears, self.fore_feet, self.hind_feet):
            _one_of("density", place, ("", *DENSITIES, HIDDEN))
        if not 0 <= self.age_days < math.inf:
            raise ValueError(f"an age at a look is 0 days or more, and not {self.age_days}")


Seen = Observation | tuple[str, float]


def as_seen(looks: Iterable[Seen]) -> list[Observation]:
    """Looks as `Observation`; a pair of stage and age is one with nothing else noted."""
    return [look if isinstance(look, Observation) else Observation(*look) for look in looks]


def _one_of(name: str, word: str, words: tuple[str, ...]) -> None:
    if word not in words:
        raise ValueError(f"{name} {word!r} is not one of {', '.join(filter(None, words))}")
