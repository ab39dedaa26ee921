"""The settings of a season's plan, kept as plain data with the plan."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any, Self

from django.utils.translation import gettext_lazy as _

from herdbook.book.rules.mating_cautions import GRAVE, LETHAL, SATIN, WELFARE, TimeTogether

__all__ = [
    "BORN",
    "LEFT_OUT",
    "LETHAL",
    "MAY_BE_LEFT_OUT",
    "SATIN",
    "SHOWABLE",
    "UNITS",
    "UNIT_NAMES",
    "WELFARE",
    "Wishes",
]

Keys = tuple[int, ...]
KeyPairs = tuple[tuple[int, int], ...]

# Cautions that keep an animal or a pair out at first.
LEFT_OUT = GRAVE
# Those that a breeder may choose to leave out, or not.
MAY_BE_LEFT_OUT = (
    *(code for code in LEFT_OUT if code not in WELFARE),
    "sow-age-unknown",
    "sow-not-weighed",
    "sow-light-for-age",
    "due-in-heat",
    "boar-light",
    "boar-age-unknown",
    "roan",
    "papers-in-doubt",
)

# What a plan counts pups by: as born, as plans of before did, or as those alive at 28 days, and
# of one dose only those good enough to show.
BORN, SHOWABLE = "born", "showable"

# What the value of a plan counts, with a number and without.
UNITS = {
    "showable": _("%(number)s showable pups"),
    "coloured": _("%(number)s showable pups of that colour"),
    "two-dose": _("%(number)s overmarked pups"),
    "one-dose": _("%(number)s clean marked pups"),
    "score": _("a score of %(number)s"),
}
UNIT_NAMES = {
    "showable": _("showable pups"),
    "coloured": _("showable pups of that colour"),
    "two-dose": _("overmarked pups"),
    "one-dose": _("clean marked pups"),
    "score": _("score"),
}


@dataclass(frozen=True)
class Wishes:
    """Limits and wants; animals by key, pairs as (sow, boar).

    ``inbreeding`` of a litter and ``coancestry`` of the herd to come are shares, None for no
    limit. ``one`` says what a showable pup counts, ``two`` one of two doses alive at 28 days;
    ``least_one`` and ``least_two`` how many of each dose alive at 28 days to expect at least.
    ``body`` and ``points`` are the colours wanted, as the table of loci names them, '' for any;
    ``colour_more`` what a showable pup of them counts on top of any other. ``left_out``: codes of
    cautions that keep an animal or a pair out. ``counted``: SHOWABLE, or BORN of a plan of before.
    """

    boar_in: date
    boar_out: date
    pens: int
    sows_a_boar: int
    inbreeding: float | None = None
    coancestry: float | None = None
    one: float = 1.0
    two: float = 0.0
    least_one: float = 0.0
    least_two: float = 0.0
    left_out: tuple[str, ...] = LEFT_OUT
    resting: Keys = ()
    held: KeyPairs = ()
    forbidden: KeyPairs = ()
    body: str = ""
    points: str = ""
    colour_more: float = 0.0
    counted: str = SHOWABLE

    @property
    def wants_colour(self) -> bool:
        return bool(self.body or self.points)

    @property
    def counts_colour(self) -> bool:
        """Whether the colour changes the plan, and is not only shown."""
        return self.wants_colour and self.colour_more > 0

    @property
    def unit(self) -> str:
        """What the value of a plan counts, a key of UNITS: a score for several kinds of pups."""
        wanted = (self.one, self.two, self.colour_more if self.wants_colour else 0.0)
        alone = {(1.0, 0.0, 0.0): "showable", (0.0, 1.0, 0.0): "two-dose"}
        alone[0.0, 0.0, 1.0] = "coloured"
        unit = alone.get(wanted, "score")
        if self.counted == BORN:
            return {"showable": "one-dose", "coloured": "score"}.get(unit, unit)
        return unit

    @property
    def lets_in(self) -> tuple[str, ...]:
        """Those of WELFARE that keep no animal out."""
        return tuple(code for code in WELFARE if code not in self.left_out)

    @property
    def together(self) -> TimeTogether:
        return TimeTogether(self.boar_in, self.boar_out)

    def as_data(self) -> dict[str, Any]:
        """As JSON keeps it."""
        days = {"boar_in": self.boar_in.isoformat(), "boar_out": self.boar_out.isoformat()}
        return {**asdict(self), **days}

    @classmethod
    def of(cls, data: dict[str, Any]) -> Self:
        """Back from what JSON kept."""
        return cls(
            **{
                "counted": BORN,
                **data,
                "boar_in": date.fromisoformat(data["boar_in"]),
                "boar_out": date.fromisoformat(data["boar_out"]),
                "left_out": tuple(data["left_out"]),
                "resting": tuple(data["resting"]),
                "held": tuple(map(tuple, data["held"])),
                "forbidden": tuple(map(tuple, data["forbidden"])),
            }
        )

    def changed(self, *, held: KeyPairs, forbidden: KeyPairs, resting: Keys) -> Self:
        """The same with other pairs held and forbidden and other sows at rest, asked as now."""
        return replace(self.as_now(), held=held, forbidden=forbidden, resting=resting)

    def as_now(self) -> Self:
        """What a plan of before asked for, asked again: showable pups, and welfare first."""
        if self.counted == SHOWABLE:
            return self
        left_out = tuple(dict.fromkeys((*WELFARE, *self.left_out)))
        return replace(self, counted=SHOWABLE, left_out=left_out)
