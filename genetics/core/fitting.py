"""What a herd's own book says of the points allele's frequency among its founders, and of the
ages at which points come in.

The mode of the posterior of these parameters, by an ECME algorithm (Liu C, Rubin DB 1994, The
ECME algorithm: a simple extension of EM and ECM with faster monotone convergence, Biometrika
81:633-648; cited from memory). The doses of all animals are what is missing: given them, by the
exact engine, the median ages are moved up the expected logarithm of the chance of all looks; then
the frequency is moved up the exact likelihood itself. Neither step ever lowers the posterior.

The prior says how much the table counts: as much as so many animals of each dose followed day by
day through each milestone, and as so many founders' genes whose allele is known, so that a few
odd animals cannot overrule it. Spreads stay as they are in the table, and so does all the rest.

Standard errors are from the curvature of the exact log posterior at its mode (observed
information; Efron B, Hinkley DV 1978, Biometrika 65:457-482, from memory). By Fisher's identity
its slope in the ages is that of the expected logarithm, at the doses' own posterior; the slope is
differenced numerically once more. What a founder was bought as says nothing of the frequency: the
likelihood is that of the rest, given it.

A family that is too tangled for the exact engine, or whose records contradict each other, is left
out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from genetics.core.curves import CURVES, Curves, Milestone
from genetics.core.fitting_evidence import Evidence, Parameters
from genetics.core.pedigree import Pedigree
from genetics.core.seen import Seen

Table = NDArray[np.float64]
Function = Callable[[Table], float]

MOST_ROUNDS = 60
SETTLED = 1e-4  # a round that adds less to the log posterior is the last
# In log odds of the frequency, and in spreads of the logarithm of an age:
STEP = 0.02  # for differences on the way up
WIDE_STEP = 0.1  # for the curvature at the top: it is that of about a standard error around
LONGEST = 1.0  # nothing moves further in one step
REACH = 0.2
STANDING = "fitted to this book"


@dataclass(frozen=True)
class Prior:
    """Where the parameters are without a book, and how much that counts.

    `genes`: as many founders' genes seen at `frequency`; `animals`: as many of each dose followed
    through each milestone of `curves`. Infinite holds them fast. Raises ValueError.
    """

    frequency: float = 0.25
    genes: float = 40.0
    curves: Curves = CURVES
    animals: float = 20.0

    def __post_init__(self) -> None:
        if not (0 < self.frequency < 1 and self.genes > 0 and self.animals > 0):
            raise ValueError("a prior has a frequency between 0 and 1, and counts above 0")

    @property
    def parameters(self) -> Parameters:
        return Parameters(self.frequency, self.curves)

    def of_frequency(self, frequency: float) -> float:
        """Log density of the frequency's log odds, but for a constant: its mode is the prior's
        own frequency. 0 where it is held fast."""
        if math.isinf(self.genes):
            return 0.0
        return self.genes * (
            self.frequency * math.log(frequency) + (1 - self.frequency) * math.log1p(-frequency)
        )

    def of_medians(self, curves: Curves, dose: int) -> float:
        """Log density of the log medians of a dose, but for a constant: normal, each as sure as
        the mean of so many animals."""
        if math.isinf(self.animals):
            return 0.0
        off = _in_spreads(curves.of(dose)) - _in_spreads(self.curves.of(dose))
        return float(-self.animals / 2 * (off**2).sum())

    def log_density(self, parameters: Parameters) -> float:
        """Of all parameters, but for a constant."""
        medians = sum(self.of_medians(parameters.curves, dose) for dose in (1, 2))
        return self.of_frequency(parameters.frequency) + medians


@dataclass(frozen=True)
class Fit:
    """The parameters at the posterior's mode and how sure they are.

    `frequency_error` and `median_errors` (days, one for each milestone) are standard errors, NaN
    where the posterior has no peak there, 0 where the prior holds a parameter fast. `founders`:
    founders and unknown parents, not bought as anything, that the frequency rests on; `looks`:
    for each milestone, how many looks at animals of its dose (expected) fall near it. `rounds`:
    the log posterior at the start and after each round. `left_out`: animals without a say.
    """

    parameters: Parameters
    frequency_error: float
    median_errors: tuple[float, ...]
    founders: int
    looks: tuple[float, ...]
    rounds: tuple[float, ...]
    settled: bool
    left_out: tuple[int, ...]


def fit(
    pedigree: Pedigree,
    looks: Sequence[Sequence[Seen]],
    *,
    errors: float,
    given: Table | None = None,
    founder_prior: Table | None = None,
    prior: Prior | None = None,
    told: Callable[[int], object] = lambda rounds: None,
) -> Fit:
    """The frequency and the median ages that suit a book best, from the prior on.

    `looks`: those that count, of each animal; `given` (n, 3): other evidence on it; `errors` and
    `founder_prior` as in `reckon_dose`. `told` is called with the number of rounds so far. Raises
    ValueError for arguments that cannot be.
    """
    prior = prior or Prior()
    evidence = Evidence.of(pedigree, looks, errors, given, founder_prior, frequency=prior.frequency)
    climber = _Climber(evidence, prior)
    parameters = prior.parameters
    rounds = [climber.log_posterior(parameters)]
    told(0)
    while len(rounds) <= MOST_ROUNDS and not _is_settled(rounds):
        parameters = climber.one_round(parameters)
        rounds.append(climber.log_posterior(parameters))
        told(len(rounds) - 1)
    frequency_error, median_errors = climber.standard_errors(parameters)
    return Fit(
        parameters,
        frequency_error,
        median_errors,
        evidence.founders,
        evidence.looks_near(parameters),
        tuple(rounds),
        _is_settled(rounds),
        evidence.left_out,
    )


def _is_settled(rounds: Sequence[float]) -> bool:
    return len(rounds) > 1 and rounds[-1] - rounds[-2] < SETTLED


@dataclass(frozen=True)
class _Climber:
    """A book and a prior; parameters go up their posterior."""

    evidence: Evidence
    prior: Prior

    def log_posterior(self, parameters: Parameters) -> float:
        return self.evidence.log_likelihood(parameters) + self.prior.log_density(parameters)

    def one_round(self, parameters: Parameters) -> Parameters:
        """The medians of each dose, then the frequency."""
        if not math.isinf(self.prior.animals):
            weights = self.evidence.weights(parameters)
            for dose in (1, 2):
                parameters = self._medians_up(parameters, dose, weights[:, dose])
        return parameters if math.isinf(self.prior.genes) else self._frequency_up(parameters)

    def _medians_up(self, parameters: Parameters, dose: int, weights: Table) -> Parameters:
        def expected(medians: Table) -> float:
            curves = _moved(parameters.curves, dose, medians)
            return self._expected(curves, dose, weights)

        start = _in_spreads(parameters.curves.of(dose))
        best = climb(expected, climb(expected, start))
        return replace(parameters, curves=_moved(parameters.curves, dose, best))

    def _frequency_up(self, parameters: Parameters) -> Parameters:
        def exact(log_odds: Table) -> float:
            return self.log_posterior(replace(parameters, frequency=_share(log_odds[0])))

        (best,) = climb(exact, np.array([_log_odds(parameters.frequency)]))
        return replace(parameters, frequency=_share(best))

    def _expected(self, curves: Curves, dose: int, weights: Table) -> float:
        seen = self.evidence.expected_log_chance(curves, dose, weights)
        return seen + self.prior.of_medians(curves, dose)

    def standard_errors(self, parameters: Parameters) -> tuple[float, tuple[float, ...]]:
        """Of the frequency, and of each median in days."""
        free = np.array(
            [not math.isinf(self.prior.genes)]
            + [not math.isinf(self.prior.animals)] * len(parameters.curves.milestones)
        )
        curvature = self._curvature(parameters)[np.ix_(free, free)]
        errors = np.zeros(len(free))
        errors[free] = _roots_of_inverse(-curvature)
        days = [one.median_days * one.spread for one in parameters.curves.milestones]
        share = parameters.frequency
        return share * (1 - share) * float(errors[0]), tuple((errors[1:] * days).tolist())

    def _curvature(self, parameters: Parameters) -> Table:
        """Second derivatives of the log posterior by the log odds of the frequency and each median,
        in spreads."""
        centre = _as_vector(parameters)
        table = np.zeros((len(centre), len(centre)))
        for place in range(len(centre)):
            nudge = WIDE_STEP * np.eye(len(centre))[place]
            above, below = (
                _as_parameters(centre + side * nudge, parameters.curves) for side in (1, -1)
            )
            slopes = [self._slopes(one) for one in (above, below)]
            table[place, 1:] = (slopes[0] - slopes[1]) / (2 * WIDE_STEP)
            if place == 0:
                around = self.log_posterior(above) + self.log_posterior(below)
                table[0, 0] = (around - 2 * self.log_posterior(parameters)) / WIDE_STEP**2
        table[1:, 0] = table[0, 1:]
        return (table + table.T) / 2

    def _slopes(self, parameters: Parameters) -> Table:
        """Of the log posterior in each median, in spreads, by Fisher's identity."""
        weights = self.evidence.weights(parameters)
        slopes = []
        for place, one in enumerate(parameters.curves.milestones):
            sides = []
            for side in (1, -1):
                vector = _as_vector(parameters)
                vector[1 + place] += side * WIDE_STEP
                curves = _as_parameters(vector, parameters.curves).curves
                sides.append(self._expected(curves, one.dose, weights[:, one.dose]))
            slopes.append((sides[0] - sides[1]) / (2 * WIDE_STEP))
        return np.array(slopes)


