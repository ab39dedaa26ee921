"""A pedigree file as rows of the book, not yet saved."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from graphlib import TopologicalSorter

from herdbook.book.models import Animal, CandidateSire, GivenEvidence, Herd, Litter, Look
from herdbook.book.models.animal import Coat, State
from herdbook.book.rules.findings import Finding
from herdbook.exchange.rows import AnimalRow


@dataclass(frozen=True, slots=True)
class Choices:
    """What the file does not contain and its keeper must choose.

    ``state`` is where the animals are. With ``since``, that applies to those born on that day or
    later, and the others, also those without a date of birth, are pedigree only. ``coat`` is the
    body colour of an animal whose points were checked and whose coat is empty: points show on a
    red-series body, and count on no other.
    """

    state: str = State.IN_HERD
    since: date | None = None
    coat: str = Coat.WHITE


@dataclass(slots=True)
class LitterPlan:
    """A litter to be written, with its rows of the file, its pups and its candidate sires."""

    litter: Litter
    rows: list[AnimalRow] = field(default_factory=list)
    pups: list[Animal] = field(default_factory=list)
    sires: list[CandidateSire] = field(default_factory=list)

    @property
    def parent_ids(self) -> tuple[str, ...]:
        return (*self.rows[0].sires, *self.rows[0].dams)


@dataclass(frozen=True)
class Plan:
    """What would be written: unsaved rows of the book, and the questions about them.

    ``animals`` are by id, in the file's order. ``coats_chosen`` counts those whose body colour
    is the keeper's choice, ``looks_within`` those whose check is left out because the likelihood
    given for them already includes it.
    """

    herd: Herd
    rows: tuple[AnimalRow, ...]
    animals: dict[str, Animal]
    litters: tuple[LitterPlan, ...]
    looks: tuple[Look, ...]
    evidence: tuple[GivenEvidence, ...]
    coats_chosen: int = 0
    looks_within: int = 0
    questions: tuple[Finding, ...] = ()

    @cached_property
    def founders(self) -> int:
        """Animals without a known parent."""
        return sum(not plan.parent_ids for plan in self.litters for _pup in plan.pups)

    @cached_property
    def families(self) -> int:
        """Litters with a known parent, or of several pups."""
        return sum(bool(plan.parent_ids) or len(plan.pups) > 1 for plan in self.litters)

    def in_state(self, state: str) -> int:
        return sum(animal.state == state for animal in self.animals.values())

    @property
    def without_coat(self) -> int:
        return sum(not animal.coat for animal in self.animals.values())

    def generations(self) -> Iterator[list[LitterPlan]]:
        """The litters in lots, each with all its parents in the lots before."""
        litter_of = {row.id: place for place, plan in enumerate(self.litters) for row in plan.rows}
        sorter = TopologicalSorter(
            {
                place: {litter_of[parent] for parent in plan.parent_ids}
                for place, plan in enumerate(self.litters)
            }
        )
        sorter.prepare()
        while sorter.is_active():
            lot = sorter.get_ready()
            yield [self.litters[place] for place in sorted(lot)]
            sorter.done(*lot)
