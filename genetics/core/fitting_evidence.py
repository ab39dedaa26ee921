"""The chance of a whole book as its parameters move: what fitting climbs on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.curves import CURVES, Curves
from genetics.core.details import details_likelihood
from genetics.core.dose import Dose, Impossible, reckon_dose
from genetics.core.doubt import mix_up_rates
from genetics.core.evidence import MISJUDGED, MIXED_UP, look_table
from genetics.core.onset import LookTable
from genetics.core.pedigree import Litter, Pedigree
from genetics.core.seen import Seen, SeenLook, as_seen

Table = NDArray[np.float64]

NEAR = 2.0  # spreads from the median age: a look further off says nearly nothing of a milestone


@dataclass(frozen=True)
class Parameters:
    """What the reckoning of points takes for granted and a book can teach."""

    frequency: float
    curves: Curves = CURVES


@dataclass(frozen=True)
class _Weighed:
    """Chances of looks (n, 3) at each dose, the largest of each row 1, and the logarithms (n,)
    that they were scaled by; with mix-ups in `mixed`."""

    chances: Table
    mixed: Table
    scale: Table


@dataclass(frozen=True)
class Evidence:
    """The families of a book that the exact engine can reckon, and all that was seen in them.

    A pup that may have been taken for a littermate is weighed as one that was the more often taken
    for any animal; counts of pups not told apart are left out. `mixed_up` (n, 1) is how often an
    animal was taken for another, a littermate or not. `left_out`: the animals of the other
    families, as numbered in the whole book.
    """

    pedigree: Pedigree
    looks: tuple[tuple[SeenLook, ...], ...]
    table: LookTable
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
        *,
        frequency: float,
    ) -> Evidence:
        """The whole book but for what is too tangled or contradicts itself. Raises ValueError."""
        size = len(pedigree)
        given = np.ones((size, 3)) if given is None else given
        shares = np.full((size, 3), np.nan) if founder_prior is None else founder_prior
        seen = tuple(tuple(as_seen(row)) for row in looks)
        kept = np.arange(size)
        while True:
            part = cls._part(pedigree, kept, seen, given, shares, errors)
            lost = part._unreckoned(Parameters(frequency)) if len(kept) else set()
            if not lost:
                return part
            kept = np.array([row for number, row in enumerate(kept) if number not in lost], int)

    @classmethod
    def _part(
        cls,
        pedigree: Pedigree,
        kept: NDArray[np.int64],
        seen: tuple[tuple[SeenLook, ...], ...],
        given: Table,
        shares: Table,
        errors: float,
    ) -> Evidence:
        own = tuple(seen[row] for row in kept)
        details = np.array([details_likelihood(row) for row in own]).reshape(-1, 3)
        left_out = tuple(sorted(set(range(len(pedigree))) - set(kept.tolist())))
        return cls(
            part_of(pedigree, kept.tolist()),
            own,
            look_table(own),
            details,
            given[kept],
            shares[kept],
            mix_up_rates(pedigree, seen, MIXED_UP)[kept][:, None],
            errors,
            left_out,
        )

    def log_likelihood(self, parameters: Parameters) -> float:
        """Logarithm of the chance of all that was seen, given what founders were bought as."""
        weighed = self._weighed(parameters.curves)
        dose = self._dose(parameters, weighed)
        bought = self._as_bought(parameters.frequency)
        return float(dose.log_likelihood + weighed.scale.sum() - bought)

    def weights(self, parameters: Parameters) -> Table:
        """Chance (n, 3) that the looks written to each animal are of one of each dose: of itself,
        or of another that was looked at instead."""
        weighed = self._weighed(parameters.curves)
        chances = self._dose(parameters, weighed).chances / weighed.mixed
        itself = (1 - self.mixed_up) * weighed.chances * chances
        another = self.mixed_up / 3 * weighed.chances * chances.sum(axis=1, keepdims=True)
        weights: Table = itself + another
        return weights

    def expected_log_chance(self, curves: Curves, dose: int, weights: Table) -> float:
        """Sum of the logarithms of the chances of all looks at one dose, by weights (n,)."""
        return float(weights @ self.table.log_chances(dose, curves, MISJUDGED))

    def looks_near(self, parameters: Parameters) -> tuple[float, ...]:
        """For each milestone, how many looks at animals of its dose fall near its age."""
        weights = self.weights(parameters)
        counts = []
        for one in parameters.curves.milestones:
            low, high = (one.median_days * np.exp(side * NEAR * one.spread) for side in (-1, 1))
            near = [sum(low <= look.age_days <= high for look in row) for row in self.looks]
            counts.append(float(weights[:, one.dose] @ np.array(near, dtype=np.float64)))
        return tuple(counts)

    @property
    def founders(self) -> int:
        """Founders and unknown parents that no one was told of, in families where anything was
        seen."""
        told = set(np.flatnonzero([bool(row) for row in self.looks]).tolist())
        told |= set(np.flatnonzero((self.given != self.given[:, :1]).any(axis=1)).tolist())
        families = [set(family) for family in self.pedigree.families()]
        seen = set().union(*(family for family in families if family & told))
        unknown = np.isnan(self.founder_prior[:, 0]) & (self.pedigree.litter_of == -1)
        count = len(seen & set(np.flatnonzero(unknown).tolist()))
        for litter in self.pedigree.litters:
            if set(litter.pups) & seen:
                count += (not litter.sires) + (not litter.dams)
        return count

    def _weighed(self, curves: Curves) -> _Weighed:
        logs = np.column_stack(
            [self.table.log_chances(dose, curves, MISJUDGED) for dose in range(3)]
        )
        logs += np.log(self.details)
        scale = logs.max(axis=1)
        chances = np.exp(logs - scale[:, None])
        mean = chances.mean(axis=1, keepdims=True)
        mixed = (1 - self.mixed_up) * chances + self.mixed_up * mean
        return _Weighed(chances, mixed, scale)

    def _dose(self, parameters: Parameters, weighed: _Weighed) -> Dose:
        return reckon_dose(
            self.pedigree,
            weighed.mixed * self.given,
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
        alone = reckon_dose(
            part_of(self.pedigree, rows),
            np.ones((len(rows), 3)),
            frequency=frequency,
            founder_prior=self.founder_prior[rows],
        )
        return alone.log_likelihood

    def _unreckoned(self, parameters: Parameters) -> set[int]:
        """The animals of families that get no exact figures."""
        try:
            dose = self._dose(parameters, self._weighed(parameters.curves))
            lost = set(np.flatnonzero(np.isnan(dose.chances[:, 0])).tolist())
        except Impossible as impossible:
            lost = set(impossible.animals)
        families = [set(family) for family in self.pedigree.families()]
        return set().union(*(family for family in families if family & lost))


def part_of(pedigree: Pedigree, animals: Iterable[int]) -> Pedigree:
    """The pedigree of whole families, or of litters without parents, alone; in this order, and
    with every pup told apart."""
    animals = list(animals)
    place = {animal: number for number, animal in enumerate(animals)}
    litters = [
        Litter(
            tuple(place[pup] for pup in litter.pups),
            sires=tuple(place[sire] for sire in litter.sires),
            dams=tuple(place[dam] for dam in litter.dams),
            sire_weights=litter.sire_weights,
            dam_weights=litter.dam_weights,
        )
        for litter in pedigree.litters
        if litter.pups and litter.pups[0] in place
    ]
    litters = [litter for litter in litters if litter.pups]
    return Pedigree(tuple(pedigree.ids[animal] for animal in animals), tuple(litters))
