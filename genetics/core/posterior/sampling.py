"""Doses of all animals drawn together, as likely as the records make them.

Where exact doses can be worked out, a draw is of the joint posterior: animals of a family differ
together, as relatives do. Where not, each animal is drawn by its own chances, approximate ones,
and the draws say so.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import ContradictionError
from genetics.core.inference.exact import components
from genetics.core.inference.factor_graph import Network, Table, reduce_network
from genetics.core.inference.junction_tree import draw
from genetics.core.large_pedigree.exact_trial import is_large, worth_an_exact_try
from genetics.core.peeling.problem import PosteriorProblem
from genetics.core.posterior.dose import InconsistentEvidenceError, solve_problem

MOST_DRAWN = 1_000_000  # doses drawn at a time, so that room does not grow with the herd

Doses = NDArray[np.int8]
States = dict[int, NDArray[np.int16]]


@dataclass(frozen=True)
class Draws:
    """`doses` (draws, n); `together` (n,): whether the animal was drawn with all its family."""

    doses: Doses
    together: NDArray[np.bool_]


def draw_doses(
    case: PosteriorProblem,
    draws: int,
    random: np.random.Generator,
    asked: frozenset[int] | None = None,
) -> Draws:
    """Draw the doses of every animal, or of the families of those `asked` for and no other.

    Raises InconsistentEvidenceError where no genotypes explain the evidence.
    """
    count = len(case.pedigree)
    found = Draws(np.zeros((draws, count), dtype=np.int8), np.ones(count, dtype=bool))
    for family in case.pedigree.families():
        if asked is not None and asked.isdisjoint(family):
            continue
        try:
            _draw_family(case, family, found, random, family if asked is None else asked)
        except ContradictionError:
            solve_problem(case, family[0])  # names those to blame
            raise InconsistentEvidenceError(
                family, [False] * len(family), case.pedigree.ids
            ) from None
    return found


def _draw_family(
    case: PosteriorProblem,
    family: Sequence[int],
    found: Draws,
    random: np.random.Generator,
    asked: Collection[int],
) -> None:
    draws = len(found.doses)
    core = _with_littermates(case, case.telling(family), set(family))
    for animals in (family, core):
        if is_large(animals) and not worth_an_exact_try(case, animals):
            continue
        built = case.network(animals)
        states = _states(built.network, case.budget, draws, random)
        if states is not None:
            for animal, variable in built.animals.items():
                found.doses[:, animal] = states[variable]
            _draw_the_silent(case, set(family) - built.animals.keys(), found.doses, random)
            return
    found.together[list(family)] = False
    chances = solve_problem(case, family[0], asked=asked).chances[list(family)]
    pool = np.broadcast_to(case.locus.pool, chances.shape)
    chances = np.where(np.isnan(chances), pool, chances)
    at_a_time = max(1, MOST_DRAWN // len(family))
    for first in range(0, draws, at_a_time):
        some = slice(first, min(first + at_a_time, draws))
        at = random.random((some.stop - some.start, len(family)))
        found.doses[some, list(family)] = drawn(chances, at)


def drawn(chances: Table, at: NDArray[np.float64]) -> Doses:
    """The dose that each number of [0, 1) stands for; `chances` (..., 3) of the same shape."""
    climbing = chances.cumsum(axis=-1)
    doses: Doses = (at[..., None] * climbing[..., -1:] >= climbing).sum(axis=-1).astype(np.int8)
    return doses


def _with_littermates(
    case: PosteriorProblem, telling: Sequence[int], family: set[int]
) -> list[int]:
    """The animals, their ancestors, and the littermates of both and of pups that were counted
    without a name, who share uncertain parents."""
    kin = {int(animal) for animal in case.pedigree.ancestry(telling)}
    for number, litter in enumerate(case.pedigree.litters):
        of = family if number in case.evidence.tallied else kin
        if of.intersection(litter.pups):
            kin.update(litter.pups)
    return sorted(kin)


def _states(
    network: Network, budget: float, draws: int, random: np.random.Generator
) -> States | None:
    """States drawn for each variable; None where that would exceed the budget."""
    settled = reduce_network(network)
    states = {
        variable: np.full(draws, kept[0], dtype=np.int16)
        for variable, kept in enumerate(settled.kept)
        if len(kept) == 1
    }
    parts = list(components(network, settled, budget))
    if any(part.plan.price > budget for part in parts):
        return None
    for part in parts:
        rows = draw(part.states, part.plan.order, part.factors, draws, random)
        for variable, kept, row in zip(part.variables, part.kept, rows, strict=True):
            states[variable] = np.array(kept, dtype=np.int16)[row]
    return states


def _draw_the_silent(
    case: PosteriorProblem, silent: set[int], doses: Doses, random: np.random.Generator
) -> None:
    """Animals whose litters say nothing of any other, by Mendel from their parents."""
    draws = len(doses)
    for animal in sorted(silent):
        if case.pedigree.litter_of[animal] == -1:
            shares = np.broadcast_to(case.founder_shares[animal], (draws, 3))
            doses[:, animal] = drawn(shares, random.random(draws))
    for number in case.pedigree.litter_order():
        litter = case.pedigree.litters[number]
        if silent.isdisjoint(litter.pups):
            continue
        errors = case.locus.errors
        sire = _parent(case, litter.sires, litter.sire_weights, errors, doses, random)
        dam = _parent(case, litter.dams, litter.dam_weights, 0.0, doses, random)
        for pup in litter.pups:
            doses[:, pup] = drawn(case.locus.transmission[sire, dam], random.random(draws))


def _parent(
    case: PosteriorProblem,
    candidates: Sequence[int],
    weights: Sequence[float],
    errors: float,
    doses: Doses,
    random: np.random.Generator,
) -> Doses:
    """The doses of a litter's parent: a candidate's, or those of another from the pool."""
    draws = len(doses)
    other = drawn(np.broadcast_to(case.locus.pool, (draws, 3)), random.random(draws))
    if not candidates:
        return other
    choice = random.choice(len(candidates), size=draws, p=weights)
    chosen = doses[np.arange(draws), np.array(candidates)[choice]]
    parent: Doses = np.where(random.random(draws) < errors, other, chosen)
    return parent
