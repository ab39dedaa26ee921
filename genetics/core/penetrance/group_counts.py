"""What a count of littermates that nobody could tell apart says of them.

'Two of these four are coming, one is full, one shows none': each pup may have been any of them. A
pup's pace is its own, so the chance that it was one of those coming is taken given what it showed
when it was looked at by name, and several counts of a pup are taken together, at one pace.

What is assumed: given its dose and its looks by name, one pup's place in a count says nothing of
another's, pups have paces of their own; which pups were left out of a count has nothing to do
with their points; pups without a name are the same ones in every count of the litter, show points
as red-series pups do, and are as old as their littermates; if the looks of two pups by name were
exchanged, the pace that they speak of is still taken from them as they were written down.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.inference.factor_graph import Table
from genetics.core.pedigree.group_records import GroupCount, Member, Totals, levels_of
from genetics.core.peeling.unidentified_pups import price_of
from genetics.core.penetrance.likelihood import MISJUDGED, look_table
from genetics.core.penetrance.observation import STAGES, Observation
from genetics.core.penetrance.onset_parameters import CURVES, Curves

Looks = tuple[Observation, ...]

DEAREST = 1e6  # table entries that a litter's counts may cost together

NAMELESS = -1


@dataclass(frozen=True)
class SeenTogether:
    """Littermates seen on one day: how many showed each stage of `STAGES`.

    `pups`: the numbers of those with a name that were among them, `nameless` how many others;
    where fewer were counted, the rest were not looked at. `age_days` and `warmth` as of a look.
    Raises ValueError where more were counted than were there, or a number cannot be.
    """

    pups: tuple[int, ...]
    nameless: int
    counted: tuple[int, int, int, int]
    age_days: float
    warmth: str = ""
    looks: tuple[Observation, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        if min(self.nameless, *self.counted) < 0 or len(set(self.pups)) < len(self.pups):
            raise ValueError("pups are counted once each, by numbers of 0 or more")
        if self.left_out < 0:
            raise ValueError("more pups were counted than were there")
        looks = tuple(Observation(stage, self.age_days, self.warmth) for stage in STAGES)
        object.__setattr__(self, "looks", looks)

    @property
    def there(self) -> int:
        """How many pups it may be about."""
        return len(self.pups) + self.nameless

    @property
    def left_out(self) -> int:
        """How many of them were not looked at."""
        return self.there - sum(self.counted)


class Place(NamedTuple):
    """One of the pups counted and what it may have been, whatever the curves.

    `looks`: what was seen of it by name; `ways`: what more would have been seen of it in each way
    that it may have been among those counted, `steps` (w, c) what that adds to each of the totals.
    `silent`: its coat hides points, and says nothing of its dose.
    """

    pup: int
    looks: Looks
    ways: tuple[Looks, ...]
    steps: NDArray[np.int64]
    silent: bool

    def with_way(self, way: Looks) -> Looks:
        """All that was seen of the pup, if it was among those counted in this way."""
        return (*self.looks, *way)

    def chances(self, logs: Callable[[Looks], Table]) -> Table:
        """Chance (3, w) of each way at each dose, given what was seen of it by name."""
        before = logs(self.looks)
        possible = before > -np.inf  # a dose that the looks rule out has them for another's
        columns = [
            np.where(possible, logs(self.with_way(way)), logs(way)) - np.where(possible, before, 0)
            for way in self.ways
        ]
        chances: Table = np.exp(np.transpose(columns))
        return chances


@dataclass(frozen=True)
class GroupCountData:
    """All counts of a litter that are weighed together, whatever the curves."""

    places: tuple[Place, ...]
    totals: Totals

    @property
    def price(self) -> float:
        """What the tally costs, as `price_of` says."""
        return price_of(levels_of([place.steps for place in self.places], self.totals))

    def renumbered(self, number: Mapping[int, int]) -> GroupCountData:
        """The same with other numbers for its pups; one that has none stands for a nameless."""
        places = (one._replace(pup=number.get(one.pup, NAMELESS)) for one in self.places)
        return replace(self, places=tuple(places))

    def seen(self) -> Iterator[Looks]:
        """All looks whose chance the tally rests on."""
        for place in self.places:
            yield place.looks
            for way in place.ways:
                yield way
                yield place.with_way(way)

    def tally(self, logs: Callable[[Looks], Table], *, asked: bool = False) -> GroupCount:
        """The tally, by the logarithms (3,) of the chances of looks at each dose. `asked` as of a
        tally."""
        members = []
        for place in self.places:
            weights = place.chances(logs)
            if place.silent:
                weights = np.tile(weights.mean(axis=0), (3, 1))
            members.append(Member(place.pup, weights, place.steps))
        return GroupCount(tuple(members), self.totals, asked)


def count_of_litter(
    counts: Sequence[SeenTogether],
    looks: Mapping[int, Sequence[Observation]],
    *,
    silent: Collection[int] = (),
    dearest: float = DEAREST,
) -> tuple[GroupCountData | None, int]:
    """The counts of a litter, oldest first, that can be weighed; and how many are too dear.

    `looks`: what was seen by name of each pup, which is weighed elsewhere. `silent`: pups whose
    coat hides points, who say nothing of their dose. Counts that would make the tally dearer than
    `dearest` are left out, the oldest first, since older pups tell more.
    """
    told = [count for count in counts if sum(count.counted)]
    found: GroupCountData | None = None
    weighed = 0
    for start in range(len(told) - 1, -1, -1):
        more = _counted(told[start:], looks, silent)
        if more.price > dearest:
            break
        found, weighed = more, len(told) - start
    return found, len(told) - weighed


def tallies_under(
    counted: Mapping[int, GroupCountData], *, misjudged: float = MISJUDGED, curves: Curves = CURVES
) -> dict[int, GroupCount]:
    """The tally of each litter under some curves, by its number.

    The chance that a pup of dose d is seen at stages s in the counts that it was in, m =
    `misjudged`, is P(looks, s | d) / P(looks | d) by the formula of `onset_likelihood`.
    """
    rows = list(dict.fromkeys(seen for one in counted.values() for seen in one.seen()))
    table = look_table(rows)
    logs = np.column_stack([table.log_chances(dose, curves, misjudged) for dose in range(3)])
    chances = dict(zip(rows, logs, strict=True))
    return {number: one.tally(chances.__getitem__) for number, one in counted.items()}


def _counted(
    counts: Sequence[SeenTogether],
    looks: Mapping[int, Sequence[Observation]],
    silent: Collection[int],
) -> GroupCountData:
    nameless = max(count.nameless for count in counts)
    places = [
        _place(NAMELESS, [place < count.nameless for count in counts], counts, (), False)
        for place in range(nameless)
    ]
    for pup in dict.fromkeys(pup for count in counts for pup in count.pups):
        among = [pup in count.pups for count in counts]
        places.append(_place(pup, among, counts, tuple(looks.get(pup, ())), pup in silent))
    return GroupCountData(
        tuple(places), tuple(number for count in counts for number in count.counted)
    )


def _place(
    pup: int, among: Sequence[bool], counts: Sequence[SeenTogether], looks: Looks, silent: bool
) -> Place:
    """A pup's ways: a stage, or not looked at, in each of the counts that it was among."""
    options = [
        _options(count) if is_among else [None]
        for count, is_among in zip(counts, among, strict=True)
    ]
    stages = list(product(*options))
    ways = tuple(
        tuple(
            count.looks[stage]
            for count, stage in zip(counts, way, strict=True)
            if stage is not None
        )
        for way in stages
    )
    steps = [[int(stage == number) for stage in way for number in range(4)] for way in stages]
    return Place(pup, looks, ways, np.array(steps), silent)


def _options(count: SeenTogether) -> list[int | None]:
    stages: list[int | None] = [stage for stage, number in enumerate(count.counted) if number]
    return [*stages, None] if count.left_out else stages
