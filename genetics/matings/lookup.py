"""A mating looked up before it is made: what the litter will hold, and how inbred it will be.

One pair is worked out through the joint chance of both parents' doses. Many pairs at once share one
calculation of the book, one table of kinship, and a few animals held at each of their doses.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.litter_distribution import at_least, litter_forecast
from genetics.core.posterior.dose import joint_doses
from genetics.core.posterior.pair_forecast import TOLERANCE, forecast_pairs
from genetics.core.relatedness.kinship import (
    kinship,
    kinship_between,
    known_generations,
    mean_kinship,
)
from genetics.core.relatedness.path_coefficients import Related, recent, related
from genetics.figures.refresh import AT_ONCE, GENERATIONS
from genetics.matings.litter_size import LitterSize, litter_sizes
from genetics.matings.parents import Parents, doubted, read_parents
from genetics.snapshot.kept import Kept
from genetics.snapshot.sire_weights import SAME, Weighed
from herdbook.book.models import Animal
from herdbook.book.models.animal import State
from herdbook.book.rules.mating_cautions import Doubted

# With fewer generations known in full a pedigree is short. First cousins share grandparents, and
# their young are as inbred as a breeder is still at ease with.
SHORT_UNDER = 2

Chances = tuple[float, float, float]
Table = NDArray[np.float64]


@dataclass(frozen=True)
class Known:
    """How far back a pedigree is known: every ancestor, the furthest one, the share of five."""

    full_generations: int
    deepest_generation: int
    completeness: float

    @property
    def is_short(self) -> bool:
        """Whether a grandparent is unknown, so that kin as near as first cousins go unseen."""
        return self.full_generations < SHORT_UNDER


@dataclass(frozen=True)
class Way:
    """One path between the parents, by the animals' keys.

    ``sire_side`` and ``dam_side`` lead from the parent up to the common ancestor, both included. A
    negative number is a parent that nobody knows, shared by littermates: odd a sire, even a dam.
    ``chance`` is below 1 where one who is not certain to be the sire is on it, ``adds`` is what it
    adds to the litter's inbreeding.
    """

    sire_side: tuple[int, ...]
    dam_side: tuple[int, ...]
    chance: float
    adds: float


@dataclass(frozen=True)
class Mating:
    """What is to be expected of a sow and a boar.

    ``chances``: for each pup, of no, one and two doses; None where it could not be worked out: then
    ``why_none`` is 'tangled' or 'impossible', as a figure's method. ``may_be_off``: what the chance
    of one dose may be off by, 0 where exact. ``joint`` (3, 3): the chance of the boar's dose (rows)
    with the sow's, for one pair looked up alone. ``kinship``: the litter's mean kinship to the
    animals living in the herd, those of its parents among them. Both it and ``inbreeding`` take
    each possible sire of any litter by his share in the figures.
    """

    sow: Animal
    boar: Animal
    size: LitterSize
    chances: Chances | None
    why_none: str
    inbreeding: float
    kinship: float
    sire_known: Known
    dam_known: Known
    may_be_off: float = 0.0
    joint: Table | None = field(default=None, compare=False)

    @property
    def least_known(self) -> Known:
        """How far back the pedigree of the parent with less of it is known."""
        return min(self.sire_known, self.dam_known, key=lambda one: one.completeness)

    @property
    def one_dose_pups(self) -> float | None:
        """How many pups of one dose to expect, born alive."""
        return None if self.chances is None else self.chances[1] * self.size.expected

    def at_least(self, pups: int, dose: int = 1) -> tuple[float, ...]:
        """Chance of at least 0, 1, 2 ... pups of this dose in a litter of so many."""
        if self.joint is None or self.chances is None:
            return ()
        return tuple(at_least(self.joint, pups)[dose].tolist())


@dataclass(frozen=True)
class Matings:
    """Each of some sows with each of some boars, a row a sow; what is doubtful of any, by key."""

    rows: tuple[tuple[Mating, ...], ...]
    doubted: dict[int, Doubted]


@dataclass(frozen=True)
class LookUp:
    """A mating with how its parents are related.

    ``inbreeding_as_written`` takes each possible sire of any litter by his weight in the book,
    where the mating takes him by how likely all records make him; None where that is the same.
    ``by_records`` is False where no possible sire has a share to be taken by.
    ``recent_inbreeding`` counts the last five generations alone, the parents being the first.
    ``rest`` is what paths beyond those listed add to the inbreeding. ``doubted`` says what other
    records say against the papers of either, by key.
    """

    mating: Mating
    inbreeding_as_written: float | None
    recent_inbreeding: float
    ways: tuple[Way, ...]
    rest: float
    by_records: bool
    doubted: dict[int, Doubted] = field(default_factory=dict)


_LOOKED_UP: Kept[LookUp | None] = Kept(200)
# A herd of many boars and sows has tens of thousands of pairs.
_PAIRED: Kept[Matings | None] = Kept(4)


def look_up(sow: Animal, boar: Animal) -> LookUp | None:
    """All that can be said of a mating; None where the pedigree in the book contradicts itself.

    Kept while the book stands.
    """
    return _LOOKED_UP.get((sow.pk, boar.pk), lambda: _look_up(sow, boar))


def _look_up(sow: Animal, boar: Animal) -> LookUp | None:
    parents = read_parents()
    if parents is None:
        return None
    weighed = parents.weighed
    sire, dam = parents.row(boar), parents.row(sow)
    found = related(weighed.pedigree, sire, dam)
    short = recent(weighed.pedigree, (sire, dam), GENERATIONS)
    return LookUp(
        _alone(parents, sow, boar),
        inbreeding_as_written=_as_written(parents, sire, dam, found.inbreeding),
        recent_inbreeding=float(kinship(short, [sire, dam])[0, 1]),
        ways=_ways(parents, found),
        rest=found.rest,
        by_records=weighed.by_records,
        doubted=doubted(parents, (sow, boar)),
    )


def _as_written(parents: Parents, sire: int, dam: int, by_records: float) -> float | None:
    """Kinship of two with each possible sire by his weight in the book; None where it is the same
    as by his share."""
    written = parents.reading.recorded
    if not parents.weighed.by_records:
        return None
    as_written = float(kinship(written, [sire, dam])[0, 1])
    return None if abs(by_records - as_written) < SAME else as_written


def pair_all(sows: Sequence[Animal], boars: Sequence[Animal]) -> Matings | None:
    """Each sow with each boar; None where the pedigree in the book contradicts itself.

    Their herd is that of the first sow, whose living animals are what kinship is a mean over. Kept
    while the book stands.
    """
    key = tuple(tuple(one.pk for one in animals) for animals in (sows, boars))
    return _PAIRED.get(key, lambda: _pair_all(sows, boars))


def _pair_all(sows: Sequence[Animal], boars: Sequence[Animal]) -> Matings | None:
    parents = read_parents()
    if parents is None:
        return None
    if not sows or not boars:
        return Matings(tuple(() for _ in sows), {})
    dams, sires = ([parents.row(one) for one in animals] for animals in (sows, boars))
    found = forecast_pairs(
        first=dams,
        second=sires,
        most_held=None if parents.dose else 0,
        **parents.arguments,
    )
    off = found.bound + parents.error[dams][:, None] + parents.error[sires][None, :]
    between, to_herd = _kinship(parents, sows, boars)
    sizes = litter_sizes(sows)
    known = _known(parents, [*sires, *dams])
    his, hers = known[: len(sires)], known[len(sires) :]
    rows = tuple(
        tuple(
            _mating(
                (sow, boar, sizes[sow.pk]),
                parents.why_none(dams[one], sires[other]),
                found.forecast[one, other],
                float(off[one, other]),
                (float(between[one, other]), float(to_herd[one, other])),
                (his[other], hers[one]),
            )
            for other, boar in enumerate(boars)
        )
        for one, sow in enumerate(sows)
    )
    return Matings(rows, doubted(parents, (*sows, *boars)))


def _alone(parents: Parents, sow: Animal, boar: Animal) -> Mating:
    """One pair through the joint chance of both doses."""
    dam, sire = parents.row(sow), parents.row(boar)
    why_none = parents.why_none(dam, sire)
    joint, off = (None, 0.0) if why_none else _joint(parents, sire, dam)
    between, to_herd = _kinship(parents, [sow], [boar])
    forecast = np.full(3, np.nan) if joint is None else litter_forecast(joint)
    mating = _mating(
        (sow, boar, litter_sizes([sow])[sow.pk]),
        why_none,
        forecast,
        off,
        (float(between[0, 0]), float(to_herd[0, 0])),
        _known(parents, [sire, dam]),
    )
    return replace(mating, joint=joint)


def _joint(parents: Parents, sire: int, dam: int) -> tuple[Table, float]:
    """The boar's dose with the sow's, and what the chance of one dose may be off by.

    By their chances apart where the book is not worked out again and that is as good, or where a
    family is too tangled or too large to hold.
    """
    error = float(parents.error[[dam, sire]].sum())
    apart = np.outer(parents.chances[sire], parents.chances[dam])
    pair = forecast_pairs(first=[dam], second=[sire], most_held=0, **parents.arguments)
    bound = float(pair.bound[0, 0])
    held = parents.dose is not None or (
        bound > TOLERANCE and not error and len(parents.reading) <= AT_ONCE
    )
    if held:
        joint = np.asarray(joint_doses(animal=sire, once=True, **parents.arguments)[dam])
        if not np.isnan(joint).any():
            return joint, error
    return apart, bound + error


def _mating(
    pair: tuple[Animal, Animal, LitterSize],
    why_none: str,
    forecast: Table,
    off: float,
    kin: tuple[float, float],
    known: Sequence[Known],
) -> Mating:
    """``kin``: of the parents to each other, and of their litter to the herd; ``known``: of the
    sire, and of the dam."""
    none, one, two = forecast.tolist()
    chances = None if why_none else (none, one, two)
    of_sire, of_dam = known
    return Mating(
        *pair, chances, why_none, *kin, of_sire, of_dam, may_be_off=0.0 if why_none else off
    )


def _kinship(
    parents: Parents, sows: Sequence[Animal], boars: Sequence[Animal]
) -> tuple[Table, Table]:
    """The kinship of each pair, and the mean kinship of its litter to the living herd.

    A litter's kinship to anyone is the mean of its parents'. Mean kinship counts each animal with
    itself too (Ballou and Lacy 1995, from memory).
    """
    living = Animal.objects.filter(herd=sows[0].herd_id, state=State.IN_HERD)
    here = [parents.reading.place[key] for key in living.values_list("pk", flat=True)]
    dams, sires = ([parents.row(one) for one in animals] for animals in (sows, boars))
    pedigree = parents.weighed.pedigree
    between = kinship_between(pedigree, dams, sires)
    if not here:
        return between, np.zeros_like(between)
    mean = mean_kinship(pedigree, [*dams, *sires], here)
    return between, (mean[: len(dams)][:, None] + mean[len(dams) :][None, :]) / 2


def _ways(parents: Parents, found: Related) -> tuple[Way, ...]:
    known, weighed = parents.reading.keys, parents.weighed

    def keys(rows: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(known[row] if row < len(known) else _nobody(weighed, row) for row in rows)

    return tuple(
        Way(keys(path.sire_side), keys(path.dam_side), path.chance, path.adds)
        for path in found.paths
    )


def _nobody(weighed: Weighed, row: int) -> int:
    litter, side = weighed.unknown_parent(row)
    return -(1 + 2 * litter + side)


def _known(parents: Parents, rows: Sequence[int]) -> list[Known]:
    found = known_generations(parents.reading.recorded, GENERATIONS)
    weights = 2.0 ** np.arange(1, GENERATIONS + 1)
    return [
        Known(
            int(found.complete[row]),
            int(found.deepest[row]),
            float(found.shares[row] @ weights / weights.sum()),
        )
        for row in rows
    ]
