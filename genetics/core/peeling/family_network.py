"""From a family of a pedigree to a network of factors.

Each animal is a variable with a state for each genotype. A litter whose parent is uncertain has
two more: which one it was (a state for each candidate and, where records may be wrong, one for
another, unrelated parent) and the genotype in effect of whoever it was. A parent that nobody
knows is a founder of the litter's own. Littermates counted together, those without a number among
them, and pups taken for each other add what `littermates` says.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from genetics.core.inference.factor_graph import Network, Table
from genetics.core.pedigree.group_records import GroupCount, LabelSwap
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.unidentified_pups import add_mix_ups, add_tally


@dataclass(frozen=True)
class Locus:
    """How genotypes are handed on and how often they occur where nothing is known.

    `transmission` (g, g, g): pup given sire and dam; `pool` (g,): a founder of no known kind;
    `errors`: chance that a litter's recorded sire is another, unrelated one from the pool.
    """

    transmission: Table
    pool: Table
    errors: float


@dataclass(frozen=True)
class Evidence:
    """What was seen, as likelihoods (n, g) for the whole pedigree.

    `records` are those of looks, which may have been made at a littermate; `own` is what holds of
    the animal itself whatever was looked at. `tallied`: the litters whose tally counts;
    `mixing`: those in which whom a record is of is a choice.
    """

    records: Table
    own: Table
    tallied: Collection[int] = frozenset()
    mixing: Collection[int] = frozenset()

    @cached_property
    def by_animal(self) -> Table:
        """All that was seen of each animal, if nobody was taken for another."""
        rows: Table = self.records * self.own
        return rows


@dataclass
class FamilyNetwork:
    """The network of some animals of a pedigree and what its variables stand for."""

    network: Network = field(default_factory=Network)
    animals: dict[int, int] = field(default_factory=dict)
    sire_choices: dict[int, int] = field(default_factory=dict)
    dam_choices: dict[int, int] = field(default_factory=dict)
    mix_up_choices: dict[int, tuple[int, list[LabelSwap]]] = field(default_factory=dict)
    asked: dict[int, tuple[GroupCount, list[tuple[int, ...]]]] = field(default_factory=dict)


def family_network(
    pedigree: Pedigree,
    family: Sequence[int] | NDArray[np.int32],
    evidence: Evidence,
    founder_shares: Table,
    locus: Locus,
) -> FamilyNetwork:
    """The network of the animals in `family`, which holds all their possible parents.

    `founder_shares` (n, g) are for the whole pedigree. `sire_choices` and `dam_choices` give, by
    litter, the variable that chooses among its candidates, `mix_up_choices` the one that chooses
    among pups taken for each other, with those that it chooses from after 'none'; `asked` a tally
    that asks for the chances of its ways, and the variables of its tables. A tally counts where
    all its pups are in the family.
    """
    built = FamilyNetwork()
    states = len(locus.pool)
    for animal in family:
        built.animals[int(animal)] = variable = built.network.variable(states)
        if pedigree.litter_of[animal] == -1:
            built.network.factor((variable,), founder_shares[animal])
    litters: dict[int, list[int]] = {}
    for animal in built.animals:
        litters.setdefault(int(pedigree.litter_of[animal]), []).append(animal)
    _add_records(built, evidence.by_animal, litters.pop(-1, []))
    for number in evidence.tallied:
        litter = pedigree.litters[number]
        if number not in litters and litter.candidates and _holds(built, litter):
            litters[number] = []
    for number, pups in litters.items():
        litter = pedigree.litters[number]
        parents = _add_litter(built, number, litter, pups, locus)
        mix_ups = litter.mix_ups if number in evidence.mixing else ()
        _add_evidence(built, number, mix_ups, pups, evidence)
        if number in evidence.tallied and _holds(built, litter):
            _add_tally(built, number, litter, parents, locus)
    return built


def _holds(built: FamilyNetwork, litter: Litter) -> bool:
    """Whether the network has all that a litter's tally is about."""
    return all(animal in built.animals for animal in litter.counted + litter.candidates)


def _add_records(built: FamilyNetwork, rows: Table, animals: Sequence[int]) -> None:
    for animal in animals:
        row = rows[animal]
        if (row != row[0]).any():
            built.network.factor((built.animals[animal],), row)


def _add_evidence(
    built: FamilyNetwork,
    number: int,
    mix_ups: Sequence[LabelSwap],
    pups: list[int],
    evidence: Evidence,
) -> None:
    """What was seen of the pups, some of whom may have been taken for each other."""
    telling = [
        one
        for one in mix_ups
        if {one.first, one.second} <= built.animals.keys()
        and (evidence.records[one.first] != evidence.records[one.second]).any()
    ]
    mixed = {pup for one in telling for pup in one[:2]}
    _add_records(built, evidence.by_animal, [pup for pup in pups if pup not in mixed])
    if telling:
        _add_records(built, evidence.own, sorted(mixed))
        choice = add_mix_ups(built.network, telling, built.animals, evidence.records)
        built.mix_up_choices[number] = choice, telling


def _add_tally(
    built: FamilyNetwork, number: int, litter: Litter, parents: tuple[int, int], locus: Locus
) -> None:
    """What was seen of pups together; those without a number get a variable of their own."""
    variables = []
    for member in litter.tally.members if litter.tally else ():
        variable = built.animals.get(member.pup)
        if variable is None:
            variable = built.network.variable(len(locus.pool))
            built.network.factor((*parents, variable), locus.transmission)
        variables.append(variable)
    if litter.tally:
        scopes = add_tally(built.network, litter.tally, variables)
        if litter.tally.asked:
            built.asked[number] = litter.tally, scopes


def _add_litter(
    built: FamilyNetwork, number: int, litter: Litter, pups: list[int], locus: Locus
) -> tuple[int, int]:
    """Mendel's law for the pups; gives the variables of their sire's and dam's genotypes."""
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
        network.factor((sire, dam, built.animals[pup]), locus.transmission)
    return sire, dam


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