def climb(function: Function, start: Table) -> Table:
    """One step of Newton's, halved until it is none down; the start where there is none up."""
    here = function(start)
    slope, curvature = _differences(function, start, here)
    values, vectors = np.linalg.eigh(curvature)
    if (values < 0).all():
        directions = [-np.linalg.solve(curvature, slope)]
    else:  # on a saddle, or where two milestones cross: also along the way that bends up most
        directions = [slope, REACH * vectors[:, -1], -REACH * vectors[:, -1]]
    for direction in directions:
        length = min(1.0, LONGEST / max(float(np.abs(direction).max()), 1e-12))
        for _ in range(20):
            there = start + length * direction
            if function(there) > here:
                return there
            length /= 2
    return start


def _differences(function: Function, start: Table, here: float) -> tuple[Table, Table]:
    """Slope (k,) and curvature (k, k) by central differences."""
    steps = STEP * np.eye(len(start))
    above = np.array([function(start + step) for step in steps])
    below = np.array([function(start - step) for step in steps])
    curvature = np.diag((above + below - 2 * here) / STEP**2)
    for row in range(len(start)):
        for column in range(row):
            both = function(start + steps[row] + steps[column])
            neither = function(start - steps[row] - steps[column])
            mixed = both + neither + 2 * here - above[row] - above[column]
            mixed = (mixed - below[row] - below[column]) / (2 * STEP**2)
            curvature[row, column] = curvature[column, row] = mixed
    return (above - below) / (2 * STEP), curvature


