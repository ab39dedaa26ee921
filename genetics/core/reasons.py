"""Why a dose is what it is said to be: which records move it, and how far.

The records are put in groups by how they reach the animal: its own looks, those on its sire's
side, its dam's side, its littermates, a count that it was among with them, and each litter of its
offspring (with their descendants and their other parent). Each group is left out in turn and the
animal reckoned anew; what the group adds is the ratio of likelihoods, posterior with it over
posterior without it, Bayes' factor given all the other records. Groups that share no animals but
this one multiply exactly; `overlap` says how far the product is from the whole.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field

import numpy as np

from genetics.core.case import BUDGET, Case
from genetics.core.dose import reckon_case
from genetics.core.factors import Table
from genetics.core.pedigree import Pedigree


@dataclass(frozen=True)
class Reason:
    """A group of records and how far it moves one animal.

    `kind`: 'own', 'sire', 'dam', 'littermates', 'count' (of its own litter, not told apart) or
    'litter' (of offspring); `litter` is the number of a count's or an offspring's litter, else -1.
    `animals`: those with evidence in the group; `tallies`: the litters whose counts are in it.
    `ratios` (3,): how many times likelier the group's records are at each dose, made to a largest
    of 1; NaN where the other records rule that dose out. `two_doses`: how many times likelier they
    are with two doses than with fewer, given the other records: the odds on two doses with the
    group over those without it.
    """

    kind: str
    litter: int
    animals: tuple[int, ...]
    ratios: Table
    two_doses: float
    tallies: tuple[int, ...] = ()


@dataclass(frozen=True)
class Reasons:
    """All that moves one animal's dose, the strongest group first.

    `prior` (3,) and `posterior` (3,): chances without any evidence and with all of it;
    `prior_odds` and `posterior_odds` are those on two doses against fewer. `overlap`: the
    posterior odds over the prior odds times every group's `two_doses`; 1 where the groups are
    independent, NaN where odds are 0 or infinite.
    """

    animal: int
    prior: Table
    posterior: Table
    reasons: tuple[Reason, ...]

    @property
    def prior_odds(self) -> float:
        return _odds(self.prior)

    @property
    def posterior_odds(self) -> float:
        return _odds(self.posterior)

    @property
    def overlap(self) -> float:
        product = self.prior_odds * math.prod(reason.two_doses for reason in self.reasons)
        return _ratio(self.posterior_odds, product)


def reasons_for(
    pedigree: Pedigree,
    likelihood: Table,
    animal: int,
    *,
    frequency: float,
    errors: float = 0.0,
    founder_prior: Table | None = None,
    budget: float = BUDGET,
) -> Reasons | None:
    """The reasons for one animal's dose, or None where it is too tangled to be exact.

    Arguments and errors raised are those of `reckon_dose`. One reckoning of the animal's family
    for each group of records, and two more.
    """
    case = Case.of(pedigree, likelihood, frequency, errors, founder_prior, budget)
    groups = _groups(case, animal)
    posterior = _chances(case, animal)
    everything = [member for group in groups.values() for member in group.animals]
    prior = _chances(case.without_evidence_of(everything, case.evidence.tallied), animal)
    if np.isnan(posterior).any() or np.isnan(prior).any():
        return None
    found = []
    for (kind, litter), group in groups.items():
        without = _chances(case.without_evidence_of(group.animals, group.tallies), animal)
        if np.isnan(without).any():
            return None
        moved = _moved(posterior, without)
        found.append(Reason(kind, litter, tuple(group.animals), *moved, tuple(group.tallies)))
    found.sort(key=lambda reason: -_strength(reason))
    return Reasons(animal, prior, posterior, tuple(found))


def _chances(case: Case, animal: int) -> Table:
    """The animal's posterior, from its own family alone. Raises Impossible."""
    chances: Table = reckon_case(case, animal).chances[animal]
    return chances


def _moved(posterior: Table, without: Table) -> tuple[Table, float]:
    ratios = np.divide(posterior, without, out=np.full(3, np.nan), where=without > 0)
    return ratios / np.nanmax(ratios), _ratio(_odds(posterior), _odds(without))


def _odds(chances: Table) -> float:
    fewer = float(chances[0] + chances[1])
    return float(chances[2]) / fewer if fewer > 0 else math.inf


def _ratio(odds: float, against: float) -> float:
    """Odds over odds: infinite or 0 where one side became certain, NaN where it already was."""
    if against == 0 or math.isinf(against):
        return math.nan
    return odds / against


def _strength(reason: Reason) -> float:
    if math.isnan(reason.two_doses):
        return 0.0
    return math.inf if reason.two_doses == 0 else abs(math.log(reason.two_doses))


Door = tuple[str, int]


@dataclass
class _Group:
    """Records that are left out together."""

    animals: list[int] = field(default_factory=list)
    tallies: list[int] = field(default_factory=list)


def _groups(case: Case, animal: int) -> dict[Door, _Group]:
    """The animals with evidence in the family, and the litters that were counted, by the door
    through which they are reached."""
    door = _doors(case.pedigree, animal)
    groups: dict[Door, _Group] = {}
    for member, here in sorted(door.items()):
        if case.says_something(member):
            groups.setdefault(here, _Group()).animals.append(member)
    for number in sorted(case.evidence.tallied):
        found = _door_of_tally(case.pedigree, animal, number, door)
        if found is not None:
            groups.setdefault(found, _Group()).tallies.append(number)
    return groups


def _door_of_tally(
    pedigree: Pedigree, animal: int, number: int, door: dict[int, Door]
) -> Door | None:
    """How a counted litter is reached; None for one of another family."""
    litter = pedigree.litters[number]
    if animal in litter.counted:
        return "count", number
    if animal in litter.candidates:
        return "litter", number
    if animal in litter.pups:
        return "littermates", -1
    return next((door[one] for one in litter.pups + litter.candidates if one in door), None)


def _doors(pedigree: Pedigree, animal: int) -> dict[int, Door]:
    """For each animal of the family, the first step of a shortest way from `animal` to it."""
    litters_of: dict[int, list[int]] = {}
    for number, litter in enumerate(pedigree.litters):
        for member in litter.pups + litter.candidates:
            litters_of.setdefault(member, []).append(number)
    door: dict[int, Door] = {animal: ("own", -1)}
    waiting = deque([animal])
    while waiting:
        here = waiting.popleft()
        for number in litters_of.get(here, ()):
            litter = pedigree.litters[number]
            for member in litter.candidates + litter.pups:
                if member not in door:
                    if here == animal:
                        door[member] = _first_step(pedigree, animal, number, member)
                    else:
                        door[member] = door[here]
                    waiting.append(member)
    return door


def _first_step(pedigree: Pedigree, animal: int, number: int, member: int) -> Door:
    if number != pedigree.litter_of[animal]:
        return "litter", number
    litter = pedigree.litters[number]
    if member in litter.sires:
        return "sire", -1
    return ("dam", -1) if member in litter.dams else ("littermates", -1)
