"""How many doses of the points allele each animal carries, given all that was seen.

The exact posterior over 0, 1 and 2 doses: Mendel's law through every litter, a prior for every
founder and unknown parent, and one likelihood row for each animal. Elston RC, Stewart J 1971,
A general model for the genetic analysis of pedigree data, Hum Hered 21:523-542; with loops,
Cannings C, Thompson EA, Skolnick MH 1978, Probability functions on complex pedigrees, Adv Appl
Prob 10:26-61 (both cited from memory). A family that would cost more than the budget gets no
figures, or approximate ones with an estimate of their error where the caller asks for them; where
the approximation does not settle, the family is listed as tangled and nothing is made up for it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from genetics.core.exceptions import ContradictionError, InconsistentEvidenceError
from genetics.core.inference.exact import Component, Solution, can_be, quick_price, solve
from genetics.core.inference.factor_graph import Table
from genetics.core.inference.large_exact import large_exact_marginals
from genetics.core.large_pedigree.exact_trial import is_large, worth_an_exact_try
from genetics.core.large_pedigree.register_store import WarmStart
from genetics.core.large_pedigree.solver import explained
from genetics.core.numerics.kernels import installed
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.family_network import FamilyNetwork
from genetics.core.peeling.inconsistency import single_culprits
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.approximate import approximate_family
from genetics.core.posterior.result import Dose, IntractableFamily, PosteriorBuilder

# Of the budget, to do without them before all of a family is tried as dear.
FIRST_TRY_FRACTION = 0.05
UNINFORMATIVE_BUDGET = 4.0  # budgets to spend, in all, on litters that say nothing
MOST_UNTOLD = 4  # questions of whom to blame that prove too dear, and then no more are asked
ATTEMPT = 0.05  # budgets that it costs to find out how many of them can be worked out at once

__all__ = [
    "BUDGET",
    "Dose",
    "InconsistentEvidenceError",
    "IntractableFamily",
    "joint_dose",
    "joint_doses",
    "dose_posterior",
]


def dose_posterior(
    pedigree: Pedigree,
    likelihood: Table,
    *,
    frequency: float,
    errors: float = 0.0,
    founder_prior: Table | None = None,
    budget: float = BUDGET,
    approximate: bool = False,
    asked: Collection[int] | None = None,
    among: Collection[int] | None = None,
    warm_start: WarmStart | None = None,
) -> Dose:
    """Posterior of each animal's dose, exact where the budget allows.

    Parameters
    ----------
    pedigree : Pedigree
        n animals. Group counts and label swaps of its litters are evidence too, label swaps only
        where `errors` is above 0, and pup by pup where they would cost too much (see
        `PosteriorProblem`) or the figures are approximate.
    likelihood : array (n, 3)
        The chance, on any scale, of all that was seen of the animal itself at each dose; equal
        where nothing was seen.
    frequency : float
        Of the points allele among founders and unknown parents.
    errors : float
        The chance that a litter's recorded sire, candidates and all, is another, unrelated boar
        drawn from the founders, once for the litter. Unknown sires and dams are not touched.
    founder_prior : array (n, 3), optional
        Genotype shares of a founder, on any scale; a row of NaN stands for Hardy-Weinberg at
        `frequency`. For littermates of no known parent, who are not independent, such a row is
        evidence: its shares over those of Hardy-Weinberg, so that one alone has just these shares.
    budget : float
        Table entries that exact inference on a component may cost.
    approximate : bool
        Whether families that would cost more get approximate figures rather than none. As these
        are asked for once, a family may first cost as much more as `large_exact` allows, if the
        budget is not less than `BUDGET`; one that by its size cannot but cost more is not tried
        exactly first.
    asked : collection of int, optional
        The animals whose approximate figures are refined; all by default.
    among : collection of int, optional
        The animals whose families are wanted, the others left without a figure; all by default.
    warm_start : WarmStart, optional
        Where approximate families are found as they were, and kept: only what has changed is
        worked out again, and figures are those of a fresh start within their estimated errors.

    Returns
    -------
    Dose
        Chances (n, 3), how each was found, and how far it may be off.

    Raises
    ------
    ValueError
        For values that cannot be.
    InconsistentEvidenceError
        Where no genotypes explain the evidence. In a family that is approximate, that may go
        unnoticed.

    References
    ----------
    Elston RC, Stewart J 1971, A general model for the genetic analysis of pedigree data, Hum Hered
    21:523-542, doi:10.1159/000152448; Lauritzen SL, Spiegelhalter DJ 1988, Local computations with
    probabilities on graphical structures, J R Stat Soc B 50:157-224 (both from memory).
    """
    case = PosteriorProblem.of(pedigree, likelihood, frequency, errors, founder_prior, budget)
    if not approximate:
        return solve_problem(case, among=among)
    asked = range(len(pedigree)) if asked is None else asked
    return solve_problem(case, asked=asked, among=among, warm_start=warm_start)


def solve_problem(
    case: PosteriorProblem,
    animal: int | None = None,
    asked: Collection[int] | None = None,
    among: Collection[int] | None = None,
    warm_start: WarmStart | None = None,
) -> Dose:
    """The same for checked arguments; if an animal is named, figures for its family alone, and if
    several are, `among`, for theirs.

    Approximate where `asked` names animals to refine, if only none; exact or nothing without it.
    """
    pedigree = case.pedigree
    families = pedigree.families() if animal is None else [pedigree.family(animal)]
    if among is not None:
        wanted = {int(pedigree.family_of[one]) for one in among}
        families = [one for one in families if int(pedigree.family_of[one[0]]) in wanted]
    found = PosteriorBuilder(case)
    blamed: list[tuple[int, bool]] = []
    for family in families:
        try:
            _compute_family(case, family, found, asked, warm_start)
        except ContradictionError:
            blamed += _blame(case, family)
    if blamed:
        blamed.sort()
        raise InconsistentEvidenceError(
            [a for a, _ in blamed], [one for _, one in blamed], case.pedigree.ids
        )
    return found.dose()


def solve_animal(
    case: PosteriorProblem, animal: int, once: bool = True, others: Collection[int] = ()
) -> Dose:
    """What follows for one animal and for these others of its family, from those relatives alone
    that tell something: exact where it may be, else refined. Of the rest, what comes with it.

    `once`: a tangled family may cost what it may where its figures are asked for once. Raises
    InconsistentEvidenceError.
    """
    asked = [animal, *others]
    family = case.pedigree.family(animal)
    telling = case.pedigree.ancestry([*case.telling(family), *asked])
    if is_large(telling):
        return solve_problem(case, animal, asked)
    found = PosteriorBuilder(case)
    built = case.network(telling)
    once = once and case.budget >= BUDGET and installed()
    try:
        whole = solve(built.network, case.budget, once)
        found.take(built, whole)
        found.prices += whole.prices
        wanted = {built.animals[one] for one in asked}
        left = [part for part in whole.tangled if wanted.intersection(part.variables)]
        if once:
            left, _ = _afforded(case, built, left, found)
        if any(found.misses(built, part) for part in left):
            approximate_family(case, telling.tolist(), found, asked, left)
    except ContradictionError:
        return solve_problem(case, animal)
    return found.dose()


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

    Arguments and errors raised are those of `dose_posterior`. Two different animals are wanted.
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
    chances: Table | None = None,
    once: bool = False,
) -> Table:
    """Joint posterior (n, 3, 3) of one animal's dose (rows) with each other animal's (columns).

    The animal is held at each of its possible doses in turn and the rest worked out again:
    P(a, b) = P(a) P(b | a). Its own entry is diagonal. `chances` (n, 3), where the caller has
    them, are each animal's by `dose_posterior`. `once`: a tangled family may cost what it may where
    its figures are asked for once. Arguments and errors raised are those of `dose_posterior`.
    """
    case = PosteriorProblem.of(pedigree, likelihood, frequency, errors, founder_prior, budget)
    asked = () if once else None
    base = solve_problem(case).chances if chances is None else chances
    joint: Table = base[animal][None, :, None] * base[:, None, :]
    family = pedigree.family(animal)
    for dose, chance in enumerate(base[animal].tolist()):
        if chance == 0:
            joint[family, dose] = 0
        else:
            held = solve_problem(case.holding(animal, dose), animal, asked)
            exact = np.where(held.error[:, None] > 0, np.nan, held.chances)
            joint[family, dose] = chance * exact[family]
    return joint


def _compute_family(
    case: PosteriorProblem,
    family: Sequence[int],
    found: PosteriorBuilder,
    asked: Collection[int] | None,
    warm_start: WarmStart | None,
) -> None:
    """All figures of one family. Raises ContradictionError."""
    if is_large(family) and not worth_an_exact_try(case, family):
        if asked is None:
            found.tangled.append(IntractableFamily(tuple(family), math.inf))
        else:
            approximate_family(case, family, found, asked, (), warm_start)
        return
    built = case.network(family)
    once = asked is not None and case.budget >= BUDGET and installed()
    whole = solve(built.network, case.budget, once)
    found.take(built, whole)
    found.prices += whole.prices
    tangled, log_weight, core = whole.tangled, whole.log_weight, None
    if tangled and once:
        core = _prune_uninformative(
            replace(case, budget=FIRST_TRY_FRACTION * case.budget), family, found, once
        )
        wanted = [part for part in tangled if core is None or found.misses(built, part)]
        tangled, more = _afforded(case, built, wanted, found)
        log_weight += more
    if tangled and core is None:
        core = _prune_uninformative(case, family, found, once)
    found.log_likelihood += log_weight if core is None else core.log_weight
    tangled = [part for part in tangled if found.misses(built, part)]
    if tangled and asked is not None:
        approximate_family(case, family, found, asked, tangled, warm_start)
    elif tangled:
        found.tangled += [
            IntractableFamily(found.missed(built, part), part.plan.price) for part in tangled
        ]


def _afforded(
    case: PosteriorProblem,
    built: FamilyNetwork,
    tangled: Sequence[Component],
    found: PosteriorBuilder,
) -> tuple[list[Component], float]:
    """Exact figures of components that exceed the budget, as it may be where they are asked for
    once: not where many calculations of the family are. Those left, and the logarithm of the
    others' weights."""
    left, log_weight = [], 0.0
    for part in tangled:
        exact = large_exact_marginals(
            part.states, part.factors, part.plan, case.budget, part.together
        )
        if exact is None:
            left.append(part)
        else:
            shares, joint = part.spread(exact.shares), part.spread_joint(exact.joint)
            found.take_exact(built, dict(shares), dict(joint))
            log_weight += exact.log_weight
    return left, log_weight


