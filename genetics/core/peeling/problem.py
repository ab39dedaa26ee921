"""The arguments of a calculation, checked once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from genetics.core.inference.exact import quick_price
from genetics.core.inference.factor_graph import Table
from genetics.core.inheritance.mendel import hardy_weinberg, transmission
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.family_network import Evidence, FamilyNetwork, Locus, family_network

BUDGET = 10**7.4  # entries of all tables of one component; `dear` goes beyond it, once
DEAREST_MIX_UPS = 1e6  # what a family may cost, so that whom a record is of is a choice
MOST_TRIED = 2000  # animals of a family; in larger ones that is not even tried


@dataclass(frozen=True)
class PosteriorProblem:
    """A pedigree with what was seen, what founders are like, and how genes are handed on."""

    pedigree: Pedigree
    evidence: Evidence
    founder_shares: Table
    locus: Locus
    budget: float

    @classmethod
    def of(
        cls,
        pedigree: Pedigree,
        likelihood: Table,
        frequency: float,
        errors: float,
        founder_prior: Table | None,
        budget: float,
    ) -> PosteriorProblem:
        """Check the arguments of `dose_posterior`. Raises ValueError."""
        if not 0 <= frequency <= 1:
            raise ValueError(f"frequency lies from 0 to 1, and is not {frequency}")
        frequencies = np.array([1 - frequency, frequency])
        case = cls.of_locus(pedigree, likelihood, frequencies, errors, founder_prior, budget)
        tallied = (number for number, litter in enumerate(pedigree.litters) if litter.tally)
        evidence = replace(case.evidence, tallied=frozenset(tallied))
        return replace(case, evidence=evidence)._with_mix_ups()

    @classmethod
    def of_locus(
        cls,
        pedigree: Pedigree,
        likelihood: Table,
        frequencies: Table,
        errors: float,
        founder_prior: Table | None,
        budget: float,
    ) -> PosteriorProblem:
        """The same for a locus of any number of alleles, at `frequencies` among founders that sum
        to one; tallies and mix-ups, which are of looks at the points, are left out. Raises
        ValueError."""
        if not 0 <= errors <= 1:
            raise ValueError(f"errors lies from 0 to 1, and is not {errors}")
        pool = hardy_weinberg(frequencies)
        records = _checked(pedigree, likelihood, "evidence", len(pool))
        shares = _prior_shares(pedigree, founder_prior, len(pool))
        orphans = pedigree.without_parents() & ~np.isnan(shares[:, 0])
        own = np.ones_like(records)
        own[orphans] = np.divide(shares, pool, out=np.zeros_like(shares), where=pool > 0)[orphans]
        founders = np.where(np.isnan(shares), pool, shares)
        _checked(pedigree, records * own, "evidence, together with the prior,", len(pool))
        locus = Locus(transmission(len(frequencies)), pool, errors)
        return cls(pedigree, Evidence(records, own), founders, locus, budget)

    @property
    def genotypes(self) -> int:
        """How many genotypes the locus has: three where it has two alleles."""
        return len(self.locus.pool)

    def holding(self, animal: int, genotype: int) -> PosteriorProblem:
        """The same with the animal's evidence at the other genotypes struck out."""
        own = self.evidence.own.copy()
        own[animal, np.arange(self.genotypes) != genotype] = 0
        return replace(self, evidence=replace(self.evidence, own=own))

    def with_evidence_of(self, animals: Sequence[int]) -> PosteriorProblem:
        """The same with the evidence on all other animals taken away, but for tallies."""
        others = np.ones(len(self.pedigree), dtype=bool)
        others[list(animals)] = False
        return self.without_evidence_of(np.flatnonzero(others).tolist())

    def without_evidence_of(
        self, animals: Sequence[int], tallies: Collection[int] = ()
    ) -> PosteriorProblem:
        """The same with the evidence on these animals, and these litters' tallies, taken away."""
        records, own = self.evidence.records.copy(), self.evidence.own.copy()
        records[list(animals)] = own[list(animals)] = 1
        tallied = frozenset(self.evidence.tallied) - frozenset(tallies)
        evidence = replace(self.evidence, records=records, own=own, tallied=tallied)
        return replace(self, evidence=evidence)

    def with_no_more_than(
        self, seen: Collection[int], bought: Collection[int], tallies: Collection[int]
    ) -> PosteriorProblem:
        """The same with the records of those `seen` alone, what those `bought` were bought as, and
        these litters' tallies."""
        unseen, unbought = (np.ones(len(self.pedigree), dtype=bool) for _ in range(2))
        unseen[list(seen)] = unbought[list(bought)] = False
        records, own, shares = (
            table.copy()
            for table in (self.evidence.records, self.evidence.own, self.founder_shares)
        )
        records[unseen] = own[unbought] = 1
        shares[unbought] = self.locus.pool
        tallied = frozenset(self.evidence.tallied).intersection(tallies)
        evidence = replace(self.evidence, records=records, own=own, tallied=tallied)
        return replace(self, evidence=evidence, founder_shares=shares)

    def bought_as(self, animal: int) -> Table:
        """How much likelier each genotype (g,) is by what an animal was bought as, on any scale;
        equal where it was not, or nobody knows."""
        row: Table
        if self.pedigree.litter_of[animal] != -1:
            row = self.evidence.own[animal]
            return row
        shares, pool = self.founder_shares[animal], self.locus.pool
        row = np.divide(shares, pool, out=np.ones_like(shares), where=pool > 0)
        return row

    def network(self, family: Sequence[int] | NDArray[np.int32]) -> FamilyNetwork:
        """The network of animals that include all their possible parents."""
        return family_network(self.pedigree, family, self.evidence, self.founder_shares, self.locus)

    def _with_mix_ups(self) -> PosteriorProblem:
        """The same where pups may have been taken for each other, if records may be wrong at all.

        Whom a record is of is a choice of the litter where that is affordable: first in every
        litter, then only in those where no two of the pups have young, by a quick order of
        elimination. In the others it is weighed pup by pup, as of an animal that may have been
        taken for any other: (1 - x) L(d) + x mean L, x the chance that the pup was taken for one
        of which something else was seen.
        """
        mixing: set[int] = set()
        if self.locus.errors > 0 and any(litter.mix_ups for litter in self.pedigree.litters):
            parents = {one for litter in self.pedigree.litters for one in litter.candidates}
            for family in self.pedigree.families():
                mixing |= self._affordable(family, parents)
        evidence = self.evidence
        others = set(range(len(self.pedigree.litters))) - mixing if self.locus.errors > 0 else ()
        evidence = replace(evidence, mixing=frozenset(mixing), records=self._softened(others))
        return replace(self, evidence=evidence)

    def with_pups_weighed_singly(self) -> PosteriorProblem:
        """The same with no choice of whom a record is of: those pups are weighed one by one too,
        as `_with_mix_ups` has it for those of other litters."""
        if not self.evidence.mixing:
            return self
        records = self._softened(self.evidence.mixing)
        evidence = replace(self.evidence, mixing=frozenset(), records=records)
        return replace(self, evidence=evidence)

    def _affordable(self, family: Sequence[int], parents: set[int]) -> set[int]:
        """Those of a family's litters in which whom a record is of is to be a choice."""
        mixed = {
            number: _mixed_pups(self.pedigree.litters[number])
            for number in self._litters_of(family)
            if self.pedigree.litters[number].mix_ups
        }
        ends = {number for number, pups in mixed.items() if len(parents.intersection(pups)) < 2}
        for tried in (set(mixed), ends) if len(family) <= MOST_TRIED else ():
            if not tried:
                break
            trial = replace(self, evidence=replace(self.evidence, mixing=frozenset(tried)))
            if quick_price(trial.network(family).network) <= DEAREST_MIX_UPS:
                return tried
        return set()

    def _litters_of(self, family: Iterable[int]) -> set[int]:
        """The litters that animals of a family were born in."""
        return {int(self.pedigree.litter_of[animal]) for animal in family} - {-1}

    def _softened(self, litters: Collection[int]) -> Table:
        """The records, with pups of these litters weighed one by one."""
        records = self.evidence.records.copy()
        for litter in (self.pedigree.litters[number] for number in litters):
            for pup in _mixed_pups(litter):
                rows = self.evidence.records
                taken = sum(
                    one.chance
                    for one in litter.mix_ups
                    if pup in one[:2] and (rows[one.first] != rows[one.second]).any()
                )
                records[pup] = (1 - taken) * rows[pup] + taken * rows[pup].mean()
        return records

    def has_evidence(self, animal: int) -> bool:
        """Whether there is evidence on the animal by itself: its likelihoods differ."""
        return any(
            bool((rows[animal] != rows[animal, 0]).any())
            for rows in (self.evidence.records, self.evidence.own)
        )

    def rules_something_out(self, animal: int) -> bool:
        """Whether the evidence on the animal by itself leaves it not every genotype."""
        return bool((self.evidence.by_animal[animal] == 0).any())

    def telling(self, family: Iterable[int]) -> list[int]:
        """Those of a family that there is evidence on, ascending: by themselves, in a tally, by
        being parents of pups that are counted, or by being taken for one that was looked at."""
        members = set(family)
        found = {animal for animal in members if self.has_evidence(animal)}
        looked_at = set(found)
        for number in self.evidence.tallied:
            litter = self.pedigree.litters[number]
            found |= members & {*litter.counted, *litter.candidates}
        for number in self._litters_of(members).intersection(self.evidence.mixing):
            for first, second, _ in self.pedigree.litters[number].mix_ups:
                if looked_at & {first, second}:
                    found |= members & {first, second}
        return sorted(found)


