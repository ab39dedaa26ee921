"""What came of a season's plan, as values, and the one reader and writer of how it is kept.

Animals stand by their keys. Kept as JSON, a field at its default is left out; plans of before lack
some of the fields, and the reader puts the defaults in their place.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import MISSING, asdict, dataclass, field, fields
from typing import Any, Self

from genetics.matings.showable_rate import Outlook
from herdbook.book.rules.mating_cautions import Doubted

Data = dict[str, Any]


@dataclass(frozen=True)
class PlannedPair:
    """A sow and her boar, with what is expected of the litter.

    ``pups`` are born alive; ``one`` and ``two`` (by dose), ``showable`` and ``in_colour`` (showable
    and of the colour wanted) are alive at 28 days. ``inbreeding`` is the litter's; ``lethal`` and
    ``satin`` are the chances that a pup is a lethal white, and that it is satin.
    """

    sow: int
    boar: int
    pups: float
    one: float
    two: float
    in_colour: float
    showable: float
    inbreeding: float
    lethal: float
    satin: float

    @classmethod
    def of(cls, data: Data) -> Self:
        without: Data = dict.fromkeys(("in_colour", "showable", "lethal", "satin"), 0.0)
        return cls(**(without | data))


@dataclass(frozen=True)
class FoundPlan:
    """The pairs of a plan, its value, the bound on any plan's value (``proven``: none is better),
    and the mean coancestry of its litters."""

    value: float
    bound: float
    proven: bool
    coancestry: float
    pairs: tuple[PlannedPair, ...]

    @classmethod
    def of(cls, data: Data) -> Self:
        pairs = tuple(PlannedPair.of(pair) for pair in data["pairs"])
        return cls(data["value"], data["bound"], data["proven"], data["coancestry"], pairs)

    @property
    def boar_of(self) -> dict[int, int]:
        """The boar of each mated sow."""
        return {pair.sow: pair.boar for pair in self.pairs}


@dataclass(frozen=True)
class UnmatedSow:
    """A sow without a boar, and why: a code of `unmated_sows`, or of a caution.

    ``because``: what keeps boars from her, the commonest first; ``boars``: those that may go to her
    and are full; ``instead``: the sow in whose place she would do as well; ``less``: she would
    bring less in the place of any other.
    """

    sow: int
    why: str
    because: tuple[str, ...] = ()
    boars: tuple[int, ...] = ()
    instead: int | None = None
    less: bool = False

    @classmethod
    def of(cls, data: Data) -> Self:
        return cls(**_with_tuples(data, "because", "boars"))


@dataclass(frozen=True)
class PairReason:
    """Why a sow has her boar: 'held', 'best', or a ``boar`` that would give ``more`` and is 'full',
    too related ('inbreeding'), left out ('out', by the caution ``code``), or worse for the whole
    plan ('whole')."""

    why: str
    boar: int | None = None
    more: float = 0.0
    code: str = ""


@dataclass(frozen=True)
class LimitCost:
    """What a plan would gain, found and at most, with one limit eased ``to`` a value; ``number`` is
    the dose of a 'least' limit."""

    limit: str
    number: int
    to: float
    gain: float
    at_most: float


@dataclass(frozen=True)
class WelfareCost:
    """A kind of caution by its codes: how many animals, and pairs of others, it keeps out, and
    what the plan would gain without it, found and at most."""

    codes: tuple[str, ...]
    sows: int
    boars: int
    pairs: int
    gain: float
    at_most: float

    @classmethod
    def of(cls, data: Data) -> Self:
        return cls(**_with_tuples(data, "codes"))


@dataclass(frozen=True)
class Obstacle:
    """A limit that leaves no plan. ``reach`` is the nearest that any plan comes to it; ``sow`` and
    ``boar`` are of a pair to keep, which ``because`` speaks against."""

    limit: str
    number: int
    reach: float | None = None
    sow: int | None = None
    boar: int | None = None
    because: tuple[str, ...] = ()
    inbreeding: float | None = None

    @classmethod
    def of(cls, data: Data) -> Self:
        without: Data = {"number": 0}
        return cls(**(without | _with_tuples(data, "because")))


@dataclass(frozen=True)
class ColourBasis:
    """By gene, of how many of the animals the colour is recorded; the error of the chances."""

    noted: dict[str, int]
    of: int
    error: float


@dataclass(frozen=True)
class Basis:
    """What a plan rests on.

    ``left_out``: the caution that leaves an animal out, by key; ``pairs_out``: how many pairs each
    caution leaves out; ``risks_unknown``: animals whose roan or satin could not be worked out;
    ``in_doubt``: by key, how likely the records of an animal are wrong; ``alike``: mean coancestry
    were all used alike; ``off``: the most that the chance of a dose may be off by; ``unknown``:
    sows without a dose; ``sires_as_written``: no figure of this revision weighed possible sires.
    """

    left_out: dict[int, str] = field(default_factory=dict)
    pairs_out: dict[str, int] = field(default_factory=dict)
    risks_unknown: int = 0
    in_doubt: dict[int, Doubted] = field(default_factory=dict)
    alike: float | None = None
    outlook: Outlook | None = None
    colour: ColourBasis | None = None
    off: float = 0.0
    unknown: int = 0
    sires_as_written: bool = False

    @classmethod
    def of(cls, data: Data) -> Self:
        own: Data = {
            one.name: data[one.name] for one in fields(cls) if data.get(one.name) is not None
        }
        readers: dict[str, Callable[[Any], object]] = {
            "left_out": lambda kept: {int(key): code for key, code in kept.items()},
            "in_doubt": lambda kept: {int(key): Doubted(**one) for key, one in kept.items()},
            "outlook": Outlook.of,
            "colour": lambda kept: ColourBasis(**kept),
        }
        return cls(**own | {name: read(own[name]) for name, read in readers.items() if name in own})

    def as_data(self) -> Data:
        named = {"left_out": _by_text(self.left_out), "in_doubt": _by_text(self.in_doubt)}
        doubts = {key: asdict(one) for key, one in named["in_doubt"].items()}
        return asdict(self) | named | {"in_doubt": doubts}


@dataclass(frozen=True)
class SeasonResult:
    """What was found: a plan with its reasons, or the obstacles that leave none.

    ``proven`` says of no plan that there is none. ``least_related``: whether the plan is known to
    be the least related of those of its value, None of a plan of before.
    """

    basis: Basis = Basis()
    plan: FoundPlan | None = None
    obstacles: tuple[Obstacle, ...] = ()
    proven: bool = False
    least_related: bool | None = None
    rests: tuple[UnmatedSow, ...] = ()
    why: Mapping[int, PairReason] = field(default_factory=dict)
    costs: tuple[LimitCost, ...] = ()
    care: tuple[WelfareCost, ...] = ()
    others: tuple[FoundPlan, ...] = ()

    @classmethod
    def of(cls, data: Data) -> Self:
        """Back from what JSON kept."""
        basis = Basis.of(data)
        if "none" in data:
            obstacles = tuple(Obstacle.of(one) for one in data["none"])
            return cls(basis, obstacles=obstacles, proven=data["proven"])
        return cls(
            basis,
            plan=FoundPlan.of(data),
            proven=data["proven"],
            least_related=data.get("least_related"),
            rests=tuple(UnmatedSow.of(one) for one in data["rests"]),
            why={int(sow): PairReason(**one) for sow, one in data["why"].items()},
            costs=tuple(LimitCost(**one) for one in data["costs"]),
            care=tuple(WelfareCost.of(one) for one in data.get("care", ())),
            others=tuple(FoundPlan.of(one) for one in data["others"]),
        )

    def as_data(self) -> Data:
        """As JSON keeps it."""
        basis = self.basis.as_data()
        if self.plan is None:
            obstacles = [_without_defaults(one) for one in self.obstacles]
            return basis | {"none": obstacles, "proven": self.proven}
        return {
            **basis,
            **_plain(self.plan),
            "least_related": self.least_related,
            "rests": [_without_defaults(one) for one in self.rests],
            "why": {str(sow): _without_defaults(one) for sow, one in self.why.items()},
            "costs": [_plain(one) for one in self.costs],
            "care": [_plain(one) for one in self.care],
            "others": [_plain(one) for one in self.others],
        }


def _with_tuples(data: Data, *names: str) -> Data:
    return data | {name: tuple(data[name]) for name in names if name in data}


def _without_defaults(one: Any) -> Data:
    defaults = {each.name: each.default for each in fields(one) if each.default is not MISSING}
    kept = {name for name in vars(one) if getattr(one, name) != defaults.get(name, MISSING)}
    return {name: value for name, value in _plain(one).items() if name in kept}


def _plain(one: Any) -> Data:
    """A value as JSON gives it back, with lists for tuples."""
    data: Data = json.loads(json.dumps(asdict(one)))
    return data


def _by_text(by_key: Mapping[int, Any]) -> dict[str, Any]:
    return {str(key): value for key, value in by_key.items()}
