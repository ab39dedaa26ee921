"""How many doses of the points allele each animal carries, given all that was seen.

The exact posterior over 0, 1 and 2 doses: Mendel's law through every litter, a prior for every
founder and unknown parent, and one likelihood row for each animal. Elston RC, Stewart J 1971,
A general model for the genetic analysis of pedigree data, Hum Hered 21:523-542; with loops,
Cannings C, Thompson EA, Skolnick MH 1978, Probability functions on complex pedigrees, Adv Appl
Prob 10:26-61 (both cited from memory). A family that would cost more than the budget gets no
figures: it is listed as tangled, and nothing is made up for it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from genetics.core.case import BUDGET, Case
from genetics.core.factors import Contradiction, Table
from genetics.core.families import FamilyNetwork
from genetics.core.impossible import Impossible, single_culprits
from genetics.core.pedigree import Pedigree
from genetics.core.solving import Solution, can_be, solve

PATIENCE = 20  # budgets to spend, in all, on litters that say nothing

__all__ = ["BUDGET", "Dose", "Impossible", "Tangle", "joint_dose", "joint_doses", "reckon_dose"]


@dataclass(frozen=True)
class Tangle:
    """Animals that are too tangled to be exact, and the price of it in table entries."""

    animals: tuple[int, ...]
    price: float


@dataclass(frozen=True)
class Dose:
    """What follows for each animal, in the pedigree's order.

    `chances` (n, 3): posterior of 0, 1, 2 doses, NaN where tangled. `method`: 'exact', or ''
    where there is no figure. `sire_shares` and `dam_shares`: for each litter with a choice, the
    posterior share of each candidate in the litter's order and, where errors are allowed for, of
    another, unrelated sire last. `prices`: what each component cost, in table entries.
    `log_likelihood`: natural logarithm of the chance of all evidence as scaled by the caller,
    NaN where a family is tangled.
    """

    chances: Table
    method: tuple[str, ...]
    tangled: tuple[Tangle, ...] = ()
    sire_shares: dict[int, Table] = field(default_factory=dict)
    dam_shares: dict[int, Table] = field(default_factory=dict)
    prices: tuple[float, ...] = ()
    log_likelihood: float = math.nan


def reckon_dose(
    pedigree: Pedigree,
    likelihood: Table,
    *,
    frequency: float,
    errors: float = 0.0,
    founder_prior: Table | None = None,
    budget: float = BUDGET,
) -> Dose:
    """Exact posterior of each animal's dose.

    `likelihood` (n, 3): chance, on any scale, of all that was seen of the animal itself at each
    dose; equal where nothing was. `frequency`: of the points allele among founders and unknown
    parents. `errors`: chance that a litter's recorded sire, candidates and all, is another,
    unrelated boar drawn from the founders, once for the litter; unknown sires and dams are not
    touched. `founder_prior` (n, 3) or None: genotype shares for a founder, on any scale; a row
    of NaN stands for Hardy-Weinberg at `frequency`. For littermates of no known parent, who are
    not independent, such a row is evidence: its shares over those of Hardy-Weinberg, so that one
    alone has just these shares. `budget`: table entries a component may
    cost.

    Raises ValueError for values that cannot be and Impossible where no genotypes explain the
    evidence.
    """
    case = Case.of(pedigree, likelihood, frequency, errors, founder_prior, budget)
    return reckon_case(case)


def reckon_case(case: Case, animal: int | None = None) -> Dose:
    """The same for checked arguments; if an animal is named, figures for its family alone."""
    families = case.pedigree.families()
    if animal is not None:
        families = [family for family in families if animal in family]
    found = _Found(case.pedigree)
    blamed: list[tuple[int, bool]] = []
    for family in families:
        try:
            _reckon_family(case, family, found)
        except Contradiction:
            blamed += _blame(case, family)
    if blamed:
        blamed.sort()
        raise Impossible([a for a, _ in blamed], [one for _, one in blamed], case.pedigree.ids)
    return found.dose(case)


def joint_dose(
    pedigree: Pedigree,
    likelihood: Table,
    pair: tuple[int, int],
    *,
    frequency: float,
    errors: float = 0.0,
    founder_prior: Table | None = None,
    budget: float = BUDGET,
) -> Table:
    """Joint posterior (3, 3) of two animals' doses, the first by rows; NaN where tangled.

    Arguments and errors raised are those of `reckon_dose`. Two different animals are wanted.
    """
    first, second = pair
    if first == second:
        raise ValueError("a joint chance wants two different animals")
    both = joint_doses(
        pedigree,
        likelihood,
        first,
        frequency=frequency,
        errors=errors,
        founder_prior=founder_prior,
        budget=budget,
    )
    chances: Table = both[second]
    return chances


def joint_doses(
    pedigree: Pedigree,
    likelihood: Table,
    animal: int,
    *,
    frequency: float,
    errors: float = 0.0,
    founder_prior: Table | None = None,
    budget: float = BUDGET,
) -> Table:
    """Joint posterior (n, 3, 3) of one animal's dose (rows) with each other animal's (columns).

    The animal is held at each of its possible doses in turn and the rest reckoned anew:
    P(a, b) = P(a) P(b | a). Its own entry is diagonal. Arguments and errors raised are those of
    `reckon_dose`.
    """
    case = Case.of(pedigree, likelihood, frequency, errors, founder_prior, budget)
    base = reckon_case(case).chances
    joint: Table = base[animal][None, :, None] * base[:, None, :]
    family = next(family for family in pedigree.families() if animal in family)
    for dose, chance in enumerate(base[animal].tolist()):
        if chance == 0:
            joint[family, dose] = 0
        else:
            held = reckon_case(case.holding(animal, dose), animal)
            joint[family, dose] = chance * held.chances[family]
    return joint


class _Found:
    """Figures as they come in, family by family."""

    def __init__(self, pedigree: Pedigree) -> None:
        self.chances = np.full((len(pedigree), 3), np.nan)
        self.sire_shares: dict[int, Table] = {}
        self.dam_shares: dict[int, Table] = {}
        self.tangled: list[Tangle] = []
        self.prices: list[float] = []
        self.log_likelihood = 0.0

    def dose(self, case: Case) -> Dose:
        self.chances.setflags(write=False)
        return Dose(
            self.chances,
            tuple("" if missing else "exact" for missing in np.isnan(self.chances[:, 0])),
            tuple(self.tangled),
            self.sire_shares,
            self.dam_shares,
            tuple(self.prices),
            math.nan if self.tangled else self.log_likelihood,
        )

    def take(self, built: FamilyNetwork, solution: Solution) -> None:
        """Enter what a solution says, where there is no figure yet."""
        for animal, variable in built.animals.items():
            shares = solution.shares[variable]
            if shares is not None and np.isnan(self.chances[animal, 0]):
                self.chances[animal] = shares
        for choices, known in (
            (built.sire_choices, self.sire_shares),
            (built.dam_choices, self.dam_shares),
        ):
            for litter, variable in choices.items():
                shares = solution.shares[variable]
                if shares is not None:
                    known.setdefault(litter, shares)


def _reckon_family(case: Case, family: Sequence[int], found: _Found) -> None:
    """All figures of one family. Raises Contradiction."""
    built = case.network(family)
    whole = solve(built.network, case.budget)
    found.take(built, whole)
    core = _without_the_silent(case, family, found) if whole.tangled else None
    found.prices += whole.prices
    found.log_likelihood += (core or whole).log_weight
    animal_of = {variable: animal for animal, variable in built.animals.items()}
    for variables, price in whole.tangled:
        animals = sorted(animal_of[variable] for variable in variables if variable in animal_of)
        missing = tuple(animal for animal in animals if np.isnan(found.chances[animal, 0]))
        if missing:
            found.tangled.append(Tangle(missing, price))


def _without_the_silent(case: Case, family: Sequence[int], found: _Found) -> Solution | None:
    """Reckon a tangled family without the animals that say nothing of any other.

    Those are the ones with no evidence on themselves or their descendants: summed over, they
    drop out, and with them the couplings of their parents. Each litter of them is then reckoned
    with its ancestors alone. Returns the solution for all evidence, or None where it is tangled.
    """
    telling = [animal for animal in family if case.says_something(animal)]
    built = case.network(case.pedigree.ancestry(telling))
    if len(built.animals) == len(family):
        return None
    core = solve(built.network, case.budget)
    found.take(built, core)
    if core.tangled:
        return None
    silent = set(family) - built.animals.keys()
    left = PATIENCE * case.budget
    for number in case.pedigree.litter_order():
        pups = [pup for pup in case.pedigree.litters[number].pups if pup in silent]
        if pups and left > 0 and np.isnan(found.chances[pups[0], 0]):
            built = case.network(case.pedigree.ancestry([*telling, pups[0]]))
            solution = solve(built.network, case.budget)
            found.take(built, solution)
            found.chances[[pup for pup in pups if np.isnan(found.chances[pup, 0])]] = found.chances[
                pups[0]
            ]
            left -= sum(price for price in solution.prices if price <= case.budget)
    return core


def _blame(case: Case, family: Sequence[int]) -> list[tuple[int, bool]]:
    """The animals to name in a family whose evidence is impossible; True for single culprits."""
    hard = [animal for animal in family if (case.likelihood[animal] == 0).any()]

    def possible(animals: Sequence[int]) -> bool | None:
        alone = case.with_evidence_of(animals)
        network = alone.network(case.pedigree.ancestry(animals)).network
        return can_be(network, case.budget)

    culprits = single_culprits(hard, possible)
    if culprits:
        return [(animal, True) for animal in culprits]
    return [(animal, False) for animal in family if case.says_something(animal)]
