"""A mating looked up before it is made: what the litter will hold, and how inbred it will be.

The dam's dose is reckoned together with that of every boar at once, so a look at one boar and a
ranking of them all cost the same: one reckoning of the book.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from django.db.models import Avg, Count
from numpy.typing import NDArray

from genetics.core.dose import Impossible, joint_doses
from genetics.core.forecast import at_least, litter_forecast
from genetics.core.kinship import KnownGenerations, kinship, kinship_between, known_generations
from genetics.core.paths import Related, recent, related
from genetics.core.pedigree import PedigreeFault
from genetics.figures import ERRORS, GENERATIONS
from genetics.models import Figure
from genetics.reading import Reading, read_book
from herdbook.book.models import Animal, Litter
from herdbook.book.models.animal import Sex
from herdbook.book.models.litter import Source

# Pups of a sow of whom no litter is in the book: litters hold 3 on average (1 to 6; vetpedia.it,
# reproduction of the guinea pig), 2.7 in one study of long-haired cavies, 3 to 4 in another review.
USUAL_LITTER = 3

Chances = tuple[float, float, float]
Table = NDArray[np.float64]


@dataclass(frozen=True)
class LitterSize:
    """How many pups to reckon with, and how many litters of the sow's own that rests on."""

    pups: int
    litters: int


@dataclass(frozen=True)
class Known:
    """How far back a pedigree is known: every ancestor, the furthest one, the share of five."""

    full_generations: int
    deepest_generation: int
    completeness: float


@dataclass(frozen=True)
class Way:
    """One path between the parents, by the animals' keys.

    ``sire_side`` and ``dam_side`` lead from the parent up to the common ancestor, both included. A
    negative number is a parent that nobody knows, shared by littermates: odd a sire, even a dam.
    ``chance`` is below 1 where one of several boars is on it, ``adds`` is what it adds to the
    litter's inbreeding.
    """

    sire_side: tuple[int, ...]
    dam_side: tuple[int, ...]
    chance: float
    adds: float


@dataclass(frozen=True)
class Mating:
    """What is to be expected of a sow and a boar.

    ``joint`` (3, 3) is the chance of the boar's dose (rows) with the sow's, None where it could
    not be made: then ``why_none`` is 'tangled' or 'impossible', as a figure's method.
    """

    sow: Animal
    boar: Animal
    size: LitterSize
    joint: Table | None
    why_none: str
    inbreeding: float

    @property
    def chances(self) -> Chances | None:
        """For each pup, the chance of no, one and two doses."""
        if self.joint is None:
            return None
        none, one, two = litter_forecast(self.joint).tolist()
        return none, one, two

    @property
    def one_dose_pups(self) -> float | None:
        """How many pups of one dose to expect of a litter of the likely size."""
        return None if self.chances is None else self.chances[1] * self.size.pups

    def at_least(self, pups: int, dose: int = 1) -> tuple[float, ...]:
        """Chance of at least 0, 1, 2 ... pups of this dose in a litter of so many."""
        if self.joint is None:
            return ()
        return tuple(at_least(self.joint, pups)[dose].tolist())


@dataclass(frozen=True)
class LookUp:
    """A mating with how its parents are related.

    ``recent_inbreeding`` counts the last five generations alone, the parents being the first.
    ``rest`` is what paths beyond those listed add to the inbreeding.
    """

    mating: Mating
    recent_inbreeding: float
    ways: tuple[Way, ...]
    rest: float
    sire_known: Known
    dam_known: Known


def look_up(sow: Animal, boar: Animal) -> LookUp | None:
    """All that can be said of a mating; None where the pedigree in the book contradicts itself."""
    reading = _reading()
    if reading is None:
        return None
    (mating,) = _matings(reading, sow, [boar])
    sire, dam = reading.place[boar.pk], reading.place[sow.pk]
    found = related(reading.recorded, sire, dam)
    short = recent(reading.recorded, (sire, dam), GENERATIONS)
    known = known_generations(reading.recorded, GENERATIONS)
    return LookUp(
        mating,
        recent_inbreeding=float(kinship(short, [sire, dam])[0, 1]),
        ways=_ways(reading, found),
        rest=found.rest,
        sire_known=_known(known, sire),
        dam_known=_known(known, dam),
    )


