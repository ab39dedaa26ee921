"""How two animals are related: Wright's path method.

The inbreeding of a litter is a sum over every path that leads from the sire up to an ancestor
common to both parents and down to the dam, meeting no animal twice. With n1 generations from the
sire to the ancestor A and n2 from the dam, a path adds

    (1/2)^(n1 + n2 + 1) (1 + F_A).

Wright S 1922, Coefficients of inbreeding and relationship, Am Nat 56:330-338 (cited from memory).
The sum is the kinship that the tabular method gives, and the tests hold the one to the other.

Where a parent is uncertain a path is there with a chance: the product of the weights of all the
draws it needs, each litter's draw counted once, and nothing where one litter would need two. What
is below A on a path and what makes A inbred rest on different draws, since a litter that needed
both would be its own ancestor; so the expected sum is exact, too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count, product
from math import prod

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness.kinship import inbreeding, kinship

MOST_PATHS = 200  # more than anyone reads; what the rest adds is still told
MOST_LINES = 20_000  # lines of descent followed on one side, over all generations
MOST_PAIRS = 200_000  # pairs of lines looked at
_ENOUGH = 1e-12  # the paths make up the whole when this little is left


@dataclass(frozen=True)
class Path:
    """One path between the parents of a litter.

    `sire_side` and `dam_side` lead from the parent up to the common ancestor, both included: an
    animal that is itself the ancestor of the other stands alone on its side. A number of
    `len(pedigree)` or more is a parent that nobody knows, shared by littermates: `len(pedigree) +
    2 * litter` the sire, one more the dam. `chance` is below 1 where a parent on it is uncertain.
    `adds` is what the path adds to the litter's inbreeding, that chance allowed for.
    """

    sire_side: tuple[int, ...]
    dam_side: tuple[int, ...]
    chance: float
    ancestor_inbreeding: float
    adds: float

    @property
    def ancestor(self) -> int:
        return self.sire_side[-1]

    @property
    def generations(self) -> tuple[int, int]:
        """n1 and n2: generations from the sire, and from the dam, to the common ancestor."""
        return len(self.sire_side) - 1, len(self.dam_side) - 1


@dataclass(frozen=True)
class Related:
    """The inbreeding of a litter and the paths that make it, those that add most first.

    `rest` is what paths that are not listed add: nothing, unless there are very many.
    """

    inbreeding: float
    paths: tuple[Path, ...]
    rest: float


def related(pedigree: Pedigree, sire: int, dam: int) -> Related:
    """Expected inbreeding of a litter of these two and every path that adds to it.

    The shortest paths are found first; the search ends when they make up the whole, at
    `MOST_PATHS` of them, or when it has looked too long (`MOST_LINES`, `MOST_PAIRS`). Raises
    ValueError for one animal with itself.
    """
    if sire == dam:
        raise ValueError("two different animals are wanted")
    shared = _ancestors(pedigree, sire) & _ancestors(pedigree, dam)
    known = sorted(animal for animal in shared if animal < len(pedigree))
    inbred = dict(zip(known, inbreeding(pedigree, known).tolist(), strict=True))
    total = left = float(kinship(pedigree, [sire, dam])[0, 1])
    paths: list[Path] = []
    for line, other, chance in _meetings(pedigree, sire, dam, shared):
        if left < _ENOUGH or len(paths) == MOST_PATHS:
            break
        paths.append(_path(line, other, chance, inbred.get(line.animals[-1], 0.0)))
        left -= paths[-1].adds
    paths.sort(key=lambda path: (-path.adds, path.sire_side, path.dam_side))
    return Related(total, tuple(paths), left if left > _ENOUGH else 0.0)


def _path(line: _Line, other: _Line, chance: float, inbred: float) -> Path:
    steps = len(line.animals) + len(other.animals) - 1
    return Path(line.animals, other.animals, chance, inbred, chance * 0.5**steps * (1 + inbred))


def recent(pedigree: Pedigree, parents: tuple[int, int], generations: int) -> Pedigree:
    """The pedigree with what is more than so many generations behind a litter taken away.

    The parents of the litter are generation 1. An animal counts where it stands nearest to the
    litter; those of the last generation kept are founders, unrelated to each other.
    """
    if generations < 1:
        raise ValueError(f"a litter has its parents at the least, not {generations} generations")
    kept: set[int] = set()
    here = set(parents)
    for _generation in range(generations - 1):
        kept |= here
        numbers = {int(pedigree.litter_of[animal]) for animal in here} - {-1}
        here = {one for number in numbers for one in pedigree.litters[number].candidates} - kept
    born = sorted({int(pedigree.litter_of[animal]) for animal in kept} - {-1})
    litters = (_with_pups_of(pedigree.litters[number], kept) for number in born)
    return Pedigree(pedigree.ids, tuple(litters))


def _with_pups_of(litter: Litter, kept: set[int]) -> Litter:
    return Litter(
        tuple(pup for pup in litter.pups if pup in kept),
        litter.sires,
        litter.sire_weights,
        litter.dams,
        litter.dam_weights,
    )


Draw = tuple[int, int]  # a litter and a side, 0 its sire and 1 its dam


@dataclass(frozen=True)
class _Line:
    """A way up from one animal, with the draws that it needs and what each of them gives."""

    animals: tuple[int, ...]
    draws: dict[Draw, tuple[int, float]]


def _parents(pedigree: Pedigree, animal: int) -> Iterator[tuple[int, Draw, float]]:
    """Each possible parent, those that nobody knows included, with its draw and weight."""
    number = -1 if animal >= len(pedigree) else int(pedigree.litter_of[animal])
    if number == -1:
        return
    litter = pedigree.litters[number]
    sides = ((litter.sires, litter.sire_weights), (litter.dams, litter.dam_weights))
    for side, (candidates, weights) in enumerate(sides):
        for candidate, weight in zip(candidates, weights, strict=True):
            yield candidate, (number, side), weight
        if not candidates and len(litter.pups) > 1:
            yield len(pedigree) + 2 * number + side, (number, side), 1.0


def _ancestors(pedigree: Pedigree, animal: int) -> set[int]:
    """The animal and all that may stand behind it."""
    found, waiting = {animal}, [animal]
    while waiting:
        new = {parent for parent, _, _ in _parents(pedigree, waiting.pop())} - found
        found |= new
        waiting.extend(new)
    return found


class _Lines:
    """All ways up from one animal to common ancestors, a generation at a time, as asked for."""

    def __init__(self, pedigree: Pedigree, animal: int, common: set[int]) -> None:
        self.pedigree = pedigree
        self.leading = _leading(pedigree, animal, common)
        self.levels: list[list[_Line]] = [[_Line((animal,), {})]]
        self.count = 1

    def ending_at(self, generation: int) -> dict[int, list[_Line]]:
        """The lines of so many steps by their last animal; none once too many were followed."""
        while len(self.levels) <= generation:
            level: list[_Line] = []
            if self.count <= MOST_LINES:
                level = [longer for line in self.levels[-1] for longer in self._longer(line)]
            self.count += len(level)
            self.levels.append(level)
        ends: dict[int, list[_Line]] = defaultdict(list)
        for line in self.levels[generation]:
            ends[line.animals[-1]].append(line)
        return ends

    def _longer(self, line: _Line) -> Iterator[_Line]:
        for parent, draw, weight in _parents(self.pedigree, line.animals[-1]):
            if parent in self.leading:
                yield _Line((*line.animals, parent), line.draws | {draw: (parent, weight)})


def _leading(pedigree: Pedigree, animal: int, common: set[int]) -> set[int]:
    """Those behind an animal from which a way up reaches a common ancestor."""
    behind = _ancestors(pedigree, animal)
    leading = behind & common
    young = defaultdict(list)
    for one in behind:
        for parent, _, _ in _parents(pedigree, one):
            young[parent].append(one)
    waiting = list(leading)
    while waiting:
        new = set(young[waiting.pop()]) - leading
        leading |= new
        waiting.extend(new)
    return leading


def _meetings(
    pedigree: Pedigree, sire: int, dam: int, common: set[int]
) -> Iterator[tuple[_Line, _Line, float]]:
    """Pairs of lines that meet in their last animal only, the shortest first, with a chance."""
    up_from_sire, up_from_dam = _Lines(pedigree, sire, common), _Lines(pedigree, dam, common)
    looked_at = 0
    for length in count():
        going_on = False
        for generation in range(length + 1):
            ends = up_from_sire.ending_at(generation)
            others = up_from_dam.ending_at(length - generation)
            going_on |= bool(ends and others)
            for line, other in _ending_alike(ends, others):
                looked_at += 1
                chance = _chance_of_both(line, other)
                if chance > 0:
                    yield line, other, chance
                if looked_at == MOST_PAIRS:
                    return
        if not going_on:
            return


def _ending_alike(
    ends: dict[int, list[_Line]], others: dict[int, list[_Line]]
) -> Iterator[tuple[_Line, _Line]]:
    for ancestor in sorted(ends.keys() & others.keys()):
        yield from product(ends[ancestor], others[ancestor])


def _chance_of_both(line: _Line, other: _Line) -> float:
    """The chance that both lines are as they stand; 0 where they meet before their end."""
    if set(line.animals[:-1]) & set(other.animals[:-1]):
        return 0.0
    if line.animals[-1] in other.animals[:-1] or other.animals[-1] in line.animals[:-1]:
        return 0.0
    for draw in line.draws.keys() & other.draws.keys():
        if line.draws[draw] != other.draws[draw]:
            return 0.0
    weights = [weight for _, weight in (line.draws | other.draws).values()]
    return prod(weights)
