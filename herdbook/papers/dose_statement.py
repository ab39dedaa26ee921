"""An animal's dose of the points gene as a sheet states it, and its grounds.

The facts only: `wording` puts them in words. Each ground is a small value that a caller fills
from the book; a ground that fits none of them may be given as a ready sentence.
"""

from dataclasses import dataclass
from typing import Literal, get_args

from .normalise import Tidied

Kind = Literal["seen", "proved", "probable", "unknown"]
Stage = Literal["none", "coming", "full", "overmarked"]
Phenotype = Literal["self", "marked", "overmarked"]

# Offspring prove a dose from this chance on, with wrong records allowed for.
PROVED_FROM = 0.99


@dataclass(frozen=True)
class Look(Tidied):
    """The points as they were seen: at what age and on what date, both as ready text."""

    stage: Stage
    age: str = ""
    seen_on: str = ""


@dataclass(frozen=True)
class Young:
    """Young that were judged, and the animal's mates ('' where they were of all sorts)."""

    selfs: int = 0
    marked: int = 0
    overmarked: int = 0
    mates: Phenotype | Literal[""] = ""

    def __post_init__(self) -> None:
        if min(self.selfs, self.marked, self.overmarked) < 0:
            raise ValueError("a count of young cannot be below zero")
        if self.total == 0:
            raise ValueError("no young were judged: leave this ground out")

    @property
    def total(self) -> int:
        """All young that were judged."""
        return self.selfs + self.marked + self.overmarked


@dataclass(frozen=True)
class ParentDoses:
    """The likeliest doses of sire and dam; None where one is not known."""

    sire: int | None = None
    dam: int | None = None


@dataclass(frozen=True)
class BoughtAs:
    """What the animal was bought as."""

    phenotype: Phenotype


@dataclass(frozen=True)
class CoatHides(Tidied):
    """The coat (ready text) on which points cannot be seen."""

    coat: str


Ground = Look | Young | ParentDoses | BoughtAs | CoatHides | str


@dataclass(frozen=True)
class DoseStatement(Tidied):
    """One animal's dose, how it is known, and its grounds, the weightiest first.

    kind: 'seen' (by the seller), 'proved' (by offspring), 'probable' or 'unknown'.
    dose: 0, 1 or 2; None only when unknown.
    chance: probability of that dose, 0 to 1, with wrong records allowed for. Needed when
        proved (at least 0.99, with the young among its grounds) or probable; with 'seen' it is
        printed beside what was seen.
    error: what the chance may be off by, an estimate; 0 where it is exact.
    Raises ValueError where these do not agree.
    """

    kind: Kind
    dose: int | None = None
    chance: float | None = None
    grounds: tuple[Ground, ...] = ()
    error: float = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.kind not in get_args(Kind):
            raise ValueError(f"a dose is seen, proved, probable or unknown, not {self.kind!r}")
        if self.kind == "unknown":
            if self.dose is not None or self.chance is not None:
                raise ValueError("an unknown dose has neither a dose nor a chance")
            return
        if self.dose not in (0, 1, 2):
            raise ValueError(f"a dose is 0, 1 or 2, not {self.dose!r}")
        self._check_chance()

    def _check_chance(self) -> None:
        if self.chance is None:
            if self.kind != "seen":
                raise ValueError(f"a {self.kind} dose needs its chance")
            return
        for share in (self.chance, self.error):
            if not 0 <= share <= 1:
                raise ValueError(f"a chance lies between 0 and 1, not {share!r}")
        if self.kind == "proved":
            if self.chance - self.error < PROVED_FROM:
                raise ValueError(f"proved begins at {PROVED_FROM:.0%}, this is {self.chance:.2%}")
            if not self.grounds:
                raise ValueError("a proved dose needs its grounds: the young that prove it")
