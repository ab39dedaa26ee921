"""What would settle it: how many more judged pups prove an animal's dose.

Pups of one animal by one mate are judged one after another, and each verdict changes the chances
by Bayes' rule. Verdicts come in any order, so only their counts matter, and the chance of each
count is a multinomial, mixed over what the two parents may be. The walk over the counts, pup by
pup, stops where the animal's chance of the dose in question reaches the level that is called
proof: a sequential test with an exact chance of having ended by each pup. Wald A 1945, Sequential
tests of statistical hypotheses, Ann Math Stat 16:117-186 (cited from memory), with the fixed
number of the published tables of test matings as the case where every pup speaks alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.mendel import transmission
from genetics.core.penetrance.likelihood import MISJUDGED, MIXED_UP

Table = NDArray[np.float64]

MOST = 40  # pups: more than an animal is ever tested with
UNLIKELY = 1e-3  # a way to a proof that is seen less often than this is not held out to anyone
ROUNDING = 1e-12


def judging(misjudged: float = MISJUDGED, mixed_up: float = MIXED_UP) -> Table:
    """Chance (3, 3) of each verdict (columns: self, marked, overmarked) on a grown pup at each
    dose (rows), after mild weeks.

    The slips are those of `observation_likelihood` then: a look is misread with chance `misjudged`,
    evenly as one of the other three stages, of which 'coming' and 'full' both count as marked; and
    with chance `mixed_up` it was another pup, of any dose.
    """
    third = misjudged / 3
    slips = np.array(
        [
            [1 - misjudged, 2 * third, third],
            [third, 1 - 2 * third, third],
            [third, 2 * third, 1 - misjudged],
        ]
    )
    table: Table = (1 - mixed_up) * slips + mixed_up * slips.mean(axis=0)
    return table


@dataclass(frozen=True)
class Trial:
    """Pups to come, under each hypothesis that makes them differ.

    `weights` (h,): chance of each hypothesis, which sum to one; `doses` (h,): the animal's dose
    under it; `verdicts` (h, k): chance of each verdict on a pup, independent from pup to pup.
    """

    weights: Table
    doses: NDArray[np.int64]
    verdicts: Table

    @classmethod
    def with_many_litters(
        cls,
        chances: Table,
        mates: Table,
        judged: Table,
        *,
        errors: float = 0.0,
        pool: Table | None = None,
        as_sire: bool = True,
    ) -> Trial:
        """Pups each of a litter of its own, by a mate of its own.

        `chances` (3,): the animal's dose; `mates` (3, 3): a mate's dose (columns) given the
        animal's, as of its own daughters. `judged` (3, k): chance of each verdict on a pup of each
        dose. `errors`: chance that a pup's written sire is another boar, with doses as in `pool`
        (3,); `as_sire`: whether the animal is the sire or the dam. Raises ValueError where there
        are errors and no pool.
        """
        if errors and pool is None:
            raise ValueError("a wrong sire comes from a pool of boars: none is given")
        pups = np.einsum("dm,dmp->dp", mates, transmission())
        if pool is not None:
            dams = mates if as_sire else np.eye(3)
            pups = (1 - errors) * pups + errors * np.einsum(
                "s,dm,smp->dp", pool, dams, transmission()
            )
        there = np.flatnonzero(chances)
        return cls(chances[there] / chances.sum(), there, (pups @ judged)[there])

    def chances(self) -> Table:
        """Chance (3,) of each dose before any pup is judged."""
        return self.by_dose(self.weights)

    def after(self, counts: Table | tuple[int, ...]) -> Table:
        """Chance (3,) of each dose once so many pups (k,) have had each verdict.

        Raises ValueError where that cannot be.
        """
        weights = self.weights * np.prod(self.verdicts ** np.asarray(counts), axis=1)
        if weights.sum() == 0:
            raise ValueError("no dose of the animal gives such pups")
        return self.by_dose(weights / weights.sum())

    def by_dose(self, weights: Table) -> Table:
        """Sums (3,) of one weight for each hypothesis (h,)."""
        table: Table = weights @ (self.doses[:, None] == np.arange(3))
        return table


@dataclass(frozen=True)
class Proof:
    """When an animal is proved to have a dose, at a level such as 0.99.

    `proved` (3, n + 1): for an animal of each dose the chance that the verdicts on 0, 1 .. n pups
    have brought its chance of `dose` to `level` (a row of another dose is how often that misleads;
    NaN for a dose that it cannot have). `fewest`: the fewest pups that can do it, 0 if it is proved
    already and None if n are too few; `counts`: how many of each verdict they then are, in the
    likeliest of the shortest ways; `found`: the chance that so many pups do it, if it has the dose.
    """

    dose: int
    level: float
    proved: Table
    fewest: int | None
    counts: tuple[int, ...] | None

    @property
    def found(self) -> float:
        return 0.0 if self.fewest is None else float(self.proved[self.dose, self.fewest])

    def pups_for(self, chance: float) -> int | None:
        """How many pups prove an animal of this dose with at least a chance; None for too many."""
        enough = np.flatnonzero(self.proved[self.dose] >= chance - ROUNDING)
        return int(enough[0]) if len(enough) else None


def prove(trial: Trial, dose: int, level: float, most: int = MOST) -> Proof:
    """How soon pups, judged one after another, prove a dose; `most` pups at the most.

    Once the level is reached the animal stays proved: nobody breeds on to ask again. Raises
    ValueError for a level that is not between 0 and 1 or a dose that the animal cannot have.
    """
    if not 0 < level < 1:
        raise ValueError(f"a level of proof lies between 0 and 1, and is not {level}")
    before = trial.chances()
    if before[dose] == 0:
        raise ValueError(f"an animal that cannot have dose {dose} is never proved to")
    kinds = trial.verdicts.shape[1]
    alive = trial.weights.reshape(-1, *[1] * (kinds - 1))
    reached = np.zeros((3, most + 1))
    fewest, counts = None, None
    for pups in range(most + 1):
        if pups:
            alive = _one_more(alive, trial.verdicts)
        has_it = alive[trial.doses == dose].sum(axis=0)
        whole = alive.sum(axis=0)
        done = (whole > 0) & (has_it >= (level - ROUNDING) * whole)
        by_hypothesis = alive[:, done].sum(axis=1)
        reached[:, pups] = trial.by_dose(by_hypothesis)
        if fewest is None and reached[dose, pups] > UNLIKELY * before[dose]:
            best = np.unravel_index(np.argmax(np.where(done, has_it, -1)), done.shape)
            fewest = pups
            counts = (*map(int, best), pups - int(sum(best)))
        alive = np.where(done, 0, alive)
    with np.errstate(invalid="ignore"):
        proved = reached.cumsum(axis=1) / before[:, None]
    return Proof(dose, level, proved, fewest, counts)


def _one_more(alive: Table, verdicts: Table) -> Table:
    """Weights (h, n + 2, ..) by the count of every verdict but the last, after one more pup."""
    kinds = verdicts.shape[1]
    grown: Table = np.zeros((len(alive), *(size + 1 for size in alive.shape[1:])))
    for kind in range(kinds):
        there = tuple(slice(1, None) if axis == kind else slice(0, -1) for axis in range(kinds - 1))
        grown[(slice(None), *there)] += alive * verdicts[:, kind].reshape(-1, *[1] * (kinds - 1))
    return grown
