"""Approximate figures of one family, of which exact ones would cost too much."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import numpy as np

from genetics.core.inference.exact import Component
from genetics.core.large_pedigree.register_store import RegisterStore, WarmStart
from genetics.core.large_pedigree.solver import Register
from genetics.core.peeling.problem import PosteriorProblem
from genetics.core.posterior.result import IntractableFamily, PosteriorBuilder


def approximate_family(
    case: PosteriorProblem,
    family: Sequence[int],
    found: PosteriorBuilder,
    asked: Collection[int],
    parts: Sequence[Component],
    warm_start: WarmStart | None = None,
) -> None:
    """Approximate figures for those of a family that have none, or a note of them. `parts`: those
    of its components that proved too dear, if it was tried at all. Raises ContradictionError."""
    warm_start = warm_start or RegisterStore(most=0).warm_start(range(len(case.pedigree)))
    with warm_start.register(case.with_pups_weighed_singly(), family) as register:
        _take_figures(family, found, asked, parts, register)


def _take_figures(
    family: Sequence[int],
    found: PosteriorBuilder,
    asked: Collection[int],
    parts: Sequence[Component],
    register: Register,
) -> None:
    """Enter the figures of a register for those of its family that have none, or a note of them."""
    place = {animal: number for number, animal in enumerate(family)}
    missing = [animal for animal in family if found.missing(animal)]
    figures = register.figures([place[one] for one in set(missing).intersection(asked)])
    told = figures.told
    entered = [animal for animal in missing if told[place[animal]]]
    at = [place[animal] for animal in entered]
    found.chances[entered], found.error[entered] = (figures.shares[at], figures.errors[at])
    found.method[entered] = np.where(figures.refined, "refined", "approximate")[at]
    for choices, known in (
        (register.choices(told, dams=False), found.sire_shares),
        (register.choices(told, dams=True), found.dam_shares),
    ):
        known.update({litter: choices[litter] for litter in choices.keys() - known.keys()})
    left = tuple(animal for animal in missing if found.missing(animal))
    if left:
        price = sum(part.plan.price for part in parts) if parts else math.inf
        outcome = register.outcome
        found.tangled.append(IntractableFamily(left, price, outcome.rounds, outcome.change))
