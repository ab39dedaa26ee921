"""The chance of what many animals showed at their ages, for all of them at once.

With z an animal's pace, standard normal, v how its milestones are apart from its pace, by
`Curves.apart`, u the shift of a spell of one warmth, and m the rate of misread looks,

    L(d) = mean over v and z of prod over spells mean over u of prod over looks r,

where r = (1 - m) s + m (1 - s) / 3, with s the chance that an animal of dose d, at its age and
these, shows the stage that was written. Looks of one warmth within `TemperatureModel.spell_days` of
the first of them are one spell: warmth, and how much it does to this animal, is drawn once for all
of them, and then s is 1 or 0, but that now and then a look has turned to another shift. Spells are
independent given the pace. For one look in a spell s is its share of such weather.

The mean over z is exact: between two slowest paces that matter, nothing changes. From one to the
next a single look changes, so that the logarithm of the product is a running sum of changes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp, ndtr

from genetics.core.penetrance.observation import STAGES, WARMTHS, Observation
from genetics.core.penetrance.onset_parameters import Apart, Curves

Table = NDArray[np.float64]
Numbers = NDArray[np.int64]

AT_ONCE = 5_000  # looks in one array
NEVER = -1e5  # stands for the logarithm of no chance, so that it can be taken away again
COMING = STAGES.index("coming")
ANY = 1.0  # no pull moves the later milestones
MOST = 30  # looks of one spell, about one a day; more begin another


@dataclass(frozen=True)
class TemperatureModel:
    """What warmth does to what is shown, and how far ahead points come in it.

    `weeks`: share of spells of each warmth, where nobody noted it. `ahead`: points begin to come
    as at an age so many times an animal's own. `shown` (w, 4, 4): for each warmth of `WARMTHS`,
    the chance of each stage shown (columns) at each stage reached (rows). `spell_days`: how long
    a spell lasts; `turns`: by what is noted of its warmth, how often one of its looks sees another
    shift than the rest.
    """

    weeks: Mapping[str, float]
    ahead: Mapping[str, float]
    shown: Table
    spell_days: float
    turns: Mapping[str, float]

    def spells(self, looks: Iterable[Observation]) -> list[list[Observation]]:
        """The looks, spell by spell, each from the first on."""
        spells: dict[str, list[list[Observation]]] = defaultdict(list)
        for look in sorted(looks, key=lambda one: (one.age_days, one.stage)):
            own = spells[look.warmth]
            if not own or not self._sees_one_hair(own[-1], look):
                own.append([])
            own[-1].append(look)
        return [spell for _, own in sorted(spells.items()) for spell in own]

    def _sees_one_hair(self, spell: list[Observation], look: Observation) -> bool:
        near = look.age_days - spell[0].age_days <= self.spell_days
        return near and len(spell) < MOST and look.warmth in self._telling

    @cached_property
    def _telling(self) -> set[str]:
        """Words of warmth after which what is shown need not be what is reached. After any other
        each look may as well be a spell of its own."""
        return {"", *(warmth for warmth in WARMTHS if len(self._ways(warmth)) > 1)}

    def shifts(self, warmth: str, looks: int) -> _Shifts:
        """The shifts of a spell, one for each pull where there is but one look. Of several each may
        have turned to any shift of the same pull."""
        found = [
            _Shift(share * width, self.ahead[one], shown)
            for one, share in ({warmth: 1.0} if warmth else self.weeks).items()
            for width, shown in self._ways(one)
        ]
        means = {
            pull: _mean([shift for shift in found if shift.ahead == pull])
            for pull in sorted({shift.ahead for shift in found})
        }
        if looks == 1:
            found = [*means.values()]
        turns = self.turns[warmth]
        found = [
            one._replace(shown=(1 - turns) * one.shown + turns * means[one.ahead].shown)
            for one in found
        ]
        return _Shifts(
            np.array([shift.share for shift in found]),
            np.array([shift.ahead for shift in found]),
            np.array([shift.shown for shift in found]),
        )

    def _ways(self, warmth: str) -> list[tuple[float, Table]]:
        """How much a warmth may do to an animal, from what pales most to what darkens most: the
        share of such and the stage shown (4, 4) at each stage reached, none in doubt. One that
        pales more than another at one stage does so at each."""
        below = self.shown[WARMTHS.index(warmth)].cumsum(axis=1).round(12)
        edges = np.unique([0.0, *below[below > 0]])
        widths, middles = np.diff(edges), (edges[1:] + edges[:-1]) / 2
        return [
            (float(width), np.eye(len(STAGES))[(below < middle).sum(axis=1)])
            for width, middle in zip(widths, middles, strict=True)
        ]


class _Shift(NamedTuple):
    """What weather may do: its share, how far ahead points come, and the chance (4, 4) of each
    stage shown at each stage reached."""

    share: float
    ahead: float
    shown: Table


def _mean(shifts: Sequence[_Shift]) -> _Shift:
    shares = np.array([shift.share for shift in shifts])
    shown = np.tensordot(shares, [shift.shown for shift in shifts], 1) / shares.sum()
    return _Shift(float(shares.sum()), shifts[0].ahead, shown)


class _Shifts(NamedTuple):
    """All that may be done to a spell: (k,), (k,) and (k, 4, 4) as of a `_Shift`."""

    shares: Table
    ahead: Table
    shown: Table

    @property
    def pulls(self) -> list[float]:
        return sorted(set(self.ahead.tolist()))


@dataclass(frozen=True)
class _Spells:
    """Spells of one warmth and as many looks, of some of the animals of an `_Alike`: the `rows`
    (g,) of these, the number `first` (g,) of the first look among all of its animal, and `ages`
    and stages `written` (g, r), the youngest first."""

    rows: Numbers
    first: Numbers
    ages: Table
    written: Numbers
    shifts: _Shifts
    known: dict[float, Table] = field(default_factory=dict)

    def chances(self, misjudged: float) -> Table:
        """Chance (g, p, q) of what was written and of each pull, at each course of stages that
        `_course` numbers."""
        if misjudged not in self.known:
            self.known[misjudged] = self._chances(misjudged)
        return self.known[misjudged]

    def _chances(self, misjudged: float) -> Table:
        shifts, (spells, looks) = self.shifts, self.written.shape
        courses = _courses(looks)
        whole = np.tile(shifts.shares, (spells, len(courses), 1))
        for look in range(looks):
            shown = shifts.shown[:, :, self.written[:, look]].transpose(2, 1, 0)
            read = (1 - misjudged) * shown + misjudged / 3 * (1 - shown)
            whole *= read[:, courses[:, look]]
        pulls = [whole[:, :, shifts.ahead == pull].sum(axis=2) for pull in shifts.pulls]
        return np.stack(pulls, axis=1)


def _courses(looks: int) -> Numbers:
    """The stages (q, r) that an animal may have reached at each of so many looks, one after
    another: it never goes back."""
    from_the_end = np.arange(looks, 0, -1)
    return np.array(
        [
            (from_the_end <= shown).astype(np.int64)
            + (from_the_end <= full)
            + (from_the_end <= over)
            for shown in range(looks + 1)
            for full in range(shown + 1)
            for over in range(full + 1)
        ]
    ).reshape(-1, looks)


def _course(shown: Numbers, full: Numbers, over: Numbers) -> Numbers:
    """The number of a course by how many of its looks, the last ones, had reached each stage."""
    return shown * (shown + 1) * (shown + 2) // 6 + full * (full + 1) // 2 + over


@dataclass(frozen=True)
class _Alike:
    """Animals that were looked at equally often."""

    animals: Numbers
    looks: int
    spells: tuple[_Spells, ...]


class LookTable:
    """The looks at each of many animals, ready to be weighed under any curves."""

    def __init__(self, looks: Sequence[Sequence[Observation]], weather: TemperatureModel) -> None:
        self.animals = len(looks)
        counts = np.array([len(row) for row in looks], dtype=np.int64)
        self._alike = [
            _alike(some, looks, weather)
            for count in np.unique(counts[counts > 0])
            for some in _parts(np.flatnonzero(counts == count), max(1, AT_ONCE // int(count)))
        ]

    def log_chances(self, dose: int, curves: Curves, misjudged: float) -> Table:
        """Logarithm (n,) of the chance of each animal's looks at one dose; 0 without a look."""
        logs = np.zeros(self.animals)
        apart = curves.apart(dose)
        for alike in self._alike:
            logs[alike.animals] = _log_chances(alike, apart, misjudged)
        return logs


