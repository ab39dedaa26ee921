"""What a keeper hands in at the desk: plain values, not yet believed."""

from dataclasses import dataclass, field
from datetime import date

from .models import Animal, Litter, Photo
from .partial_date import PartialDate


@dataclass(frozen=True)
class PupEntry:
    """One pup as written at birth."""

    sex: str = ""
    coat: str = ""
    birth_weight_g: int | None = None
    number: str = ""
    name: str = ""
    tag: str = ""
    told_apart: str = ""
    told_apart_note: str = ""
    sureness: str = "sure"
    remarks: str = ""
    photo: Photo | None = None


@dataclass(frozen=True)
class ParentsEntry:
    """Birth and parentage, as a litter holds them. ``weights`` go with ``boars``, or are empty."""

    dam: Animal | None = None
    boars: tuple[Animal, ...] = ()
    weights: tuple[float, ...] = ()
    born: PartialDate | None = None


@dataclass(frozen=True)
class LitterEntry(ParentsEntry):
    """A litter as written at birth."""

    boar_in: PartialDate | None = None
    boar_out: PartialDate | None = None
    born_alive: int | None = None
    born_dead: int = 0
    remarks: str = ""
    pups: tuple[PupEntry, ...] = ()


@dataclass(frozen=True)
class AnimalEntry:
    """An animal bought or known from paper: ``values`` are its own columns by name."""

    values: dict = field(default_factory=dict)
    parents: ParentsEntry = ParentsEntry()


@dataclass(frozen=True)
class LookEntry:
    """A check of an animal's points: ``values`` are the columns beside date and stage."""

    animal: Animal
    on: date
    stage: str
    values: dict = field(default_factory=dict)


@dataclass(frozen=True)
class JudgementEntry:
    """What a person made of an animal."""

    animal: Animal
    on: date
    verdict: str
    by: str = ""
    remarks: str = ""


@dataclass(frozen=True)
class WeighingEntry:
    """A weighing, in grams."""

    animal: Animal
    on: date
    weight_g: int
    remarks: str = ""


@dataclass(frozen=True)
class CountEntry:
    """A count of pups of a litter that could not be identified one by one.

    ``counted``: how many showed each stage, by its name. ``pups``: those with a line of their own
    that were there; ``nameless``: how many others.
    """

    litter: Litter
    on: date
    counted: dict[str, int]
    pups: tuple[Animal, ...] = ()
    nameless: int = 0
    warmth: str = ""
    remarks: str = ""

    @property
    def total(self) -> int:
        """How many are counted."""
        return sum(self.counted.values())

    @property
    def there(self) -> int:
        """How many there were to count."""
        return len(self.pups) + self.nameless
