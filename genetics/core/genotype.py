"""What each animal carries of a gene, and what a litter to be will show of it.

The same engine as for doses (`dose.py`), for a gene of any number of alleles from `loci.toml`.
Each gene is reckoned by itself: none of them is known to be linked to another.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.case import BUDGET, Case
from genetics.core.dose import Dose, reckon_case
from genetics.core.factors import Table
from genetics.core.loci import Gene
from genetics.core.mendel import transmission
from genetics.core.pedigree import Pedigree
from genetics.core.solving import solve

__all__ = ["among_the_weaned", "joint_genotypes", "pup_genotypes", "reckon_genotypes"]


def reckon_genotypes(
    pedigree: Pedigree,
    gene: Gene,
    likelihood: Table,
    *,
    errors: float = 0.0,
    budget: float = BUDGET,
    approximate: bool = False,
    asked: Collection[int] | None = None,
) -> Dose:
    """Posterior (n, g) of each animal's genotype, as `chances` of what `reckon_dose` returns.

    `likelihood` (n, g): chance, on any scale, of what was seen of each animal, as
    `Gene.likelihood` gives it; for an animal known to have lived, times `Gene.lives`. Founders and
    unknown parents come from the gene's pool. The other arguments, and what is raised, are those
    of `reckon_dose`.
    """
    case = Case.of_locus(pedigree, likelihood, gene.frequencies, errors, None, budget)
    if not approximate:
        return reckon_case(case)
    return reckon_case(case, asked=range(len(pedigree)) if asked is None else asked)


def joint_genotypes(
    pedigree: Pedigree,
    gene: Gene,
    likelihood: Table,
    pair: tuple[int, int],
    *,
    errors: float = 0.0,
    budget: float = BUDGET,
) -> Table:
    """Joint posterior (g, g) of two animals' genotypes, the first by rows; NaN where tangled.

    A variable with a state for each pair of genotypes stands beside the two, and its shares are
    read off. Only animals with evidence, the two, and the ancestors of both kinds are looked at:
    the others sum to one. Two different animals are wanted: else ValueError. Where no genotypes
    explain the evidence, Contradiction is raised.
    """
    first, second = pair
    if first == second:
        raise ValueError("a joint chance wants two different animals")
    case = Case.of_locus(pedigree, likelihood, gene.frequencies, errors, None, budget)
    states = case.genotypes
    built = case.network(_that_tell(case, pair))
    both = built.network.variable(states * states)
    table = np.zeros((states, states, states * states))
    rows, columns = np.divmod(np.arange(states * states), states)
    table[rows, columns, np.arange(states * states)] = 1
    built.network.factor((built.animals[first], built.animals[second], both), table)
    shares = solve(built.network, budget).shares[both]
    if shares is None:
        return np.full((states, states), np.nan)
    return shares.reshape(states, states)


def pup_genotypes(joint: Table, *, alleles: int) -> Table:
    """Chance (g,) of each genotype in a pup, by `joint` (g, g) of its sire (rows) and its dam."""
    per_pup: Table = np.einsum("sd,sdp->p", joint, transmission(alleles))
    return per_pup


def among_the_weaned(gene: Gene, chances: Table) -> Table:
    """Chances (..., g) at birth turned into those among the pups that live to be weaned.

    NaN where none would.
    """
    living = chances * gene.lives
    total = living.sum(axis=-1, keepdims=True)
    shares: Table = np.divide(living, total, out=np.full_like(living, np.nan), where=total > 0)
    return shares


def _that_tell(case: Case, pair: Sequence[int]) -> NDArray[np.int32]:
    """The pair and whoever has evidence in the families of the two, with all their ancestors."""
    wanted = [family for family in case.pedigree.families() if not set(pair).isdisjoint(family)]
    telling = [one for family in wanted for one in family if case.says_something(one)]
    return case.pedigree.ancestry([*telling, *pair])
