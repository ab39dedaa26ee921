"""The chance of a whole book as its parameters move: what fitting climbs on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from genetics.core.pedigree.group_records import LabelSwap
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.group_counts import GroupCountData, Looks, Place
from genetics.core.penetrance.likelihood import MISJUDGED, MIXED_UP, look_table
from genetics.core.penetrance.observation import Seen, as_seen
from genetics.core.penetrance.onset_likelihood import LookTable
from genetics.core.penetrance.onset_parameters import CURVES, Curves
from genetics.core.penetrance.pattern_details import details_likelihood
from genetics.core.posterior.dose import Dose, InconsistentEvidenceError, dose_posterior
from genetics.core.record_errors.error_posterior import mix_up_rates

Table = NDArray[np.float64]

NEAR = 2.0  # spreads from the median age: a look further off says nearly nothing of a milestone


@dataclass(frozen=True)
class Parameters:
    """What the calculation of points takes for granted and a book can teach."""

    frequency: float
    curves: Curves = CURVES


@dataclass(frozen=True)
class _Weighed:
    """A book under some curves: `logs` (r, 3) of the chances of all looks that may have been made;
    those of the looks by name (n, 3) at each dose, the largest of each row 1, and the logarithms
    (n,) that they were scaled by; and the pedigree with its tallies."""

    logs: Table
    chances: Table
    scale: Table
    pedigree: Pedigree


@dataclass(frozen=True)
class Evidence:
    """The families of a book that the exact engine can work out, and all that was seen in them.

    `seen`: the number, among the rows of `table`, of all that may have been seen of one animal;
    `own` (n,): that of each animal's looks by name. `counted`, by litter: counts of pups not told
    apart, whose tallies are made again under any curves; one of a litter that has no animal here
    has no say. `mixed_up` (n, 1) is how often an animal was taken for another, a littermate or not,
    where whom a record is of is no choice of the litter. `left_out`: the animals of the other
    families, as numbered in the whole book.
    """

    pedigree: Pedigree
    seen: Mapping[Looks, int]
    own: NDArray[np.int64]
    table: LookTable
    counted: Mapping[int, GroupCountData]
    details: Table
    given: Table
    founder_prior: Table
    mixed_up: Table
    errors: float
    left_out: tuple[int, ...]

    @classmethod
    def of(
        cls,
        pedigree: Pedigree,
        looks: Sequence[Sequence[Seen]],
        errors: float,
        given: Table | None,
        founder_prior: Table | None,
        counted: Mapping[int, GroupCountData] | None = None,
        *,
        frequency: float,
    ) -> Evidence:
        """The whole book but for what is too tangled or contradicts itself. Raises ValueError."""
        size = len(pedigree)
        whole = _Book(
            pedigree,
            tuple(tuple(as_seen(row)) for row in looks),
            counted or {},
            np.ones((size, 3)) if given is None else given,
            np.full((size, 3), np.nan) if founder_prior is None else founder_prior,
            errors,
        )
        kept = list(range(size))
        while True:
            part = whole.part(kept)
            lost = part._without_figure(Parameters(frequency)) if kept else set()
            if not lost:
                return part
            kept = [row for number, row in enumerate(kept) if number not in lost]

    def log_likelihood(self, parameters: Parameters) -> float:
        """Logarithm of the chance of all that was seen, given what founders were bought as."""
        weighed = self._weighed(parameters.curves)
        dose = self._dose(parameters, weighed)
        bought = self._as_bought(parameters.frequency)
        return float(dose.log_likelihood + weighed.scale.sum() - bought)

    def weights(self, parameters: Parameters) -> Table:
        """Chance (r, 3) that each row of looks was made at an animal of each dose, as one that
        they were written of, as its littermate, or as one that was looked at instead, summed over
        all animals.

        A pup's place s in a count has the chance P(looks, s) / P(looks): it takes from the weight
        of its looks by name what it gives to that of all together.
        """
        weighed = self._weighed(parameters.curves)
        dose = self._dose(parameters, weighed)
        whose, rates = dose.chances.copy(), self.mixed_up.copy()
        for animal, chances in dose.behind.items():
            whose[animal], rates[animal] = chances, MIXED_UP
        shares = whose / _mixed(weighed.chances, rates)
        itself = (1 - rates) * weighed.chances * shares
        another = rates / 3 * weighed.chances * shares.sum(axis=1, keepdims=True)
        weights = np.zeros(weighed.logs.shape)
        np.add.at(weights, self.own, itself + another)
        for litter, counted in self.counted.items():
            for place, joint in zip(counted.places, dose.ways[litter], strict=True):
                for looks, share in self._moved_by(place, joint, weighed):
                    weights[self.seen[looks]] += share
        return weights

    def _moved_by(
        self, place: Place, joint: Table, weighed: _Weighed
    ) -> Iterator[tuple[Looks, Table]]:
        """What a pup's place in a count, by the posterior (3, w) of its dose and way, adds to the
        weights of looks. A coat that hides points says nothing of the dose: those of any pup."""
        if place.silent:
            chances = place.chances(lambda looks: weighed.logs[self.seen[looks]])
            joint = joint.sum(axis=0) * chances / chances.sum(axis=0)
        yield place.looks, -joint.sum(axis=1)
        for way, share in zip(place.ways, joint.T, strict=True):
            yield place.with_way(way), share

    def expected_log_chance(self, curves: Curves, dose: int, weights: Table) -> float:
        """Sum of the logarithms of the chances of all looks at one dose, by weights (r,)."""
        return float(weights @ self.table.log_chances(dose, curves, MISJUDGED))

    def looks_near(self, parameters: Parameters) -> tuple[float, ...]:
        """For each milestone, how many looks at animals of its dose fall near its age, those at
        pups that were counted among them."""
        weights = self.weights(parameters)
        counts = []
        for one in parameters.curves.milestones:
            low, high = (one.median_days * np.exp(side * NEAR * one.spread) for side in (-1, 1))
            near = [sum(low <= look.age_days <= high for look in row) for row in self.seen]
            counts.append(float(weights[:, one.dose] @ np.array(near, dtype=np.float64)))
        return tuple(counts)

    @property
    def founders(self) -> int:
        """Founders and unknown parents that no one was told of, in families where anything was
        seen."""
        told = set(np.flatnonzero(self.own != self.seen[()]).tolist())
        told |= set(np.flatnonzero((self.given != self.given[:, :1]).any(axis=1)).tolist())
        for number in self.counted:
            litter = self.pedigree.litters[number]
            told |= {*litter.pups, *litter.candidates}
        families = [set(family) for family in self._weighed(CURVES).pedigree.families()]
        seen = set().union(*(family for family in families if family & told))
        unknown = np.isnan(self.founder_prior[:, 0]) & (self.pedigree.litter_of == -1)
        count = len(seen & set(np.flatnonzero(unknown).tolist()))
        for number, litter in enumerate(self.pedigree.litters):
            if set(litter.pups) & seen or number in self.counted:
                count += (not litter.sires) + (not litter.dams)
        return count

    def _weighed(self, curves: Curves) -> _Weighed:
        logs = np.column_stack(
            [self.table.log_chances(dose, curves, MISJUDGED) for dose in range(3)]
        )
        own = logs[self.own] + np.log(self.details)
        scale = own.max(axis=1)
        chances = np.exp(own - scale[:, None])
        return _Weighed(logs, chances, scale, self._tallied(logs))

    def _tallied(self, logs: Table) -> Pedigree:
        """The pedigree with the tallies of what was counted."""
        if not self.counted:
            return self.pedigree
        litters = list(self.pedigree.litters)
        for number, counted in self.counted.items():
            tally = counted.tally(lambda looks: logs[self.seen[looks]], asked=True)
            litters[number] = replace(litters[number], tally=tally)
        return Pedigree(self.pedigree.ids, tuple(litters))

    def _dose(self, parameters: Parameters, weighed: _Weighed) -> Dose:
        return dose_posterior(
            weighed.pedigree,
            _mixed(weighed.chances, MIXED_UP) * self.given,
            frequency=parameters.frequency,
            errors=self.errors,
            founder_prior=self.founder_prior,
        )

    def _as_bought(self, frequency: float) -> float:
        """Logarithm of the weight of what littermates of no known parent were bought as."""
        orphans = self.pedigree.without_parents() & ~np.isnan(self.founder_prior[:, 0])
        if not orphans.any():
            return 0.0
        numbers = set(self.pedigree.litter_of[orphans].tolist())
        rows = [row for number in sorted(numbers) for row in self.pedigree.litters[number].pups]
        alone = dose_posterior(
            part_of(self.pedigree, rows),
            np.ones((len(rows), 3)),
            frequency=frequency,
            founder_prior=self.founder_prior[rows],
        )
        return alone.log_likelihood

    def _without_figure(self, parameters: Parameters) -> set[int]:
        """The animals of families that get no exact figures."""
        weighed = self._weighed(parameters.curves)
        try:
            dose = self._dose(parameters, weighed)
            lost = set(np.flatnonzero(np.isnan(dose.chances[:, 0])).tolist())
        except InconsistentEvidenceError as impossible:
            lost = set(impossible.animals)
        families = [set(family) for family in weighed.pedigree.families()]
        return set().union(*(family for family in families if family & lost))


@dataclass(frozen=True)
class _Book:
    """All that `Evidence.of` was given, in the numbers of the whole book."""

    pedigree: Pedigree
    looks: tuple[Looks, ...]
    counted: Mapping[int, GroupCountData]
    given: Table
    shares: Table
    errors: float

    def part(self, kept: Sequence[int]) -> Evidence:
        """The evidence of some whole families."""
        place = {animal: number for number, animal in enumerate(kept)}
        counted = {
            number: self.counted[litter].renumbered(place)
            for number, litter in enumerate(_litters_of(self.pedigree, place))
            if litter in self.counted
        }
        own = [self.looks[row] for row in kept]
        may_be = (looks for one in counted.values() for looks in one.seen())
        rows = {looks: number for number, looks in enumerate(dict.fromkeys([(), *own, *may_be]))}
        details = np.array([details_likelihood(row) for row in own]).reshape(-1, 3)
        at = np.array(kept, dtype=np.int64)
        rates = mix_up_rates(self.pedigree, self.looks, MIXED_UP)
        rates = (
            rates if self.errors > 0 else np.full_like(rates, MIXED_UP)
        )  # as in `PosteriorProblem`
        return Evidence(
            part_of(self.pedigree, kept),
            rows,
            np.array([rows[looks] for looks in own], dtype=np.int64),
            look_table(list(rows)),
            counted,
            details,
            self.given[at],
            self.shares[at],
            rates[at][:, None],
            self.errors,
            tuple(sorted(set(range(len(self.pedigree))) - place.keys())),
        )


def _mixed(chances: Table, rates: Table | float) -> Table:
    """Chances of looks that were made, this often, at an animal of any dose."""
    mixed: Table = (1 - rates) * chances + rates * chances.mean(axis=1, keepdims=True)
    return mixed


def part_of(pedigree: Pedigree, animals: Iterable[int]) -> Pedigree:
    """The pedigree of whole families, or of litters without parents, alone, in this order; without
    their tallies."""
    animals = list(animals)
    place = {animal: number for number, animal in enumerate(animals)}
    litters = [
        Litter(
            tuple(place[pup] for pup in litter.pups),
            sires=tuple(place[sire] for sire in litter.sires),
            dams=tuple(place[dam] for dam in litter.dams),
            sire_weights=litter.sire_weights,
            dam_weights=litter.dam_weights,
            mix_ups=tuple(LabelSwap(place[a], place[b], chance) for a, b, chance in litter.mix_ups),
        )
        for litter in (pedigree.litters[number] for number in _litters_of(pedigree, place))
    ]
    return Pedigree(tuple(pedigree.ids[animal] for animal in animals), tuple(litters))


def _litters_of(pedigree: Pedigree, place: Mapping[int, int]) -> list[int]:
    """The litters whose pups, or where there are none whose parents, are these animals."""
    members = [{*(litter.pups or litter.candidates)} for litter in pedigree.litters]
    return [number for number, own in enumerate(members) if own and own <= place.keys()]