def _mixed_pups(litter: Litter) -> list[int]:
    """The pups that may have been taken for a littermate."""
    return list(dict.fromkeys(pup for one in litter.mix_ups for pup in one[:2]))


def _checked(pedigree: Pedigree, rows: Table, what: str, genotypes: int) -> Table:
    """A float copy of rows, a column a genotype. Raises ValueError naming the animals."""
    rows = np.array(rows, dtype=np.float64)
    if rows.shape != (len(pedigree), genotypes):
        raise ValueError(f"{what} needs a row of {genotypes} for each of {len(pedigree)} animals")
    good = np.isfinite(rows).all(axis=1) & (rows >= 0).all(axis=1) & (rows > 0).any(axis=1)
    if not good.all():
        names = ", ".join(pedigree.ids[animal] for animal in np.flatnonzero(~good))
        raise ValueError(f"{what} is to be finite, not negative and not all zero: {names}")
    return rows


def _prior_shares(pedigree: Pedigree, prior: Table | None, genotypes: int) -> Table:
    """Given rows made to sum to one, NaN elsewhere. Raises ValueError naming the animals."""
    shares = np.full((len(pedigree), genotypes), np.nan)
    if prior is None:
        return shares
    rows = np.array(prior, dtype=np.float64)
    if rows.shape != shares.shape:
        raise ValueError(f"a prior needs a row of {genotypes} for each of {len(pedigree)} animals")
    given = ~np.isnan(rows).all(axis=1)
    bred = given & (pedigree.litter_of != -1) & ~pedigree.without_parents()
    if bred.any():
        names = ", ".join(pedigree.ids[animal] for animal in np.flatnonzero(bred))
        raise ValueError(f"a prior is for founders, and these have a known parent: {names}")
    rows[~given] = 1
    rows = _checked(pedigree, rows, "a prior", genotypes)
    shares[given] = (rows / rows.sum(axis=1, keepdims=True))[given]
    return shares