def _parts(numbers: Numbers, most: int) -> Iterable[Numbers]:
    return (numbers[start : start + most] for start in range(0, len(numbers), most))


def _alike(
    animals: Numbers, looks: Sequence[Sequence[Observation]], weather: TemperatureModel
) -> _Alike:
    found: dict[tuple[str, int], list[tuple[int, int, list[Observation]]]] = defaultdict(list)
    for row, animal in enumerate(animals):
        first = 0
        for spell in weather.spells(looks[animal]):
            found[spell[0].warmth, len(spell)].append((row, first, spell))
            first += len(spell)
    spells = [
        _Spells(
            np.array([row for row, _, _ in rows]),
            np.array([first for _, first, _ in rows]),
            np.array([[look.age_days for look in spell] for _, _, spell in rows], dtype=float),
            np.array([[STAGES.index(look.stage) for look in spell] for _, _, spell in rows]),
            weather.shifts(warmth, many),
        )
        for (warmth, many), rows in sorted(found.items())
    ]
    return _Alike(animals, len(looks[animals[0]]), tuple(spells))


def _log_chances(alike: _Alike, apart: Apart, misjudged: float) -> Table:
    """Logarithm (a,) of the chance of all looks at each animal."""
    animals, ways, each = len(alike.animals), len(apart.medians), len(apart.stages)
    slots = each + max(len(spells.shifts.pulls) for spells in alike.spells) - 1
    paces = np.full((animals, ways, alike.looks * slots), np.inf)
    steps = np.zeros(paces.shape)
    start = np.zeros(animals)
    for spells in alike.spells:
        fastest, at, change = _of_spells(spells, apart, misjudged)
        np.add.at(start, spells.rows, fastest)
        columns = spells.first[:, None] * slots + np.arange(at.shape[2])
        place = spells.rows[:, None, None], np.arange(ways)[:, None], columns[:, None]
        paces[place], steps[place] = at, change
    order = paces.argsort(axis=2)
    paces, steps = (np.take_along_axis(one, order, axis=2) for one in (paces, steps))
    widths = np.diff(ndtr(paces), axis=2, prepend=0.0, append=1.0)
    with np.errstate(divide="ignore"):
        logs = np.insert(steps, 0, 0.0, axis=2).cumsum(axis=2) + np.log(widths)
    whole: Table = start + logsumexp(logs, axis=(1, 2)) - np.log(ways)
    whole[whole < NEVER / 2] = -np.inf
    return whole