def _roots_of_inverse(information: Table) -> Table:
    """Standard errors from an information matrix; NaN where it is none of a peak."""
    if not len(information):
        return np.zeros(0)
    if not np.isfinite(information).all() or (np.linalg.eigvalsh(information) <= 0).any():
        return np.full(len(information), np.nan)
    errors: Table = np.sqrt(np.diag(np.linalg.inv(information)))
    return errors


def _in_spreads(milestones: Sequence[Milestone]) -> Table:
    """The logarithm of each median, in spreads: where two milestones cross, the likelihood has a
    crease that lies even in these, and numerical differences stay those of a peak."""
    return np.array([math.log(one.median_days) / one.spread for one in milestones])


def _days(milestones: Sequence[Milestone], in_spreads: Table) -> list[float]:
    spreads = [one.spread for one in milestones]
    return [math.exp(place * spread) for place, spread in zip(in_spreads, spreads, strict=True)]


def _moved(curves: Curves, dose: int, in_spreads: Table) -> Curves:
    new = iter(_days(curves.of(dose), in_spreads))
    medians = [next(new) if one.dose == dose else one.median_days for one in curves.milestones]
    return curves.with_medians(medians, STANDING)


def _as_vector(parameters: Parameters) -> Table:
    medians = _in_spreads(parameters.curves.milestones)
    return np.array([_log_odds(parameters.frequency), *medians])


def _as_parameters(vector: Table, curves: Curves) -> Parameters:
    medians = _days(curves.milestones, vector[1:])
    return Parameters(_share(vector[0]), curves.with_medians(medians, STANDING))


def _log_odds(share: float) -> float:
    return math.log(share / (1 - share))


def _share(log_odds: float) -> float:
    return float(1 / (1 + math.exp(-log_odds)))
