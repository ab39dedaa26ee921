"""What each animal carries of a gene, and what a litter to be will show of it.

The same engine as for doses (`dose.py`), for a gene of any number of alleles from `loci.toml`.
Each gene is worked out by itself: none of them is known to be linked to another.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.inference.exact import solve
from genetics.core.inference.factor_graph import Table
from genetics.core.inheritance.loci import Gene
from genetics.core.inheritance.mendel import gametes, genotypes, transmission
from genetics.core.large_pedigree.exact_trial import is_large, worth_an_exact_try
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import Dose, solve_problem

__all__ = [
    "among_the_weaned",
    "joint_genotypes",
    "litter_to_be",
    "pairs_of_class",
    "pup_genotypes",
    "pup_written_in",
    "genotype_posterior",
]


def genotype_posterior(
    pedigree: Pedigree,
    gene: Gene,
    likelihood: Table,
    *,
    errors: float = 0.0,
    budget: float = BUDGET,
    approximate: bool = False,
    asked: Collection[int] | None = None,
) -> Dose:
    """Posterior (n, g) of each animal's genotype, as `chances` of what `dose_posterior` returns.

    `likelihood` (n, g): chance, on any scale, of what was seen of each animal, as
    `Gene.likelihood` gives it; for an animal known to have lived, times `Gene.lives`. Founders and
    unknown parents come from the gene's pool. The other arguments, and what is raised, are those
    of `dose_posterior`.
    """
    case = PosteriorProblem.of_locus(pedigree, likelihood, gene.frequencies, errors, None, budget)
    if not approximate:
        return solve_problem(case)
    return solve_problem(case, asked=range(len(pedigree)) if asked is None else asked)


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
    case = PosteriorProblem.of_locus(pedigree, likelihood, gene.frequencies, errors, None, budget)
    states, telling = case.genotypes, _that_tell(case, pair)
    if is_large(telling) and not worth_an_exact_try(case, telling):
        return np.full((states, states), np.nan)
    built = case.network(telling)
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


def pairs_of_class(gene: Gene, dams: Table, sires: Table, name: str) -> Table:
    """Chance (d, s) that a pup of each pair is of a class of the gene.

    By the genotypes (d, g) of the dams and (s, g) of the sires, each parent's by itself: exact for
    those that are no kin, and of whom nothing is seen that rests on both.
    """
    handed = gametes(len(gene.alleles))
    wanted = np.zeros((len(gene.alleles), len(gene.alleles)))
    for pair, number in zip(genotypes(len(gene.alleles)), gene.class_of, strict=True):
        wanted[pair] = wanted[pair[::-1]] = gene.classes[number] == name
    chances: Table = dams @ handed @ wanted @ (sires @ handed).T
    return chances


def litter_to_be(
    pedigree: Pedigree,
    gene: Gene,
    likelihood: Table,
    sire: int,
    dam: int,
    *,
    errors: float = 0.0,
    budget: float = BUDGET,
) -> tuple[Table, float]:
    """Chance (g,) of each genotype in a pup of these two, and an estimate of its error.

    By their joint posterior where that is exact, with an error of 0; else by `pup_written_in`.
    """
    joint = joint_genotypes(pedigree, gene, likelihood, (sire, dam), errors=errors, budget=budget)
    if not np.isnan(joint).any():
        return pup_genotypes(joint, alleles=len(gene.alleles)), 0.0
    return pup_written_in(pedigree, gene, likelihood, sire, dam, errors=errors, budget=budget)


def pup_written_in(
    pedigree: Pedigree,
    gene: Gene,
    likelihood: Table,
    sire: int,
    dam: int,
    *,
    errors: float = 0.0,
    budget: float = BUDGET,
) -> tuple[Table, float]:
    """The same by a pup of whom nothing is seen, worked out among all others: exact, refined or
    approximate as they are; NaN where that does not settle.

    `genotype_posterior` allows for another sire of this pup too, with chance e = `errors`. Of an
    unseen pup that says nothing of its parents, so its chances are (1 - e) x + e y, with y those of
    a pup by a founder, and x is what is wanted.
    """
    pup = len(pedigree)
    litter = Litter((pup,), sires=(sire,), dams=(dam,))
    grown = Pedigree((*pedigree.ids, "litter to be"), (*pedigree.litters, litter))
    unseen = np.vstack([likelihood, np.ones(len(gene.pool))])
    found = genotype_posterior(
        grown,
        gene,
        unseen,
        errors=errors,
        budget=budget,
        approximate=True,
        asked=[pup, dam],
    )
    other = pup_genotypes(np.outer(gene.pool, found.chances[dam]), alleles=len(gene.alleles))
    chances = np.maximum((found.chances[pup] - errors * other) / (1 - errors), 0)
    return chances / chances.sum(), float(found.error[pup]) / (1 - errors)


def among_the_weaned(gene: Gene, chances: Table) -> Table:
    """Chances (..., g) at birth turned into those among the pups that live to be weaned.

    NaN where none would.
    """
    living = chances * gene.lives
    total = living.sum(axis=-1, keepdims=True)
    shares: Table = np.divide(living, total, out=np.full_like(living, np.nan), where=total > 0)
    return shares


def _that_tell(case: PosteriorProblem, pair: Sequence[int]) -> NDArray[np.int32]:
    """The pair and whoever has evidence in the families of the two, with all their ancestors."""
    wanted = [family for family in case.pedigree.families() if not set(pair).isdisjoint(family)]
    telling = [one for family in wanted for one in family if case.has_evidence(one)]
    return case.pedigree.ancestry([*telling, *pair])
