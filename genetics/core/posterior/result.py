"""What the calculation of doses gives, and how it comes in, family by family."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from genetics.core.inference.exact import Component, Solution
from genetics.core.inference.factor_graph import Table
from genetics.core.inference.junction_tree import Scope
from genetics.core.pedigree.group_records import LabelSwap
from genetics.core.peeling.family_network import FamilyNetwork
from genetics.core.peeling.problem import PosteriorProblem
from genetics.core.peeling.unidentified_pups import chances_of_ways, exchanged


@dataclass(frozen=True)
class IntractableFamily:
    """Animals that are too tangled for a figure, and the least that exact ones would cost, in
    table entries; infinite where that was not worth working out.

    `rounds`: how often messages were passed round, 0 where none were; `change`: of any message in
    the last round, NaN where none were. They did not settle, or not always in the same place.
    """

    animals: tuple[int, ...]
    price: float
    rounds: int = 0
    change: float = math.nan


@dataclass(frozen=True)
class Dose:
    """What follows for each animal, in the pedigree's order.

    `chances` (n, 3): posterior of 0, 1, 2 doses, NaN where tangled. `method`: 'exact'; 'refined',
    exact within a neighbourhood; 'approximate', by belief propagation alone; or '' where there is
    no figure. `error` (n,): estimate of the largest absolute error of the three, 0 where exact,
    NaN without a figure; at least 95 per cent of errors lay below it on simulated herds, and it
    is no bound. `sire_shares` and `dam_shares`: for each litter with a choice, the
    posterior share of each candidate in the litter's order and, where errors are allowed for, of
    another, unrelated sire last; no more exact than the litter's pups. `mix_ups`: for each litter
    where whom a record is of is a choice, the posterior chance that each two pups whose records
    differ were taken for each other; `behind`: by such a pup, the posterior (3,) of the one whose
    record its own is, itself or a littermate. `ways`: for each litter with a tally that asks, the
    posterior (3, w) of each member's dose and way. `prices`: what each component would cost to be
    exact, in table entries.
    `log_likelihood`: natural logarithm of the chance of all evidence as scaled by the caller,
    NaN where a family is too tangled to be exact.
    """

    chances: Table
    method: tuple[str, ...]
    error: Table
    tangled: tuple[IntractableFamily, ...] = ()
    sire_shares: dict[int, Table] = field(default_factory=dict)
    dam_shares: dict[int, Table] = field(default_factory=dict)
    mix_ups: dict[int, tuple[LabelSwap, ...]] = field(default_factory=dict)
    behind: dict[int, Table] = field(default_factory=dict)
    ways: dict[int, tuple[Table, ...]] = field(default_factory=dict)
    prices: tuple[float, ...] = ()
    log_likelihood: float = math.nan


class PosteriorBuilder:
    """Figures as they come in, family by family."""

    def __init__(self, case: PosteriorProblem) -> None:
        pedigree = case.pedigree
        self.chances = np.full((len(pedigree), case.genotypes), np.nan)
        self.method = np.full(len(pedigree), "", dtype="<U11")
        self.error = np.full(len(pedigree), np.nan)
        self.sire_shares: dict[int, Table] = {}
        self.dam_shares: dict[int, Table] = {}
        self.mix_ups: dict[int, tuple[LabelSwap, ...]] = {}
        self.behind: dict[int, Table] = {}
        self.ways: dict[int, tuple[Table, ...]] = {}
        self.tangled: list[IntractableFamily] = []
        self.prices: list[float] = []
        self.log_likelihood = 0.0

    def dose(self) -> Dose:
        self.chances.setflags(write=False)
        self.error.setflags(write=False)
        return Dose(
            self.chances,
            tuple(self.method.tolist()),
            self.error,
            tuple(self.tangled),
            self.sire_shares,
            self.dam_shares,
            self.mix_ups,
            self.behind,
            self.ways,
            tuple(self.prices),
            math.nan if self.tangled or (self.error > 0).any() else self.log_likelihood,
        )

    def missing(self, animal: int) -> bool:
        return bool(np.isnan(self.chances[animal, 0]))

    def enter(self, animal: int, shares: Table, method: str = "exact", error: float = 0.0) -> None:
        """A figure for an animal that has none yet."""
        if self.missing(animal):
            self.chances[animal], self.method[animal], self.error[animal] = shares, method, error

    def misses(self, built: FamilyNetwork, part: Component) -> bool:
        """Whether an animal of a component has no figure."""
        return bool(self.missed(built, part))

    def missed(self, built: FamilyNetwork, part: Component) -> tuple[int, ...]:
        """The animals of a component that have no figure, ascending."""
        inside = set(part.variables)
        animals = sorted(one for one, variable in built.animals.items() if variable in inside)
        return tuple(animal for animal in animals if self.missing(animal))

    def take(self, built: FamilyNetwork, solution: Solution) -> None:
        """Enter what a solution says, where there is no figure yet."""
        solved = {one: found for one, found in enumerate(solution.shares) if found is not None}
        self.take_exact(built, solved, solution.joint)

    def take_exact(
        self, built: FamilyNetwork, shares: dict[int, Table], joint: dict[Scope, Table]
    ) -> None:
        """Enter the shares of a network's variables, where there is no figure yet."""
        for animal, variable in built.animals.items():
            if variable in shares:
                self.enter(animal, shares[variable])
        self.take_choices(built, shares, joint)
        for litter, (tally, scopes) in built.asked.items():
            if litter not in self.ways and joint.keys() >= set(scopes):
                self.ways[litter] = chances_of_ways(tally, [joint[scope] for scope in scopes])

    def take_choices(
        self, built: FamilyNetwork, shares: dict[int, Table], joint: dict[Scope, Table]
    ) -> None:
        """Enter who the uncertain parents may be, and who was taken for whom, where that is not
        known yet."""
        for choices, known in (
            (built.sire_choices, self.sire_shares),
            (built.dam_choices, self.dam_shares),
        ):
            for litter, variable in choices.items():
                if variable in shares:
                    known.setdefault(litter, shares[variable])
        for litter, (choice, pairs) in built.mix_up_choices.items():
            pups = dict.fromkeys(pup for pair in pairs for pup in pair[:2])
            if litter not in self.mix_ups and {choice, *map(built.animals.get, pups)} <= set(
                shares
            ):
                chances = shares[choice][1:].tolist()
                told = (LabelSwap(*pair[:2], one) for pair, one in zip(pairs, chances, strict=True))
                self.mix_ups[litter] = tuple(told)
                joints = {pup: _joint(choice, built.animals[pup], shares, joint) for pup in pups}
                for pup in pups:
                    whose = [pup, *(exchanged(pup, pair) for pair in pairs)]
                    self.behind[pup] = np.sum(
                        [joints[one][state] for state, one in enumerate(whose)], axis=0
                    )


def _joint(choice: int, pup: int, shares: dict[int, Table], joint: dict[Scope, Table]) -> Table:
    """Of a litter's choice and a pup's doses; as of two that say nothing of each other where no
    more is known."""
    both = joint.get((choice, pup))
    return np.outer(shares[choice], shares[pup]) if both is None else both
