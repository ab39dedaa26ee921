"""What litters of many pairs will hold, without a calculation for each pair.

A parent of dose a hands the allele on with chance a / 2, so a pup of parents of doses a and b has
two doses with chance E[ab] / 4, one with (E[a] + E[b] - E[ab]) / 2, none with the rest: of the
joint chance of two doses only the mean of their product counts, which is E[a] E[b] + cov(a, b).
Unrelated families have no covariance. Within a family |cov(a, b)| is at most the product of the
two standard deviations (Cauchy and Schwarz), so where either dose is all but known, the product of
the means is right to within a stated bound; for the rest one animal of the pair is held at each of
its doses in turn, which settles all its pairs at once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import solve_problem

Table = NDArray[np.float64]

_DOSES = np.arange(3.0)
# A chance of a pup that is off by no more than this is not worth a calculation.
TOLERANCE = 0.002


@dataclass(frozen=True)
class Pairs:
    """For each of s animals with each of b others: `forecast` (s, b, 3), the chance that a pup has
    0, 1, 2 doses, NaN where a parent has no figure; `bound` (s, b), what the chance of one dose
    may be off by at most, and those of none and two by half as much, given the chances of each
    animal alone. `held`: how many animals were held at each of their doses.
    """

    forecast: Table
    bound: Table
    held: int


def forecast_pairs(
    pedigree: Pedigree,
    likelihood: Table,
    first: Sequence[int],
    second: Sequence[int],
    chances: Table,
    *,
    frequency: float,
    errors: float = 0.0,
    founder_prior: Table | None = None,
    budget: float = BUDGET,
    tolerance: float = TOLERANCE,
    most_held: int | None = None,
) -> Pairs:
    """What pups of each of `first` with each of `second` will have.

    `chances` (n, 3): each animal's dose by all records, as `dose_posterior` gave it. `most_held`:
    how many animals may be held at most, all that are needed if None. Other arguments and the
    errors raised are those of `dose_posterior`; where nobody needs to be held, they are not looked
    at.
    """

    @cache
    def case() -> PosteriorProblem:
        return PosteriorProblem.of(pedigree, likelihood, frequency, errors, founder_prior, budget)

    family = pedigree.family_of
    covariance, bound, held = _covariances(
        case, family, first, second, chances, tolerance, most_held
    )
    one = (chances[list(first)] @ _DOSES)[:, None]
    other = (chances[list(second)] @ _DOSES)[None, :]
    two = (one * other + covariance) / 4
    single = (one + other) / 2 - 2 * two
    return Pairs(np.stack([1 - single - two, single, two], axis=2), bound, held)


def _covariances(
    case: Callable[[], PosteriorProblem],
    family: NDArray[np.int32],
    first: Sequence[int],
    second: Sequence[int],
    chances: Table,
    tolerance: float,
    most_held: int | None,
) -> tuple[Table, Table, int]:
    """The covariance of each pair's doses, 0 where it is within the bound; the bound; the count."""
    rows, columns = np.asarray(first, dtype=np.int64), np.asarray(second, dtype=np.int64)
    one, other = (_spread(chances[side]) for side in (rows, columns))
    related = family[rows][:, None] == family[columns][None, :]
    bound = np.where(related, one[:, None] * other[None, :] / 2, 0.0)
    covariance = np.zeros_like(bound)
    worth = bound > tolerance  # the pairs that a calculation would still serve
    held = 0
    while worth.any() and (most_held is None or held < most_held):
        in_rows, in_columns = worth.sum(axis=1), worth.sum(axis=0)
        cells: tuple[int | slice, int | slice]
        if in_rows.max() >= in_columns.max():
            place, animal, others = int(in_rows.argmax()), rows[in_rows.argmax()], columns
            cells = (place, slice(None))
        else:
            place, animal, others = int(in_columns.argmax()), columns[in_columns.argmax()], rows
            cells = (slice(None), place)
        _enter(covariance[cells], bound[cells], _with_others(case(), int(animal), chances)[others])
        worth[cells] = False
        held += 1
    return covariance, bound, held


def _spread(chances: Table) -> Table:
    """The standard deviation of each dose."""
    spread: Table = np.sqrt(chances @ _DOSES**2 - (chances @ _DOSES) ** 2)
    return spread


def _enter(covariance: Table, bound: Table, found: Table) -> None:
    """Enter what was found of one animal with all others, where it could be made."""
    known = ~np.isnan(found)
    covariance[known] = found[known]
    bound[known] = 0.0


def _with_others(case: PosteriorProblem, animal: int, chances: Table) -> Table:
    """The covariance (n,) of an animal's dose with each other's; NaN where it cannot be made."""
    mean = chances @ _DOSES
    product = np.zeros(len(mean))
    for dose in (1, 2):
        if chances[animal, dose] > 0:
            held = solve_problem(case.holding(animal, dose), animal).chances
            product += chances[animal, dose] * dose * (held @ _DOSES)
    family = case.pedigree.family_of
    return np.where(family == family[animal], product - mean[animal] * mean, 0.0)
