"""Why a dose is what it is said to be: which records move it, and how far.

The records are put in groups by the door through which they reach the animal (`doors`). A group
comes to a weight for each dose: how many times likelier its records are at that dose. Where
groups meet only in the animal, these weights are independent given its dose and multiply. Where
they do not, as when a sow has two litters by a boar, a group's weight is the mean, in logarithms,
of what it says alone and of what it says when all else is known, which for two groups that meet is
the whole; what is left of more is told by itself, as what they say `together`.

Odds on one dose against the others do not multiply even so, since the records also move the
others against each other: what rules out none makes more of what speaks for two against one. So
each weight's share in the change of the odds is taken as if all records came in at one pace, each
a little at a time (Aumann RJ, Shapley LS 1974, Values of non-atomic games, Princeton; for the mean
over all orders, of which it is the limit, Shapley LS 1953, A value for n-person games; both cited
from memory). These shares add up to the change exactly. With the dose asked about as t, the
others as d, and p(d) the share of d among these at each moment,

    change by a group = log w(t) - sum over d of a(d) log w(d),  a(d) = the mean of p(d) on the way,

so that all groups share the a(d), which for two other doses are a logarithm of sums.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from genetics.core.case import BUDGET, Case
from genetics.core.doors import Group, groups_of
from genetics.core.dose import Dose, reckon_one
from genetics.core.factors import Table
from genetics.core.pedigree import Pedigree

MINUTE = 1.1  # a factor nearer to one than this is not told by itself, but with the others'
PATIENCE = 24.0  # budgets to spend on reckonings with one group left out, the strongest first
ATTEMPT, DEAREST = 0.02, 4.0  # budgets that one of them counts as, at the least and the most
FAINT = 1e-100  # stands for a weight of nothing where logarithms are taken


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
    any record, of its kin or of what anyone was bought as, and with all of them. The odds on
    `dose` against the others are, with all records, those before them times every group's `odds`
    and `together`: what groups that meet elsewhere than in the animal say together and not one by
    one; 1 where that comes to less than MINUTE and is among theirs. `error`: estimate of the
    largest error of any chance that went into it, 0 where all are exact.
    """

    animal: int
    dose: int
    prior: Table
    posterior: Table
    reasons: tuple[Reason, ...]
    together: float = 1.0
    error: float = 0.0


