"""From a family of a pedigree to a network of factors.

Each animal is a variable with a state for each genotype. A litter whose parent is uncertain has
two more: which one it was (a state for each candidate and, where records may be wrong, one for
another, unrelated parent) and the genotype in effect of whoever it was. A parent that nobody
knows is a founder of the litter's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from genetics.core.factors import Network, Table
from genetics.core.pedigree import Litter, Pedigree


@dataclass(frozen=True)
class Locus:
    """How genotypes are handed on and how often they occur where nothing is known.

    `transmission` (g, g, g): pup given sire and dam; `pool` (g,): a founder of no known kind;
    `errors`: chance that a litter's recorded sire is another, unrelated one from the pool.
    """

    transmission: Table
    pool: Table
    errors: float


@dataclass
class FamilyNetwork:
    """The network of some animals of a pedigree and what its variables stand for."""

    network: Network = field(default_factory=Network)
    animals: dict[int, int] = field(default_factory=dict)
    sire_choices: dict[int, int] = field(default_factory=dict)
    dam_choices: dict[int, int] = field(default_factory=dict)


def family_network(
    pedigree: Pedigree,
    family: Sequence[int] | NDArray[np.int32],
    likelihood: Table,
    founder_shares: Table,
    locus: Locus,
) -> FamilyNetwork:
    """The network of the animals in `family`, which holds all their possible parents.

    `likelihood` (n, g) and `founder_shares` (n, g) are for the whole pedigree. `sire_choices`
    and `dam_choices` give, by litter, the variable that chooses among its candidates.
    """
    built = FamilyNetwork()
    states = len(locus.pool)
    for animal in family:
        built.animals[int(animal)] = variable = built.network.variable(states)
        row = likelihood[animal]
        if (row != row[0]).any():
            built.network.factor((variable,), row)
        if pedigree.litter_of[animal] == -1:
            built.network.factor((variable,), founder_shares[animal])
    litters: dict[int, list[int]] = {}
    for animal, variable in built.animals.items():
        litters.setdefault(int(pedigree.litter_of[animal]), []).append(variable)
    litters.pop(-1, None)
    for number, pups in litters.items():
        _add_litter(built, number, pedigree.litters[number], pups, locus)
    return built


def _add_litter(
    built: FamilyNetwork, number: int, litter: Litter, pups: list[int], locus: Locus
) -> None:
    network = built.network
    sires = [built.animals[sire] for sire in litter.sires]
    dams = [built.animals[dam] for dam in litter.dams]
    sire, sire_choice = _parent(network, sires, litter.sire_weights, locus, locus.errors)
    dam, dam_choice = _parent(network, dams, litter.dam_weights, locus, 0.0)
    if sire_choice is not None:
        built.sire_choices[number] = sire_choice
    if dam_choice is not None:
        built.dam_choices[number] = dam_choice
    for pup in pups:
        network.factor((sire, dam, pup), locus.transmission)


def _parent(
    network: Network,
    candidates: list[int],
    weights: tuple[float, ...],
    locus: Locus,
    errors: float,
) -> tuple[int, int | None]:
    """The variable of a parent's genotype in effect, and the one that chooses it, if any."""
    if len(candidates) == 1 and errors == 0:
        return candidates[0], None
    states = len(locus.pool)
    effect = network.variable(states)
    if not candidates:
        network.factor((effect,), locus.pool)
        return effect, None
    shares = np.array([*((1 - errors) * weight for weight in weights), errors])
    shares = shares if errors > 0 else shares[:-1]
    choice = network.variable(len(shares))
    network.factor((choice,), shares)
    for state, candidate in enumerate(candidates):
        network.factor((effect, candidate, choice), _if_chosen(states, len(shares), state))
    if errors > 0:
        network.factor((effect, choice), _if_another(locus.pool, len(shares)))
    return effect, choice


def _if_chosen(states: int, choices: int, state: int) -> Table:
    """One candidate's table over (effect, candidate, choice): equal where it is chosen."""
    table = np.ones((states, states, choices))
    table[:, :, state] = np.eye(states)
    return table


def _if_another(pool: Table, choices: int) -> Table:
    """Table over (effect, choice): from the pool where none of the candidates is chosen."""
    table = np.ones((len(pool), choices))
    table[:, -1] = pool
    return table