def rank(animal: Animal, mates: Sequence[Animal]) -> tuple[Mating, ...] | None:
    """A sow with each of these boars, or a boar with each of these sows, the best first.

    The best has the most pups of one dose to expect, then the least inbreeding; those without a
    figure come last. None where the pedigree in the book contradicts itself.
    """
    reading = _reading()
    if reading is None:
        return None
    return tuple(sorted(_matings(reading, animal, mates), key=_from_the_best))


def litter_sizes(sows: Sequence[Animal]) -> dict[int, LitterSize]:
    """The mean of each sow's own litters born at home, rounded; else what is usual."""
    own = (
        Litter.objects.filter(dam__in=[sow.pk for sow in sows], source=Source.HOME)
        .exclude(born_alive=None)
        .order_by()
        .values("dam")
        .annotate(mean=Avg("born_alive"), litters=Count("pk"))
    )
    known = {row["dam"]: LitterSize(max(1, round(row["mean"])), row["litters"]) for row in own}
    usual = LitterSize(USUAL_LITTER, 0)
    return {sow.pk: known.get(sow.pk, usual) for sow in sows}


def _reading() -> Reading | None:
    try:
        return read_book()
    except PedigreeFault:
        return None


def _matings(reading: Reading, animal: Animal, mates: Sequence[Animal]) -> list[Mating]:
    rows = [reading.place[mate.pk] for mate in mates]
    here = reading.place[animal.pk]
    joint, lost = _joint(reading, here)
    inbreedings = kinship_between(reading.recorded, rows, [here])[:, 0]
    is_sow = animal.sex == Sex.SOW
    sizes = litter_sizes([animal] if is_sow else mates)
    made = []
    for mate, row, inbreeding in zip(mates, rows, inbreedings.tolist(), strict=True):
        sow, boar = (animal, mate) if is_sow else (mate, animal)
        both = joint[row].T if is_sow else joint[row]
        why_none = _why_none(both, impossible=bool({here, row} & lost))
        made.append(
            Mating(sow, boar, sizes[sow.pk], None if why_none else both, why_none, inbreeding)
        )
    return made


def _why_none(joint: Table, *, impossible: bool) -> str:
    if impossible:
        return str(Figure.Method.IMPOSSIBLE)
    return str(Figure.Method.TANGLED) if np.isnan(joint).any() else ""


def _joint(reading: Reading, row: int) -> tuple[Table, set[int]]:
    """One animal's dose with each other's (n, 3, 3), and the rows whose records cannot be true.

    Those families have no figures, and say nothing of any other.
    """
    lost = _lost_families(reading)
    likelihood = reading.likelihood.copy()
    likelihood[list(lost)] = 1.0
    try:
        joint = joint_doses(
            reading.assumed,
            likelihood,
            row,
            frequency=reading.parameters.frequency,
            errors=ERRORS,
            founder_prior=reading.founder_prior,
        )
    except Impossible as error:
        # The figures are older than the book: whatever they say, this cannot be reckoned.
        joint = np.full((len(reading), 3, 3), np.nan)
        lost = lost | {*error.animals, row}
    return joint, lost


def _lost_families(reading: Reading) -> set[int]:
    keys = Figure.objects.filter(method=Figure.Method.IMPOSSIBLE).values_list("pk", flat=True)
    named = {reading.place[key] for key in keys if key in reading.place}
    families = [set(family) for family in reading.assumed.families()] if named else []
    return set().union(*(family for family in families if family & named))


def _ways(reading: Reading, found: Related) -> tuple[Way, ...]:
    def keys(rows: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(
            reading.keys[row] if row < len(reading) else len(reading) - row - 1 for row in rows
        )

    return tuple(
        Way(keys(path.sire_side), keys(path.dam_side), path.chance, path.adds)
        for path in found.paths
    )


def _known(known: KnownGenerations, row: int) -> Known:
    weights = 2.0 ** np.arange(1, GENERATIONS + 1)
    return Known(
        int(known.complete[row]),
        int(known.deepest[row]),
        float(known.shares[row] @ weights / weights.sum()),
    )


def _from_the_best(mating: Mating) -> tuple[bool, float, float, int]:
    expected = mating.one_dose_pups
    return (
        expected is None,
        -round(expected or 0.0, 6),
        mating.inbreeding,
        mating.sow.pk + mating.boar.pk,
    )