def _of_spells(spells: _Spells, apart: Apart, misjudged: float) -> tuple[Table, Table, Table]:
    """Logarithm (g,) of the chance of each spell at the fastest pace, the paces (g, v, b) at which
    it changes, ascending, and by how much it does there."""
    chances, (count, looks) = spells.chances(misjudged), spells.ages.shape
    kinds = [
        (place, stage, pull)
        for place, stage in enumerate(apart.stages)
        for pull in (spells.shifts.pulls if stage == COMING else [ANY])
    ]
    at = np.empty((count, len(apart.medians), len(kinds) * looks))
    for number, (place, _, pull) in enumerate(kinds):
        columns = slice(number * looks, (number + 1) * looks)
        at[:, :, columns] = _slowest_paces(spells.ages, place, pull, apart)
    order = at.argsort(axis=2)
    left = np.full((len(kinds), *at.shape[:2], at.shape[2] + 1), looks)
    for number in range(len(kinds)):
        left[number, ..., 1:] -= (order // looks == number).cumsum(axis=2)
    summed = np.zeros(left.shape[1:])
    for number, pull in enumerate(spells.shifts.pulls):
        steps = np.zeros((len(STAGES), *left.shape[1:]), dtype=np.int64)
        for reached, (_, stage, own) in zip(left, kinds, strict=True):
            if own in (pull, ANY):
                steps[1 : stage + 1] = np.maximum(steps[1 : stage + 1], reached)
        summed += chances[np.arange(count)[:, None, None], number, _course(*steps[1:])]
    with np.errstate(divide="ignore"):
        logs = np.maximum(np.log(summed), NEVER)
    return logs[:, 0, 0], np.take_along_axis(at, order, axis=2), np.diff(logs, axis=2)


def _slowest_paces(ages: Table, place: int, pull: float, apart: Apart) -> Table:
    """The slowest pace (g, v, r) that has reached a milestone by each age; at birth none is
    reached by anyone. Milestones fall at median exp(spread z)."""
    medians = apart.medians[:, place, None]
    with np.errstate(divide="ignore"):
        paces: Table = (np.log(pull * ages)[:, None] - np.log(medians)) / apart.spreads[place]
    return paces
