"""Why a dose is what it is said to be: which records move it, and how far.

The records are put in groups by the door through which they reach the animal (`evidence_groups`). A
group comes to a weight for each dose: how many times likelier its records are at that dose. Where
groups meet only in the animal, these weights are independent given its dose and multiply. Where
they do not, as when a sow has two litters by a boar, a group's weight is the mean, in logarithms,
of what it adds over orders in which the records may come in: all orders of up to four such groups,
else orders that put each group at each place equally often, and their reverses. So the weights
multiply to the whole. In a dear family it is the mean of what a group says alone and of what it
says when all else is known, and what is left is told by itself, as what they say `together`.

What these weights make of the odds is worked out by `ledger`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np

from genetics.core.explanation.evidence_groups import Group, groups_of
from genetics.core.explanation.shapley import (
    OddsAttribution,
    between,
    from_log,
    largest_one,
    log_of,
    marginal_only,
    over,
    spread,
)
from genetics.core.inference.factor_graph import Table
from genetics.core.large_pedigree.exact_trial import is_large
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import Dose, solve_animal

ALL_ORDERS = 4  # groups whose every order is taken
MANY = 80  # sets of groups to expect, about, for the orders of more
QUICK = 4.0  # budgets that these may come to
PATIENCE = 24.0  # budgets to spend on calculations with one group left out, the strongest first
ATTEMPT, DEAREST = 0.02, 4.0  # budgets that one of them counts as, at the least and the most


@dataclass(frozen=True)
class Member:
    """One record of a group of several by itself: what an animal of the family was `seen` as, or
    was `bought` as (`kind`). `ratios` and `odds` as in `Reason`."""

    animal: int
    kind: str
    ratios: Table
    odds: float


@dataclass(frozen=True)
class Reason:
    """A group of records and how far it moves one animal.

    `kind`: 'own', 'bought' (what the animal was bought as), 'sire', 'dam', 'littermates', 'count'
    (of its own litter, not told apart) or 'litter' (of offspring); `litter` is the number of a
    count's or an offspring's litter, else -1. `animals`: those with records in the group;
    `tallies`: the litters whose counts are in it. `ratios` (3,): how many times likelier the
    group's records are at each dose, made to a largest of 1; `odds`: its factor in the odds on the
    dose asked about. `members`: records of the animal's parents, mates, young and littermates one
    by one, where they could be had.
    """

    kind: str
    litter: int
    animals: tuple[int, ...]
    ratios: Table
    odds: float
    tallies: tuple[int, ...] = ()
    members: tuple[Member, ...] = ()


@dataclass(frozen=True)
class Reasons:
    """All that moves one animal's dose, the strongest group first.

    `dose`: the one asked about, the likeliest. `prior` (3,) and `posterior` (3,): chances without
    any record, of its kin or of what anyone was bought as, and with all of them. The odds on `dose`
    against the others are, with all records, those before them times every group's `odds` and
    `together`: what groups that meet elsewhere than in the animal say together and not one by one;
    1 where that comes to less than MINUTE and is among theirs. `marginal_only` (3,): what the
    chances would be if each group said no more and no less than it does alone. `error`: estimate of
    the largest error of any chance that went into it, 0 where all are exact.
    """

    animal: int
    dose: int
    prior: Table
    posterior: Table
    reasons: tuple[Reason, ...]
    marginal_only: Table
    together: float = 1.0
    error: float = 0.0


def evidence_weights(
    pedigree: Pedigree,
    likelihood: Table,
    animal: int,
    *,
    frequency: float,
    errors: float = 0.0,
    founder_prior: Table | None = None,
    budget: float = BUDGET,
    figure: Table | None = None,
) -> Reasons | None:
    """The reasons for one animal's dose, or None where there is no figure for it.

    `figure` (3,): its chances as the caller has them, where these may be refined otherwise. The
    other arguments and the errors raised are those of `dose_posterior`; exact where each
    calculation may cost what it may where it is asked for once, else with an estimate of the error.
    Two calculations for each group of records, one of which most often costs little, and five more;
    where a family is dear, only the strongest groups are left out in turn.
    """
    case = PosteriorProblem.of(pedigree, likelihood, frequency, errors, founder_prior, budget)
    asked = _Asked(case, animal)
    if np.isnan(asked.posterior).any() or np.isnan(asked.prior).any():
        return None
    posterior = asked.posterior if figure is None else np.array(figure, dtype=np.float64)
    weights = asked.weights()
    ledger = OddsAttribution(asked.prior, posterior, list(weights.values()))
    members = asked.members()
    found = [
        Reason(
            kind,
            litter,
            tuple(group.animals),
            weights[kind, litter],
            factor,
            tuple(group.tallies),
            tuple(
                replace(one, odds=ledger.factor(one.ratios))
                for one in members
                if one.animal in (group.seen if one.kind == "seen" else group.bought)
            ),
        )
        for ((kind, litter), group), factor in zip(
            asked.groups.items(), ledger.factors, strict=True
        )
        if group.seen or group.tallies or not np.allclose(weights[kind, litter], 1)
    ]
    found.sort(key=lambda reason: -abs(math.log(reason.odds)))
    return Reasons(
        animal,
        ledger.dose,
        asked.prior,
        posterior,
        tuple(found),
        asked.marginal_only,
        ledger.together,
        asked.error,
    )


class _Asked:
    """One animal's family, worked out with more or fewer of its records."""

    def __init__(self, case: PosteriorProblem, animal: int) -> None:
        self.case = case
        self.animal = animal
        self.groups = groups_of(case, animal)
        self.error = 0.0
        self.left = PATIENCE
        self.once = True
        self.whole = self.reckon(case)
        self.large = is_large(case.pedigree.family(animal))
        self.once = self.error == 0  # what is too dear once is not tried again and again
        self.posterior: Table = self.whole.chances[animal]
        self.prior = self.chances(case.with_no_more_than((), (), ()))

    def reckon(self, case: PosteriorProblem) -> Dose:
        dose = solve_animal(case, self.animal, self.once)
        self.error = float(np.fmax(self.error, dose.error[self.animal]))
        return dose

    def chances(self, case: PosteriorProblem) -> Table:
        chances: Table = self.reckon(case).chances[self.animal]
        return chances

    def weights(self) -> dict[tuple[str, int], Table]:
        """Each group's weight (3,) for each dose, by its door."""
        found = {door: self.direct(door) for door in self.groups}
        alone = {
            door: over(self.chances(self.only(group)), self.prior)
            for door, group in self.groups.items()
            if found[door] is None
        }
        weights = {door: row for door, row in found.items() if row is not None}
        self.marginal_only = marginal_only(self.prior, [*weights.values(), *alone.values()])
        order = sorted(alone, key=lambda door: -spread(alone[door]))
        weights |= self.by_orders(order) if self.quick(len(order)) else self.by_ends(order, alone)
        return {door: largest_one(weights[door]) for door in self.groups}

    def quick(self, groups: int) -> bool:
        """Whether so many groups may be taken in one order and another."""
        sets = 2**groups if groups <= ALL_ORDERS else MANY
        return (
            self.error == 0
            and not self.large
            and sum(self.whole.prices) * sets <= QUICK * self.case.budget
        )

    def by_orders(self, evidence_groups: list[tuple[str, int]]) -> dict[tuple[str, int], Table]:
        """What groups add, on the mean of some orders, in logarithms."""
        known: dict[frozenset[tuple[str, int]], Table] = {}

        def told(first: Sequence[tuple[str, int]]) -> Table:
            taken = frozenset(first)
            if taken not in known:
                rows = self.chances(self.only(*(self.groups[door] for door in taken)))
                known[taken] = log_of(over(rows, self.prior))
                known[taken] -= known[taken].max()
            return known[taken]

        added = {door: np.zeros(3) for door in evidence_groups}
        orders = _orders(evidence_groups)
        for order in orders:
            for place, door in enumerate(order):
                added[door] += (told(order[: place + 1]) - told(order[:place])) / len(orders)
        return {door: from_log(row) for door, row in added.items()}

    def by_ends(
        self, evidence_groups: list[tuple[str, int]], alone: dict[tuple[str, int], Table]
    ) -> dict[tuple[str, int], Table]:
        """What groups say alone and with all else known, the latter as long as patience lasts."""
        found = {}
        for door in evidence_groups:
            several = self.left > 0 and len(self.groups) > 1
            given = self.with_all_else(self.groups[door]) if several else np.full(3, np.nan)
            found[door] = between(alone[door], given)
        return found

    def direct(self, door: tuple[str, int]) -> Table | None:
        """What is written of the animal itself is a weight as it stands, unless a look may have
        been at a littermate."""
        if door[0] == "bought":
            return self.case.bought_as(self.animal)
        if door[0] == "own" and self.animal not in self.whole.behind:
            row: Table = self.case.evidence.records[self.animal]
            return row
        return None

    def only(self, *groups: Group) -> PosteriorProblem:
        return self.case.with_no_more_than(
            {one for group in groups for one in group.seen},
            {one for group in groups for one in group.bought},
            {one for group in groups for one in group.tallies},
        )

    def without(self, left_out: Group) -> PosteriorProblem:
        groups = self.groups.values()
        return self.case.with_no_more_than(
            {one for group in groups for one in group.seen} - {*left_out.seen},
            {one for group in groups for one in group.bought} - {*left_out.bought},
            {one for group in groups for one in group.tallies} - {*left_out.tallies},
        )

    def with_all_else(self, group: Group) -> Table:
        """A group's weight where everything else is known, NaN for a dose that is out without."""
        dose = self.reckon(self.without(group))
        cost = sum(min(DEAREST, price / self.case.budget) for price in dose.prices)
        self.left -= max(ATTEMPT, cost)
        return over(self.posterior, dose.chances[self.animal])

    def members(self) -> list[Member]:
        """The records of those next to the animal, one by one; none where they are not exact."""
        near = _next_to(self.case.pedigree, self.animal)
        wanted = [
            (one, kind)
            for group in self.groups.values()
            for kind, animals in (("seen", group.seen), ("bought", group.bought))
            for one in animals
            if one in near and len(group.seen) + len(group.bought) + len(group.tallies) > 1
        ]
        if not wanted or self.error > 0 or self.large:
            return []
        held = {
            dose: solve_animal(self.case.holding(self.animal, dose), self.animal, others=near)
            for dose in range(3)
            if self.posterior[dose] > 0
        }
        return [
            Member(one, kind, largest_one(ratios), math.nan)
            for one, kind in wanted
            if not np.isnan(ratios := self.by_itself(one, kind, held)).any()
        ]

    def by_itself(self, one: int, kind: str, held: dict[int, Dose]) -> Table:
        """The weight of one record; NaN where it can't be told. What stands without it follows,
        with the animal held at each dose, from dividing by it the chances of whoever it is of."""
        seen = kind == "seen"
        record = Group(seen=[one]) if seen else Group(bought=[one])
        alone = over(self.chances(self.only(record)), self.prior)
        said = self.case.evidence.records[one] if seen else self.case.bought_as(one)
        if (said == 0).any():
            return between(alone, over(self.posterior, self.chances(self.without(record))))
        without = np.zeros(3)
        for dose, given in held.items():
            exact = given.error[one] == 0 and given.error[self.animal] == 0
            shares = given.behind.get(one, given.chances[one]) if seen else given.chances[one]
            without[dose] = self.posterior[dose] * (shares / said).sum() if exact else np.nan
        if np.isnan(without).any():
            return without
        return between(alone, over(self.posterior, without))


def _orders(evidence_groups: list[tuple[str, int]]) -> list[tuple[tuple[str, int], ...]]:
    """All orders of a few groups; of more, turns of one that are spread evenly over it, and their
    reverses."""
    count = len(evidence_groups)
    if count <= ALL_ORDERS:
        return list(permutations(evidence_groups))
    turns = count if count * count <= MANY else max(1, MANY // (2 * count))
    starts = [turn * count // turns for turn in range(turns)]
    forward = [(*evidence_groups[start:], *evidence_groups[:start]) for start in starts]
    return forward + [order[::-1] for order in forward]


def _next_to(pedigree: Pedigree, animal: int) -> set[int]:
    """Its parents, littermates, mates and young, as far as they may be that."""
    found: set[int] = set()
    for number, litter in enumerate(pedigree.litters):
        if number == pedigree.litter_of[animal] or animal in litter.candidates:
            found |= {*litter.pups, *litter.candidates}
    return found - {animal}
