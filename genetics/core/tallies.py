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

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product

import numpy as np

from genetics.core.curves import CURVES, Curves
from genetics.core.evidence import MISJUDGED, log_stage_chances
from genetics.core.factors import Table
from genetics.core.littermates import Member, Tally
from genetics.core.seen import STAGES, SeenLook

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
    looks: tuple[SeenLook, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        if min(self.nameless, *self.counted) < 0 or len(set(self.pups)) < len(self.pups):
            raise ValueError("pups are counted once each, by numbers of 0 or more")
        if self.left_out < 0:
            raise ValueError("more pups were counted than were there")
        looks = tuple(SeenLook(stage, self.age_days, self.warmth) for stage in STAGES)
        object.__setattr__(self, "looks", looks)

    @property
    def there(self) -> int:
        """How many pups it may be about."""
        return len(self.pups) + self.nameless

    @property
    def left_out(self) -> int:
        """How many of them were not looked at."""
        return self.there - sum(self.counted)


@dataclass(frozen=True)
class _Model:
    """What the chance of a look rests on."""

    misjudged: float
    curves: Curves

    def log_chances(self, looks: Sequence[SeenLook]) -> Table:
        logs: Table = log_stage_chances(looks, misjudged=self.misjudged, curves=self.curves)
        return logs


def tally_of(
    counts: Sequence[SeenTogether],
    looks: Mapping[int, Sequence[SeenLook]],
    *,
    silent: Collection[int] = (),
    misjudged: float = MISJUDGED,
    curves: Curves = CURVES,
    dearest: float = DEAREST,
) -> tuple[Tally | None, int]:
    """All counts of a litter, oldest first, as one tally; and how many were too dear to weigh.

    `looks`: what was seen by name of each pup, which is weighed elsewhere. `silent`: pups whose
    coat hides points, who say nothing of their dose. The chance that a pup of dose d is seen at
    stages s in the counts that it was in, m = `misjudged`, is P(looks, s | d) / P(looks | d) by
    `log_stage_chances`. Counts that would make the tally dearer than `dearest` are left out, the
    oldest first, since older pups tell more.
    """
    model = _Model(misjudged, curves)
    weighed: list[SeenTogether] = []
    tally: Tally | None = None
    for count in reversed(counts):
        if not sum(count.counted):
            continue
        more = _tally([count, *weighed], looks, silent, model)
        if more.price > dearest:
            break
        weighed, tally = [count, *weighed], more
    told = [count for count in counts if sum(count.counted)]
    return tally, len(told) - len(weighed)


def _tally(
    counts: Sequence[SeenTogether],
    looks: Mapping[int, Sequence[SeenLook]],
    silent: Collection[int],
    model: _Model,
) -> Tally:
    nameless = max(count.nameless for count in counts)
    members = [
        _member(NAMELESS, [place < count.nameless for count in counts], counts, (), model)
        for place in range(nameless)
    ]
    for pup in dict.fromkeys(pup for count in counts for pup in count.pups):
        among = [pup in count.pups for count in counts]
        member = _member(pup, among, counts, tuple(looks.get(pup, ())), model)
        members.append(_saying_nothing(member) if pup in silent else member)
    return Tally(tuple(members), tuple(number for count in counts for number in count.counted))


def _member(
    pup: int,
    among: Sequence[bool],
    counts: Sequence[SeenTogether],
    looks: tuple[SeenLook, ...],
    model: _Model,
) -> Member:
    """A pup's ways: a stage, or not looked at, in each of the counts that it was among."""
    options = [
        _options(count) if is_among else [None]
        for count, is_among in zip(counts, among, strict=True)
    ]
    ways = list(product(*options))
    weights = [
        _chances_given(
            looks,
            tuple(
                count.looks[stage]
                for count, stage in zip(counts, way, strict=True)
                if stage is not None
            ),
            model,
        )
        for way in ways
    ]
    steps = [[int(stage == number) for stage in way for number in range(4)] for way in ways]
    return Member(pup, np.array(weights).T, np.array(steps))


def _options(count: SeenTogether) -> list[int | None]:
    stages: list[int | None] = [stage for stage, number in enumerate(count.counted) if number]
    return [*stages, None] if count.left_out else stages


@lru_cache(maxsize=4096)
def _chances_given(looks: tuple[SeenLook, ...], more: tuple[SeenLook, ...], model: _Model) -> Table:
    """Chance (3,) at each dose of more looks at an animal, given those that were made of it."""
    if not more:
        return np.ones(3)
    before = model.log_chances(looks)
    possible = before > -np.inf  # a dose that the looks rule out needs no chance
    given, alone = model.log_chances((*looks, *more)), model.log_chances(more)
    chances: Table = np.exp(np.where(possible, given, alone) - np.where(possible, before, 0.0))
    chances.flags.writeable = False
    return chances


def _saying_nothing(member: Member) -> Member:
    mean = np.tile(member.weights.mean(axis=0), (3, 1))
    return Member(member.pup, mean, member.steps)
