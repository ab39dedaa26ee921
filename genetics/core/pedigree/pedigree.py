"""Who descends from whom.

A pedigree is a list of litters. A litter has its pups and, on each side, nobody (the parent
is unknown), one parent, or several candidates of which one was the parent of the whole litter.
A pedigree is checked once, when it is made; afterwards its arrays are read-only and every
other module of the core trusts them.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from genetics.core.exceptions import Fault, PedigreeError
from genetics.core.pedigree.arrays import Parentage
from genetics.core.pedigree.litter import Litter, usable_weights
from genetics.core.pedigree.sparse_kinship import Lineage

Indices = NDArray[np.int32]


@dataclass(frozen=True)
class Pedigree:
    """Animals and the litters they come from, checked and then read-only.

    `ids` are for messages only and need not differ. Rows may stand in any order, and every result
    of the core is in that order. `litter_of` (n,) int32 is each animal's litter, or -1 for a
    founder: no parent on record and no litter. `order` (n,) int32 lists all animals, parents
    before offspring.

    Raises `PedigreeError`.
    """

    ids: tuple[str, ...]
    litters: tuple[Litter, ...]
    litter_of: Indices = field(init=False, repr=False, compare=False)
    order: Indices = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        faults = list(_faults_of_the_lists(self.ids, self.litters))
        if faults:
            raise PedigreeError(faults)
        litter_of = np.full(len(self.ids), -1, dtype=np.int32)
        for number, litter in enumerate(self.litters):
            litter_of[list(litter.pups)] = number
        order = _parents_first(len(self.ids), self.litters, litter_of)
        if len(order) < len(self.ids):
            raise PedigreeError([_cycle(self.ids, self.litters)])
        object.__setattr__(self, "litter_of", _read_only(litter_of))
        object.__setattr__(self, "order", _read_only(np.array(order, dtype=np.int32)))

    @classmethod
    def from_parents(
        cls, ids: Sequence[str], sires: Sequence[int], dams: Sequence[int]
    ) -> Pedigree:
        """A pedigree of certain parents, -1 where unknown: every animal a litter of its own."""
        litters = [
            Litter((pup,), sires=(sire,) if sire != -1 else (), dams=(dam,) if dam != -1 else ())
            for pup, (sire, dam) in enumerate(zip(sires, dams, strict=True))
            if (sire, dam) != (-1, -1)
        ]
        return cls(tuple(ids), tuple(litters))

    def __len__(self) -> int:
        return len(self.ids)

    @cached_property
    def parentage(self) -> Parentage:
        """The litters as flat arrays, made when first asked for."""
        return Parentage.of(self.litters, self.litter_of)

    @cached_property
    def lineage(self) -> Lineage:
        """Every animal's inbreeding, and what kinships follow from; made when first asked for."""
        return Lineage.of(self.parentage)

    def without_parents(self) -> NDArray[np.bool_]:
        """Which animals (n,) have a litter, but no parent on record."""
        unknown = np.array([not litter.candidates for litter in self.litters], dtype=bool)
        found = np.zeros(len(self.ids), dtype=bool)
        bred = self.litter_of != -1
        found[bred] = unknown[self.litter_of[bred]]
        return found

    def litter_order(self, animals: Indices | None = None) -> list[int]:
        """The litters that have pups, each after those its candidates were born in.

        Those of `animals` alone, where they are given.
        """
        order = self.order
        if animals is not None:
            rank = np.empty(len(self.ids), dtype=np.int64)
            rank[order] = np.arange(len(order))
            order = animals[np.argsort(rank[animals])]
        seen = dict.fromkeys(self.litter_of[order].tolist())
        seen.pop(-1, None)
        return list(seen)

    def ancestry(self, animals: Iterable[int], most: int | None = None) -> Indices:
        """The animals and all their possible ancestors, ascending; an excerpt above `most`."""
        found = {int(animal) for animal in animals}
        waiting = list(found)
        while waiting and (most is None or len(found) <= most):
            number = self.litter_of[waiting.pop()]
            if number != -1:
                new = set(self.litters[number].candidates) - found
                found |= new
                waiting.extend(new)
        return np.array(sorted(found), dtype=np.int32)

    @cached_property
    def family_of(self) -> Indices:
        """The number (n,) of each animal's family: those connected by litters. Families are
        numbered in the order of their first animals."""
        first: list[int] = []
        other: list[int] = []
        for litter in self.litters:
            joined = litter.pups + litter.candidates if litter.pups or litter.tally else ()
            first += [joined[0] for _ in joined[1:]]
            other += joined[1:]
        size = len(self.ids)
        ties = coo_array((np.ones(len(first), dtype=np.int8), (first, other)), shape=(size, size))
        label = connected_components(ties, directed=False)[1]
        _, place, number = np.unique(label, return_index=True, return_inverse=True)
        return _read_only(np.argsort(np.argsort(place))[number].astype(np.int32))

    def families(self) -> list[list[int]]:
        """Animals that are connected by litters, each family ascending, in order of its first."""
        return [family.tolist() for family in self._members]

    def family(self, animal: int) -> list[int]:
        """The family of one animal, ascending."""
        members: list[int] = self._members[self.family_of[animal]].tolist()
        return members

    @cached_property
    def _members(self) -> list[Indices]:
        order = np.argsort(self.family_of, kind="stable").astype(np.int32)
        return np.split(order, np.cumsum(np.bincount(self.family_of))[:-1]) if len(order) else []