def reasons_for(
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
    other arguments and the errors raised are those of `reckon_dose`; exact where each reckoning
    may cost what it may where it is asked for once, else with an estimate of the error. Two
    reckonings for each group of records, one of which most often costs little, and five more;
    where a family is dear, only the strongest groups are left out in turn.
    """
    case = Case.of(pedigree, likelihood, frequency, errors, founder_prior, budget)
    asked = _Asked(case, animal)
    if np.isnan(asked.posterior).any() or np.isnan(asked.prior).any():
        return None
    posterior = asked.posterior if figure is None else np.array(figure, dtype=np.float64)
    weights = asked.weights()
    ledger = _Ledger(asked.prior, posterior, list(weights.values()))
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
        ledger.together,
        asked.error,
    )


class _Asked:
    """One animal's family, reckoned with more or fewer of its records."""

    def __init__(self, case: Case, animal: int) -> None:
        self.case = case
        self.animal = animal
        self.groups = groups_of(case, animal)
        self.error = 0.0
        self.left = PATIENCE
        self.once = True
        self.whole = self.reckon(case)
        self.once = self.error == 0  # what is too dear once is not tried again and again
        self.posterior: Table = self.whole.chances[animal]
        self.prior = self.chances(case.with_no_more_than((), (), ()))

    def reckon(self, case: Case) -> Dose:
        dose = reckon_one(case, self.animal, self.once)
        self.error = float(np.fmax(self.error, dose.error[self.animal]))
        return dose

    def chances(self, case: Case) -> Table:
        chances: Table = self.reckon(case).chances[self.animal]
        return chances

    def weights(self) -> dict[tuple[str, int], Table]:
        """Each group's weight (3,) for each dose, by its door."""
        found = {door: self.direct(door) for door in self.groups}
        alone = {
            door: _over(self.chances(self.only(group)), self.prior)
            for door, group in self.groups.items()
            if found[door] is None
        }
        weights = {door: row for door, row in found.items() if row is not None}
        for door in sorted(alone, key=lambda door: -_spread(alone[door])):
            several = self.left > 0 and len(self.groups) > 1
            given = self.with_all_else(self.groups[door]) if several else np.full(3, np.nan)
            weights[door] = _between(alone[door], given)
        return {door: _largest_one(weights[door]) for door in self.groups}

    def direct(self, door: tuple[str, int]) -> Table | None:
        """What is written of the animal itself is a weight as it stands, unless a look may have
        been at a littermate."""
        if door[0] == "bought":
            return self.case.bought_as(self.animal)
        if door[0] == "own" and self.animal not in self.whole.behind:
            row: Table = self.case.evidence.records[self.animal]
            return row
        return None

    def only(self, group: Group) -> Case:
        return self.case.with_no_more_than(group.seen, group.bought, group.tallies)

    def without(self, left_out: Group) -> Case:
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
        return _over(self.posterior, dose.chances[self.animal])

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
        if not wanted or self.error > 0:
            return []
        held = {
            dose: reckon_one(self.case.holding(self.animal, dose), self.animal, others=near)
            for dose in range(3)
            if self.posterior[dose] > 0
        }
        return [
            Member(one, kind, _largest_one(ratios), math.nan)
            for one, kind in wanted
            if not np.isnan(ratios := self.by_itself(one, kind, held)).any()
        ]

    def by_itself(self, one: int, kind: str, held: dict[int, Dose]) -> Table:
        """The weight of one record; NaN where it can't be told. What stands without it follows,
        with the animal held at each dose, from dividing by it the chances of whoever it is of."""
        seen = kind == "seen"
        record = Group(seen=[one]) if seen else Group(bought=[one])
        alone = _over(self.chances(self.only(record)), self.prior)
        said = self.case.evidence.records[one] if seen else self.case.bought_as(one)
        if (said == 0).any():
            return _between(alone, _over(self.posterior, self.chances(self.without(record))))
        without = np.zeros(3)
        for dose, given in held.items():
            exact = given.error[one] == 0 and given.error[self.animal] == 0
            shares = given.behind.get(one, given.chances[one]) if seen else given.chances[one]
            without[dose] = self.posterior[dose] * (shares / said).sum() if exact else np.nan
        if np.isnan(without).any():
            return without
        return _between(alone, _over(self.posterior, without))


class _Ledger:
    """How the odds on the likeliest dose came about, a factor for each weight.

    The path that the odds are followed on goes from the prior to the posterior, with what the
    groups say together as one more weight.
    """

    def __init__(self, prior: Table, posterior: Table, weights: list[Table]) -> None:
        self.dose = int(posterior.argmax())
        self.others = [dose for dose in range(3) if dose != self.dose and prior[dose] > 0]
        logs = [_log(weight) for weight in weights]
        told = np.array(logs).reshape(-1, 3).sum(axis=0)
        there = (posterior > 0) & (prior > 0)
        rest = np.where(there, _log(posterior) - _log(prior) - told, 0.0)
        rest = np.where(there, rest - rest[self.dose], 0.0)
        self.shares = _on_the_way(prior[self.others], (told + rest)[self.others])
        changes = [self.change(log) for log in logs]
        together = self.change(rest)
        whole = sum(map(abs, changes))
        if abs(together) < math.log(MINUTE) and whole > 0:
            changes = [change + together * abs(change) / whole for change in changes]
            together = 0.0
        self.factors = [math.exp(change) for change in changes]
        self.together = math.exp(together)

    def change(self, log: Table) -> float:
        """Of the logarithm of the odds, by a weight given as logarithms."""
        return float(log[self.dose] - self.shares @ log[self.others])

    def factor(self, weight: Table) -> float:
        """In the odds, by a weight that is not in the path by itself."""
        return math.exp(self.change(_log(weight)))


def _on_the_way(prior: Table, logs: Table) -> Table:
    """The mean share of each other dose among them while all logarithms grow from 0 at one pace:
    the integral over t from 0 to 1 of a logistic curve."""
    if len(prior) < 2:
        return np.ones(len(prior))
    start, change = math.log(prior[0] / prior[1]), float(logs[0] - logs[1])
    if abs(change) < 1e-6:
        first = 1 / (1 + math.exp(-start - change / 2))
    else:
        first = float(np.logaddexp(0, start + change) - np.logaddexp(0, start)) / change
    return np.array([first, 1 - first])


def _log(weight: Table) -> Table:
    """Of a weight; of a dose of which it says nothing, none."""
    row: Table = np.log(np.maximum(np.nan_to_num(_largest_one(weight), nan=1.0), FAINT))
    return row


def _between(alone: Table, given: Table) -> Table:
    """The mean of two weights in logarithms; where one says nothing of a dose, the other."""
    both = np.array([_largest_one(alone), _largest_one(given)])
    known = ~np.isnan(both)
    logs = np.log(np.where(known, np.maximum(both, FAINT), 1))
    mean: Table = np.exp(logs.sum(axis=0) / np.maximum(known.sum(axis=0), 1))
    return np.where((both == 0).any(axis=0), 0.0, mean)


def _over(posterior: Table, without: Table) -> Table:
    ratios: Table = np.divide(posterior, without, out=np.full(3, np.nan), where=without > 0)
    return ratios


def _largest_one(weight: Table) -> Table:
    top = np.nanmax(weight, initial=0.0)
    row: Table = weight / top if top > 0 else weight
    return row


def _spread(weight: Table) -> float:
    """How far a weight tells doses apart."""
    return float(np.ptp(_log(weight)))


def _next_to(pedigree: Pedigree, animal: int) -> set[int]:
    """Its parents, littermates, mates and young, as far as they may be that."""
    found: set[int] = set()
    for number, litter in enumerate(pedigree.litters):
        if number == pedigree.litter_of[animal] or animal in litter.candidates:
            found |= {*litter.pups, *litter.candidates}
    return found - {animal}
