"""By which doors the records of a family reach one animal.

Each relative stands behind the first step of a shortest way to it: the animal's sire, its dam, a
littermate, or a litter of its own young. Records are told, and left out, door by door.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from genetics.core.inference.factor_graph import Table
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import PosteriorProblem

Door = tuple[str, int]


@dataclass
class Group:
    """Records that are taken together: whose looks, what who was bought as, and the litters whose
    pups were counted and not told apart."""

    seen: list[int] = field(default_factory=list)
    bought: list[int] = field(default_factory=list)
    tallies: list[int] = field(default_factory=list)

    @property
    def animals(self) -> list[int]:
        """Those that anything is written of, ascending."""
        return sorted({*self.seen, *self.bought})


def groups_of(case: PosteriorProblem, animal: int) -> dict[Door, Group]:
    """What is written in an animal's family by the door through which it is reached.

    A door is a kind and a number: 'own', 'bought' (what it was bought as itself), 'sire', 'dam'
    or 'littermates', with -1; 'count' (of its own litter, it among them) or 'litter' (of its
    young), with that litter's number.
    """
    door = _doors(case.pedigree, animal)
    groups: dict[Door, Group] = {}
    for member, here in sorted(door.items()):
        if _tells(case.evidence.records[member]):
            groups.setdefault(here, Group()).seen.append(member)
        if _tells(case.bought_as(member)):
            place = ("bought", -1) if member == animal else here
            groups.setdefault(place, Group()).bought.append(member)
    for number in sorted(case.evidence.tallied):
        found = _door_of_tally(case.pedigree, animal, number, door)
        if found is not None:
            groups.setdefault(found, Group()).tallies.append(number)
    return groups


def _tells(row: Table) -> bool:
    """Whether a row says anything of one genotype against another."""
    return bool((row != row[0]).any())


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
