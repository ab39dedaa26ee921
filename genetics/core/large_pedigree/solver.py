"""Approximate figures for families that exact sums cannot reach, of any size, by compiled kernels.

Loopy belief propagation (`messages`) over the clusters of a family (`clusters`): all that a cluster
hears is kept, so that a litter born into a register, or a check, refreshes what it touches and no
more. Each animal that is asked for is then worked out exactly among its nearest (`neighbourhoods`),
with the messages of belief propagation at the edge. What its figure moved when the neighbourhood
grew from half that size, when it was refined at all, and what those of its family moved, says how
far it may still be off. The estimates are scaled on simulated herds so that at least 95 per cent of
true errors lie below (`tests/benchmarks/errors.py`); they are not bounds.

Messages that start otherwise may settle elsewhere, where a family could as well be one way round
as the other: then any one answer is wrong. So they are started thrice, twice at random and once
against where the first have settled; what these disagree on is added to the estimate, and a figure
whose estimate comes to `USELESS` is not given.

A family of fewer than PLAIN_BELOW animals is done in plain Python before a compiler has begun.
Where numba is missing all are: the figures come, in smaller neighbourhoods, and minutes later.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import ContradictionError
from genetics.core.large_pedigree.bucket_elimination import Room
from genetics.core.large_pedigree.clusters import Clusters, Floats, Integers, clusters_of
from genetics.core.large_pedigree.group_counts import CountRoom, Counts
from genetics.core.large_pedigree.messages import (
    CONTRADICTION,
    SETTLED,
    Messages,
    Work,
    choices_of,
    gather,
    run_schedule,
    shares_of,
)
from genetics.core.large_pedigree.neighbourhoods import refine_in_neighbourhood
from genetics.core.large_pedigree.warm_start import Refined, carry, renumbered, spread_over
from genetics.core.numerics.kernels import available
from genetics.core.pedigree.pedigree import Indices as Rows
from genetics.core.peeling.problem import PosteriorProblem

PLAIN_BELOW = 60  # animals of a family that never waits for a compiler
DAMPINGS = ((0.1, 200), (0.4, 400))  # share of the old message kept, and rounds to try with it
LEAST = 1e-7  # a message that moves less stirs nobody
FOLLOWED = 2e-5  # the same where a register is refreshed: what that may add to any error
UNFOLLOWED = 1e-4  # and to those of animals that it touched
MOST_REFRESHED = 20  # times a register is refreshed before all of it begins again
ONWARDS = 60  # rounds of a refreshed register, before all of it is damped
RESTLESS = 10 * LEAST  # one that moves more in two rounds, when patience has ended, is unsettled
LEANING = 3.0  # of the first messages, as logarithms, at most or as a standard deviation
SEED = 1866
PRICE = 1e5  # table entries that the vicinity of an animal asked for may cost
PROBE_PRICE = 1e4  # the same for those that measure a family
PROBES = 16  # of a family, and one more for each 500 animals
THREADS = 2  # kernels let go of the interpreter's lock
USELESS = 0.25  # an estimate that says too little to give a figure with
SMALLEST = 1e-7  # what rounding and unfinished messages may add
# How the estimates were scaled: tests/benchmarks/errors.md.
BY_GROWTH = 1.0
BY_REFINING = 0.2
BY_FAMILY = 0.3
UNREFINED = 2.0
COUNTED = 1.3  # times that, in a register of which pups were counted together
MORE_GENOTYPES = 1.5  # times that, for a gene of more: on nine herds of 40 animals 3% exceed it
FAMILY_SHARE = 0.97


Animals = Sequence[int] | Integers | Rows


class Kernels(NamedTuple):
    """The kernels as they are to run: machine code or plain Python; whether they are compiled."""

    run_schedule: Any
    gather: Any
    shares_of: Any
    choices_of: Any
    refine_in_neighbourhood: Any
    compiled: bool

    @classmethod
    def of(cls, animals: int) -> Kernels:
        """Those for a family of so many animals."""
        if animals >= PLAIN_BELOW and available():
            return cls(run_schedule, gather, shares_of, choices_of, refine_in_neighbourhood, True)
        plain = (
            run_schedule.plain,
            gather.plain,
            shares_of.plain,
            choices_of.plain,
            refine_in_neighbourhood.plain,
        )
        return cls(*plain, False)


@dataclass(frozen=True)
class Outcome:
    """How the messages came out: whether they settled, after how many rounds, the last change."""

    settled: bool
    rounds: int
    change: float


@dataclass(frozen=True)
class RegisterFigures:
    """By variable, animals first: `shares` (V, g), estimated `errors` (V,), who was `refined`.

    Where messages did not settle, or not in one place, an error is USELESS or more: `told` (V,)
    says of which there is a figure.
    """

    shares: Floats
    errors: Floats
    refined: NDArray[np.bool_]

    @property
    def told(self) -> NDArray[np.bool_]:
        return self.errors < USELESS


class Register:
    """The messages of a family's clusters, settled. Raises ContradictionError, if it is found.

    `family`: animals that include all their possible parents, ascending.
    """

    def __init__(self, case: PosteriorProblem, family: Animals) -> None:
        self.run = Kernels.of(len(family))
        self.clusters, self.naming, self.counts = clusters_of(case, family)
        self.work = Work.room(self.clusters, self.counts)
        self._begin()

    def _begin(self) -> None:
        shape = Messages.flat(self.clusters).up.shape
        noise = LEANING * np.random.default_rng(SEED).standard_normal(shape)
        with ThreadPoolExecutor(THREADS) as threads:
            (self.messages, self.outcome), (other, _) = threads.map(self._begun, (noise, -noise))
        self.shares = _shares(self.run, self.messages)
        against, _ = self._begun(_opposite(self.messages.up))
        self.spread = np.zeros(len(self.shares))
        for messages in (other, against):
            moves = np.abs(self.shares - _shares(self.run, messages)).max(axis=1)
            self.spread = np.maximum(self.spread, moves)
        self.spread[self._restless()] = 1.0
        self.refreshed = 0
        self._refined = Refined.none(*self.shares.shape)

    def refresh(
        self, case: PosteriorProblem, family: Animals, rows: Integers | None = None
    ) -> None:
        """Follow what has changed since: litters born or corrected, checks, parents. Raises
        ContradictionError, and then the register is of no use any more.

        `rows` (n,): the number that each of the old animals has now, -1 for one that has gone; by
        default they keep their numbers. Only what is touched is worked out again; all is after many
        changes (`warm_start`) or refreshes, after a change that takes evidence away where some is
        beyond doubt, where pups were counted together or messages had not settled. No second start
        looks for another place to settle in: a new variable's spread is the largest that it meets.
        """
        clusters, naming, counts = clusters_of(case, family)
        known = renumbered(self.naming, self.animals if rows is None else rows)
        carried = carry(self.clusters, known, self.messages, clusters, naming)
        counted = len(self.counts.edge) or len(counts.edge)
        spent = self.refreshed == MOST_REFRESHED or not self.outcome.settled
        self.run = Kernels.of(len(family))
        self.clusters, self.naming, self.counts = clusters, naming, counts
        self.work = Work.room(clusters, counts)
        if carried.listed is None or counted or spent:
            self._begin()
            return
        self.messages = carried.messages
        if self.run.gather(clusters, self.messages) != -1:
            raise ContradictionError
        outcome, rounds, change = self.follow(carried.listed)
        if outcome == CONTRADICTION:
            raise ContradictionError
        self.outcome = Outcome(outcome == SETTLED, rounds, change)
        if not self.outcome.settled:
            self.outcome = settle(self.run, clusters, counts, self.messages, self.work)
        self.spread = spread_over(clusters, carried.was, self.spread)
        before, self.shares = self.shares, _shares(self.run, self.messages)
        stays = self._stays(carried.was, carried.listed, before)
        self._refined = self._refined.carried(carried.was, stays)
        if len(carried.listed):
            self.spread[self.messages.moved > 0] += UNFOLLOWED
            self.spread = np.maximum(self.spread, FOLLOWED)
            self.refreshed += 1
        self.spread[self._restless()] = 1.0

    def _stays(self, was: Integers, listed: Integers, before: Floats) -> NDArray[np.bool_]:
        """Variables that were there, in no cluster that was listed, and that nothing stirred."""
        moves = np.abs(self.shares - before[was]).max(axis=1)
        moves[was == -1] = np.inf
        moves[self.clusters.variable[np.isin(self.clusters.cluster, listed)]] = np.inf
        stays: NDArray[np.bool_] = np.maximum(moves, self.messages.moved) <= FOLLOWED
        return stays

    def follow(self, listed: Integers) -> tuple[int, int, float]:
        """Renew clusters and what that stirs, as `run_schedule` does: all the solver has to do."""
        moved: tuple[int, int, float] = self.run.run_schedule(
            self.clusters,
            self.counts,
            self.messages,
            self.work,
            listed,
            0.0,
            ONWARDS,
            FOLLOWED,
            True,
            False,
        )
        return moved

    @property
    def animals(self) -> Integers:
        """The animal of each of the first variables."""
        return self.naming.animals

    def _begun(self, logs: Floats) -> tuple[Messages, Outcome]:
        """Messages that first lean for some states, by their logarithms, and then settle."""
        messages = Messages.flat(self.clusters)
        np.exp(logs - logs.max(axis=1, keepdims=True), out=messages.up)
        if self.run.gather(self.clusters, messages) != -1:
            raise ContradictionError
        work = Work.room(self.clusters, self.counts)
        return messages, settle(self.run, self.clusters, self.counts, messages, work)

    def _restless(self) -> NDArray[np.bool_]:
        """Variables whose messages still move where others have settled, and the pups of such
        parents that stand in no other cluster: they are told once, when the others have ended."""
        if self.outcome.settled:
            return np.zeros(len(self.shares), dtype=np.bool_)
        before = self.messages.moved.copy()
        everything, damping = _all(self.clusters), DAMPINGS[-1][0]
        parts = (self.clusters, self.counts, self.messages, self.work)
        _run_schedule(self.run, *parts, everything, damping, 2)
        self.shares = _shares(self.run, self.messages)
        restless: NDArray[np.bool_] = self.messages.moved - before > RESTLESS
        clusters = self.clusters
        stirred = np.logical_or.reduceat(restless[clusters.variable], clusters.start[:-1])
        leaf = np.arange(len(clusters.variable)) >= clusters.leaves[clusters.cluster]
        restless[clusters.variable[leaf]] |= stirred[clusters.cluster[leaf]]
        return restless

    def figures(self, asked: Collection[int]) -> RegisterFigures:
        """Figures of all variables, refined for the animals asked for (their variables). What was
        refined before, and has not been stirred since, stays as it is."""
        count = len(self.animals)
        wanted = np.zeros(count, dtype=np.bool_)
        wanted[list(asked)] = True
        unasked = np.flatnonzero(~wanted)
        probes = unasked[:: max(1, len(unasked) // (PROBES + count // 500))]
        price = PRICE if self.run.compiled else PROBE_PRICE
        shares = self.shares.copy()
        growth = np.full(len(shares), np.nan)
        for variables, allowed in ((np.flatnonzero(wanted), price), (probes, PROBE_PRICE)):
            found = self._refine(variables, allowed)
            shares[found], growth[found] = self._refined.shares[found], self._refined.growth[found]
        moved = np.abs(shares - self.shares).max(axis=1)
        known = ~np.isnan(growth)
        family = float(np.quantile(moved[known], FAMILY_SHARE)) if known.any() else 1.0
        errors = np.full(len(shares), UNREFINED * family)
        errors[known] = BY_GROWTH * growth[known] + BY_REFINING * moved[known] + BY_FAMILY * family
        if len(self.counts.edge):
            errors *= COUNTED
        if shares.shape[1] > 3:
            errors *= MORE_GENOTYPES
        return RegisterFigures(shares, np.minimum(1, SMALLEST + errors + self.spread), known)

    def _refine(self, variables: Integers, price: float) -> Integers:
        """The variables that could be refined, now or before."""
        kept = self._refined
        due = variables[kept.price[variables] != price]
        kept.price[due], kept.growth[due] = price, np.nan
        found, shares, growth = self.refined(due, price)
        kept.shares[found], kept.growth[found] = shares, growth
        done: Integers = variables[~np.isnan(kept.growth[variables])]
        return done

    def refined(self, variables: Integers, price: float) -> tuple[Integers, Floats, Floats]:
        """The variables that could be refined, their shares, and how far those moved as the
        vicinity grew from half its size."""

        def part(some: Integers) -> tuple[Integers, Floats, Floats]:
            shares, growth = np.empty((len(some), self.shares.shape[1])), np.full(len(some), np.nan)
            room = Room.of(self.clusters, price)
            counting = CountRoom.of(self.counts)
            self.run.refine_in_neighbourhood(
                self.clusters,
                self.counts,
                self.messages,
                room,
                counting,
                some,
                price,
                shares,
                growth,
            )
            good = ~np.isnan(growth)
            return some[good], shares[good], growth[good]

        with ThreadPoolExecutor(THREADS) as threads:
            found = list(threads.map(part, np.array_split(variables, THREADS)))
        return tuple(np.concatenate(columns) for columns in zip(*found, strict=True))  # type: ignore[return-value]

    def choices(self, told: NDArray[np.bool_], *, dams: bool) -> dict[int, Floats]:
        """By litter, the shares of its uncertain sires or dams where they are told: candidates
        and, where records may be wrong, another one last."""
        clusters, naming = self.clusters, self.naming
        shares = self.run.choices_of(clusters, self.messages, self.work)
        found = {}
        for cluster in np.flatnonzero(clusters.mixes & (naming.dams == dams)).tolist():
            begin, end = clusters.start[cluster], clusters.start[cluster + 1]
            if told[clusters.variable[begin]]:
                last = end if clusters.weight[begin] > 0 else end - 1
                found[int(naming.litter[cluster])] = shares[begin:last]
        return found


def explained(case: PosteriorProblem, family: Animals) -> bool:
    """Whether genotypes may explain the evidence: False where an exchange of messages rules that
    out, which it need not."""
    run = Kernels.of(len(family))
    clusters, _, counts = clusters_of(case, family)
    messages = Messages.flat(clusters)
    if run.gather(clusters, messages) != -1:
        return False
    work = Work.room(clusters, counts)
    outcome, _, _ = _run_schedule(
        run, clusters, counts, messages, work, _all(clusters), *DAMPINGS[0]
    )
    return bool(outcome != CONTRADICTION and run.shares_of(messages)[1] == -1)


def settle(
    run: Kernels, clusters: Clusters, counts: Counts, messages: Messages, work: Work
) -> Outcome:
    """Exchange messages until they settle or patience ends. Raises ContradictionError."""
    everything, rounds = _all(clusters), 0
    for damping, most in DAMPINGS:
        parts = (clusters, counts, messages, work)
        outcome, taken, change = _run_schedule(run, *parts, everything, damping, most)
        rounds += taken
        if outcome == CONTRADICTION:
            raise ContradictionError
        if outcome == SETTLED:
            break
    run.run_schedule(clusters, counts, messages, work, everything, 0.0, 1, 0.0, False, True)
    return Outcome(outcome == SETTLED, rounds, change)


def _run_schedule(
    run: Kernels,
    clusters: Clusters,
    counts: Counts,
    messages: Messages,
    work: Work,
    listed: Integers,
    damping: float,
    rounds: int,
) -> tuple[int, int, float]:
    parts = (clusters, counts, messages, work)
    found: tuple[int, int, float] = run.run_schedule(
        *parts, listed, damping, rounds, LEAST, False, False
    )
    return found


def _opposite(up: Floats) -> Floats:
    """Logarithms of messages that lean against these; zeros, which are proof, are left out."""
    logs = np.log(up, out=np.zeros_like(up), where=up > 0)
    opposite: Floats = np.clip(logs.mean(axis=1, keepdims=True) - logs, -LEANING, LEANING)
    return opposite


def _all(clusters: Clusters) -> Integers:
    return np.arange(len(clusters.mixes))


def _shares(run: Kernels, messages: Messages) -> Floats:
    shares: Floats
    shares, lost = run.shares_of(messages)
    if lost != -1:
        raise ContradictionError
    return shares
