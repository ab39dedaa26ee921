"""What a herd's own book says of the points allele's frequency among its founders, and of the
ages at which points come in.

The mode of the posterior of these parameters, by an ECME algorithm (Liu C, Rubin DB 1994, The
ECME algorithm: a simple extension of EM and ECM with faster monotone convergence, Biometrika
81:633-648; cited from memory). What is missing is the doses of all animals, whose looks they are
where one may have been taken for another, and who was what among pups counted together: given
these, by the exact engine, the onset curves of each dose are moved up the expected logarithm of
the chance of all looks; then the frequency is moved up the exact likelihood itself. Neither step
ever lowers the posterior.

A curve is moved by the logarithm of its median, in spreads, and by the logarithm of its spread.
Of normal observations these two tell nothing of each other, whatever the herd; a step means as
much at any milestone; a spread stays above 0; and where two milestones cross, the likelihood has
a crease that lies even in them, so that numerical differences stay those of a peak. All curves of
one dose move together, since one look is weighed by all of them.

The prior says how much the table counts: as much as so many animals of each dose followed day by
day through each milestone, and as so many founders' genes whose allele is known, so that a few
odd animals cannot overrule it. Of n normal observations the mean is known by n over the variance,
and the logarithm of the standard deviation by 2 n (Fisher's information, by differentiating
twice). No chance of looks is above 1, and the prior falls without end where a spread runs to 0 or
without end: a spread can do neither. All the rest stays as it is in the tables.

Standard errors are from the curvature of the exact log posterior at its mode (observed
information; Efron B, Hinkley DV 1978, Biometrika 65:457-482, from memory). By Fisher's identity
its slope in the curves is that of the expected logarithm, at the doses' own posterior; the slope
is differenced numerically once more. What a founder was bought as says nothing of the frequency:
the likelihood is that of the rest, given it.

A family that is too tangled for the exact engine, or whose records contradict each other, is left
out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from genetics.core.estimation.likelihood import Evidence, Parameters
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.group_counts import GroupCountData
from genetics.core.penetrance.observation import Seen
from genetics.core.penetrance.onset_parameters import CURVES, Curves

Table = NDArray[np.float64]
Function = Callable[[Table], float]

MOST_ROUNDS = 200
SETTLED = 1e-4  # a round that adds less to the log posterior is the last
# In log odds of the frequency, spreads of the logarithm of an age, logarithms of a spread:
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

    def of_curves(self, curves: Curves, dose: int) -> float:
        """Log density of the logarithms of a dose's medians and spreads, but for a constant:
        normal, each as sure as from so many animals followed day by day."""
        if math.isinf(self.animals):
            return 0.0
        off = 0.0
        for one, known in zip(curves.of(dose), self.curves.of(dose), strict=True):
            off += (math.log(one.median_days / known.median_days) / known.spread) ** 2
            off += 2 * math.log(one.spread / known.spread) ** 2
        return -self.animals / 2 * off

    def log_density(self, parameters: Parameters) -> float:
        """Of all parameters, but for a constant."""
        curves = sum(self.of_curves(parameters.curves, dose) for dose in (1, 2))
        return self.of_frequency(parameters.frequency) + curves


@dataclass(frozen=True)
class Fit:
    """The parameters at the posterior's mode and how sure they are.

    Standard errors: `frequency_error`, `median_errors` (days, one for each milestone) and
    `spread_errors` (as shares of each spread); NaN where the posterior has no peak there, 0 where
    the prior holds a parameter fast. `founders`: founders and unknown parents, not bought as
    anything, that the frequency rests on; `looks`: for each milestone, how many looks at animals
    of its dose (expected) fall near it. `rounds`: the log posterior at the start and after each
    round. `left_out`: animals without a say.
    """

    parameters: Parameters
    frequency_error: float
    median_errors: tuple[float, ...]
    spread_errors: tuple[float, ...]
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
    counted: Mapping[int, GroupCountData] | None = None,
    prior: Prior | None = None,
    told: Callable[[int], object] = lambda rounds: None,
) -> Fit:
    """The frequency and the onset curves that suit a book best, from the prior on.

    `looks`: those that count, of each animal; `given` (n, 3): other evidence on it; `errors` and
    `founder_prior` as in `dose_posterior`; `counted`: by litter, pups counted together and not told
    apart, in place of the tallies that the pedigree may have. `told` is called with the number of
    rounds so far. Raises ValueError for arguments that cannot be.
    """
    prior = prior or Prior()
    evidence = Evidence.of(
        pedigree, looks, errors, given, founder_prior, counted, frequency=prior.frequency
    )
    climber = _Climber(evidence, prior)
    parameters = prior.parameters
    rounds = [climber.log_posterior(parameters)]
    told(0)
    while len(rounds) <= MOST_ROUNDS and not _is_settled(rounds):
        parameters = climber.one_round(parameters)
        rounds.append(climber.log_posterior(parameters))
        told(len(rounds) - 1)
    return Fit(
        parameters,
        *climber.standard_errors(parameters),
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
        """The curves of each dose, then the frequency."""
        if not math.isinf(self.prior.animals):
            weights = self.evidence.weights(parameters)
            for dose in (1, 2):
                parameters = self._curves_up(parameters, dose, weights[:, dose])
        return parameters if math.isinf(self.prior.genes) else self._frequency_up(parameters)

    def _curves_up(self, parameters: Parameters, dose: int, weights: Table) -> Parameters:
        def expected(moves: Table) -> float:
            return self._expected(_moved(parameters.curves, moves, dose), dose, weights)

        start = np.zeros(2 * len(parameters.curves.of(dose)))
        best = climb(expected, climb(expected, start))
        return replace(parameters, curves=_moved(parameters.curves, best, dose))

    def _frequency_up(self, parameters: Parameters) -> Parameters:
        def exact(log_odds: Table) -> float:
            return self.log_posterior(replace(parameters, frequency=_share(log_odds[0])))

        (best,) = climb(exact, np.array([_log_odds(parameters.frequency)]))
        return replace(parameters, frequency=_share(best))

    def _expected(self, curves: Curves, dose: int, weights: Table) -> float:
        seen = self.evidence.expected_log_chance(curves, dose, weights)
        return seen + self.prior.of_curves(curves, dose)

    def standard_errors(
        self, parameters: Parameters
    ) -> tuple[float, tuple[float, ...], tuple[float, ...]]:
        """Of the frequency, of each median in days, and of each spread as a share of it."""
        milestones = parameters.curves.milestones
        free = np.array(
            [not math.isinf(self.prior.genes)]
            + [not math.isinf(self.prior.animals)] * 2 * len(milestones)
        )
        errors = np.zeros(len(free))
        for step in (WIDE_STEP, STEP):  # a crease may lie within the wide one
            curvature = self._curvature(parameters, step)[np.ix_(free, free)]
            errors[free] = _roots_of_inverse(-curvature)
            if not np.isnan(errors).any():
                break
        days = [one.median_days * one.spread for one in milestones]
        medians, spreads = errors[1:].reshape(2, -1)
        share = parameters.frequency * (1 - parameters.frequency)
        return share * float(errors[0]), tuple((medians * days).tolist()), tuple(spreads.tolist())

    def _curvature(self, parameters: Parameters, step: float) -> Table:
        """Second derivatives of the log posterior by the log odds of the frequency and the moves
        of all curves."""
        size = 1 + 2 * len(parameters.curves.milestones)
        table = np.zeros((size, size))
        for place in range(size):
            nudge = step * np.eye(size)[place]
            slopes = [self._slopes(parameters, side * nudge, step) for side in (1, -1)]
            table[place, 1:] = (slopes[0] - slopes[1]) / (2 * step)
            if place == 0:
                sides = [self.log_posterior(_nudged(parameters, side * nudge)) for side in (1, -1)]
                around = sum(sides) - 2 * self.log_posterior(parameters)
                table[0, 0] = around / step**2
        table[1:, 0] = table[0, 1:]
        return (table + table.T) / 2

    def _slopes(self, parameters: Parameters, nudge: Table, step: float) -> Table:
        """Of the log posterior in the moves of all curves, so far from these parameters, by
        Fisher's identity."""
        weights = self.evidence.weights(_nudged(parameters, nudge))
        doses = [one.dose for one in parameters.curves.milestones] * 2
        slopes = []
        for place, dose in enumerate(doses, start=1):
            more = step * np.eye(len(nudge))[place]
            sides = [
                self._expected(_nudged(parameters, one).curves, dose, weights[:, dose])
                for one in (nudge + more, nudge - more)
            ]
            slopes.append((sides[0] - sides[1]) / (2 * step))
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


def _moved(curves: Curves, moves: Table, dose: int | None = None) -> Curves:
    """Curves with the medians and then the spreads of a dose, or of all, moved: by so many
    spreads, in logarithms, and by so much in logarithms."""
    own = [dose in (None, one.dose) for one in curves.milestones]
    days = np.array([one.median_days for one in curves.milestones], dtype=np.float64)
    spreads = np.array([one.spread for one in curves.milestones], dtype=np.float64)
    later, wider = moves.reshape(2, -1)
    days[own] *= np.exp(later * spreads[own])
    spreads[own] *= np.exp(wider)
    return curves.with_ages(days.tolist(), STANDING, spreads.tolist())


def _nudged(parameters: Parameters, nudge: Table) -> Parameters:
    """Parameters so far off in the log odds of the frequency and the moves of all curves."""
    share = _share(_log_odds(parameters.frequency) + nudge[0])
    return Parameters(share, _moved(parameters.curves, nudge[1:]))


def _log_odds(share: float) -> float:
    return math.log(share / (1 - share))


def _share(log_odds: float) -> float:
    return float(1 / (1 + math.exp(-log_odds)))
