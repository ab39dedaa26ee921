"""The arguments of a reckoning, checked once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from genetics.core.factors import Table
from genetics.core.families import FamilyNetwork, Locus, family_network
from genetics.core.mendel import hardy_weinberg, transmission
from genetics.core.pedigree import Pedigree

BUDGET = 10**7.4  # entries of all tables of one component


@dataclass(frozen=True)
class Case:
    """A pedigree with what was seen, what founders are like, and how genes are handed on."""

    pedigree: Pedigree
    likelihood: Table
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
    ) -> Case:
        """Check the arguments of `reckon_dose`. Raises ValueError."""
        if not 0 <= frequency <= 1:
            raise ValueError(f"frequency lies from 0 to 1, and is not {frequency}")
        frequencies = np.array([1 - frequency, frequency])
        return cls.of_locus(pedigree, likelihood, frequencies, errors, founder_prior, budget)

    @classmethod
    def of_locus(
        cls,
        pedigree: Pedigree,
        likelihood: Table,
        frequencies: Table,
        errors: float,
        founder_prior: Table | None,
        budget: float,
    ) -> Case:
        """The same for a locus of any number of alleles, at `frequencies` among founders that sum
        to one. Raises ValueError."""
        if not 0 <= errors <= 1:
            raise ValueError(f"errors lies from 0 to 1, and is not {errors}")
        pool = hardy_weinberg(frequencies)
        evidence = _checked(pedigree, likelihood, "evidence", len(pool))
        shares = _prior_shares(pedigree, founder_prior, len(pool))
        orphans = pedigree.without_parents() & ~np.isnan(shares[:, 0])
        worth = np.divide(shares, pool, out=np.zeros_like(shares), where=pool > 0)
        evidence[orphans] *= worth[orphans]
        founders = np.where(np.isnan(shares), pool, shares)
        evidence = _checked(pedigree, evidence, "evidence, together with the prior,", len(pool))
        locus = Locus(transmission(len(frequencies)), pool, errors)
        return cls(pedigree, evidence, founders, locus, budget)

    @property
    def genotypes(self) -> int:
        """How many genotypes the locus has: three where it has two alleles."""
        return len(self.locus.pool)

    def holding(self, animal: int, genotype: int) -> Case:
        """The same with the animal's evidence at the other genotypes struck out."""
        likelihood = self.likelihood.copy()
        likelihood[animal, np.arange(self.genotypes) != genotype] = 0
        return replace(self, likelihood=likelihood)

    def with_evidence_of(self, animals: Sequence[int]) -> Case:
        """The same with the evidence on all other animals taken away."""
        likelihood = np.ones_like(self.likelihood)
        likelihood[list(animals)] = self.likelihood[list(animals)]
        return replace(self, likelihood=likelihood)

    def without_evidence_of(self, animals: Sequence[int]) -> Case:
        """The same with the evidence on these animals taken away."""
        likelihood = self.likelihood.copy()
        likelihood[list(animals)] = 1
        return replace(self, likelihood=likelihood)

    def network(self, family: Sequence[int] | NDArray[np.int32]) -> FamilyNetwork:
        """The network of animals that include all their possible parents."""
        return family_network(
            self.pedigree, family, self.likelihood, self.founder_shares, self.locus
        )

    def says_something(self, animal: int) -> bool:
        """Whether there is evidence on the animal: its likelihoods differ."""
        row = self.likelihood[animal]
        return bool((row != row[0]).any())


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