def _read_only(values: Indices) -> Indices:
    values.setflags(write=False)
    return values


def _repeated(animals: Iterable[int]) -> tuple[int, ...]:
    return tuple(animal for animal, times in Counter(animals).items() if times > 1)


def _faults_of_the_lists(ids: tuple[str, ...], litters: tuple[Litter, ...]) -> Iterator[Fault]:
    """Whatever is wrong short of a cycle."""
    for litter in litters:
        yield from _faults_of_one(ids, litter)
    pups = Counter(pup for litter in litters for pup in set(litter.pups))
    shared = tuple(pup for pup, times in pups.items() if times > 1)
    if shared:
        yield Fault("litters", shared, f"in more than one litter: {_names(ids, shared)}")


def _faults_of_one(ids: tuple[str, ...], litter: Litter) -> Iterator[Fault]:
    missing = tuple(
        animal for animal in litter.pups + litter.candidates if not 0 <= animal < len(ids)
    )
    if missing:
        yield Fault("index", missing, f"no animal has the number {_names(ids, missing)}")
    mixed = tuple(pup for mix_up in litter.mix_ups for pup in mix_up[:2])
    strangers = tuple(sorted({*litter.counted, *mixed} - set(litter.pups)))
    if strangers:
        yield Fault("littermate", strangers, f"not of that litter: {_names(ids, strangers)}")
    both = tuple(sorted(set(litter.sires) & set(litter.dams)))
    if both:
        yield Fault("both", both, f"both sire and dam of one litter: {_names(ids, both)}")
    for what, animals in (("pup", litter.pups), ("sire", litter.sires), ("dam", litter.dams)):
        twice = _repeated(animals)
        if twice:
            yield Fault("repeated", twice, f"named twice as {what}: {_names(ids, twice)}")
    for candidates, weights in (
        (litter.sires, litter.sire_weights),
        (litter.dams, litter.dam_weights),
    ):
        if not usable_weights(candidates, weights):
            yield Fault(
                "weight",
                candidates or litter.pups,
                f"needs one positive weight for each candidate: "
                f"{_names(ids, candidates or litter.pups)}",
            )


def _names(ids: tuple[str, ...], animals: Iterable[int]) -> str:
    return ", ".join(ids[animal] if 0 <= animal < len(ids) else str(animal) for animal in animals)


def _parents_first(count: int, litters: tuple[Litter, ...], litter_of: Indices) -> list[int]:
    """All animals, each after its possible parents; those behind a cycle are left out."""
    awaited = [len(litter.candidates) for litter in litters]
    litters_of_parent: dict[int, list[int]] = {}
    for number, litter in enumerate(litters):
        for parent in litter.candidates:
            litters_of_parent.setdefault(parent, []).append(number)
    ready = deque(int(animal) for animal in np.flatnonzero(litter_of == -1))
    for number, litter in enumerate(litters):
        if not awaited[number]:
            ready.extend(litter.pups)
    order: list[int] = []
    while ready:
        animal = ready.popleft()
        order.append(animal)
        for number in litters_of_parent.get(animal, ()):
            awaited[number] -= 1
            if not awaited[number]:
                ready.extend(litters[number].pups)
    return order


def _cycle(ids: tuple[str, ...], litters: tuple[Litter, ...]) -> Fault:
    """The animals that are their own ancestors: the strongly connected sets of the pedigree."""
    links = [
        (pup, parent) for litter in litters for pup in litter.pups for parent in litter.candidates
    ]
    pups, parents = np.array(links).T
    graph = coo_array((np.ones(len(links), dtype=np.int8), (pups, parents)), shape=(len(ids),) * 2)
    label = connected_components(graph, connection="strong")[1]
    several = np.bincount(label)[label] > 1
    several[pups[pups == parents]] = True  # its own parent
    own = tuple(np.flatnonzero(several).tolist())
    return Fault("cycle", own, f"its own ancestor: {_names(ids, own)}")