def _prune_uninformative(
    case: PosteriorProblem, family: Sequence[int], found: PosteriorBuilder, once: bool
) -> Solution | None:
    """Work out a tangled family without the animals that say nothing of any other.

    Those are the ones with no evidence on themselves or their descendants: summed over, they
    drop out, and with them the couplings of their parents. Their litters are then worked out with
    their ancestors alone. Returns the solution for all evidence, or None where it is tangled.
    """
    telling = case.telling(family)
    built = case.network(case.pedigree.ancestry(telling))
    if len(built.animals) == len(family):
        return None
    core = solve(built.network, case.budget, once)
    found.take(built, core)
    if core.tangled:
        return None
    _compute_uninformative(case, telling, set(family) - built.animals.keys(), found)
    return core


def _compute_uninformative(
    case: PosteriorProblem, telling: Sequence[int], silent: set[int], found: PosteriorBuilder
) -> None:
    """Work out litters that say nothing, as many at once as the budget allows, until patience ends.

    Every attempt costs a share of it, and one that proves too dear for a litter a whole budget.
    """
    litters = [
        pups
        for number in case.pedigree.litter_order()
        if (pups := [pup for pup in case.pedigree.litters[number].pups if pup in silent])
    ]
    left, size = UNINFORMATIVE_BUDGET, len(litters)
    while left > 0 and (litters := [pups for pups in litters if found.missing(pups[0])]):
        tried = litters[:size]
        built = case.network(case.pedigree.ancestry([*telling, *(pups[0] for pups in tried)]))
        left -= ATTEMPT
        if size > 1 and quick_price(built.network) > case.budget:
            size //= 2
            continue
        solution = solve(built.network, case.budget)
        found.take(built, solution)
        for pups in tried:
            if not found.missing(pups[0]):
                for pup in pups:
                    found.enter(pup, found.chances[pups[0]])
        left -= sum(min(price / case.budget, 1) for price in solution.prices)
        litters, size = litters[len(tried) :], 2 * size


def _blame(case: PosteriorProblem, family: Sequence[int]) -> list[tuple[int, bool]]:
    """The animals to name in a family whose evidence is impossible; True for single culprits."""
    hard = [animal for animal in family if case.rules_something_out(animal)]
    untold = 0

    def possible(animals: Sequence[int]) -> bool | None:
        nonlocal untold
        if untold == MOST_UNTOLD:
            return None
        answer = answered(animals)
        untold += answer is None
        return answer

    def answered(animals: Sequence[int]) -> bool | None:
        alone = case.with_evidence_of(animals)
        concerned = case.pedigree.ancestry(alone.telling(family))
        if is_large(concerned):
            return explained(alone, concerned)
        return can_be(alone.network(concerned).network, case.budget)

    culprits = single_culprits(hard, possible)
    if culprits:
        return [(animal, True) for animal in culprits]
    return [(animal, False) for animal in family if case.has_evidence(animal)]
