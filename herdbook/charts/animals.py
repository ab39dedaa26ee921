"""The animals of a chart, as plain values that the page fills in."""

from collections.abc import Hashable
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from herdbook.charts.symbols import Sex
from herdbook.charts.text import clean


@dataclass(frozen=True)
class Animal:
    """What a box says of one animal.

    `key` tells whether two boxes are the same animal. `look` is its colours and points, `dose` the
    dose in words with its chance ('one dose 98%'). `copies` fills the symbol: 0, 1 or 2 where the
    caller holds the dose to be known, else None. `link` is a link within the site, or "".
    """

    key: Hashable
    name: str
    sex: Sex = Sex.UNKNOWN
    number: str = ""
    born: str = ""
    look: str = ""
    dose: str = ""
    copies: int | None = None
    link: str = ""
    died: bool = False

    def known_as(self) -> str:
        """Its name, else its number, else words that say it has none."""
        return clean(self.name) or clean(self.number) or _("no name")

    def who_and_when(self) -> str:
        """Its number and year of birth on one line."""
        return " · ".join(self.number_and_birth())

    def number_and_birth(self) -> list[str]:
        """Its number, where that is not what it goes by, and its year of birth, where known."""
        born = _("born %(year)s") % {"year": self.born} if self.born else ""
        number = self.number if clean(self.name) else ""
        return [clean(word) for word in (number, born) if clean(word)]

    def details(self) -> list[str]:
        """The lines below the name, none of them empty."""
        lines = (self.who_and_when(), clean(self.look), clean(self.dose))
        return [line for line in lines if line]

    def in_full(self) -> str:
        """Everything a box shows, as one sentence, for a tooltip and a screen reader."""
        died = [_("has died")] if self.died else []
        return ", ".join([self.known_as(), *self.details(), sex_in_words(self.sex), *died])


def sex_in_words(sex: Sex) -> str:
    """The word for a boar, a sow, or an animal of unknown sex."""
    return {Sex.BOAR: _("boar"), Sex.SOW: _("sow"), Sex.UNKNOWN: _("sex unknown")}[sex]


@dataclass(frozen=True)
class Ancestor:
    """An animal with its parents. No sire: unknown. Several: one of these, not known which.

    `parents_related` is the book's word on whether the parents are relatives; None leaves it to
    what can be seen in the ancestors given here, however deep they go. `share` is the chance that
    it is the sire, in words ('93%'), where it is one of several.
    """

    animal: Animal
    sires: tuple["Ancestor", ...] = ()
    dam: "Ancestor | None" = None
    parents_related: bool | None = None
    share: str = ""

    def known_sire(self) -> "Ancestor | None":
        """The sire, where there is but one it can be."""
        return self.sires[0] if len(self.sires) == 1 else None


@dataclass(frozen=True)
class KeyEntry:
    """A line of a chart's key: a symbol as SVG, and what it means."""

    symbol: str
    words: str


@dataclass(frozen=True)
class Chart:
    """A drawn chart, safe to put in a page as it is, and the key to the symbols that occur.

    `upright` is the same for a narrow screen, where there is one of its own; a chart without that
    says whether it is wider than a phone.
    """

    svg: str
    key: tuple[KeyEntry, ...] = field(default=())
    upright: str = ""
    wider_than_a_phone: bool = False


def lineage(animal: Ancestor) -> frozenset[Hashable]:
    """The keys of an animal and all of its certain ancestors."""
    found: set[Hashable] = set()
    seen: set[int] = set()
    waiting: list[Ancestor | None] = [animal]
    while waiting:
        one = waiting.pop()
        if one is None or id(one) in seen:
            continue
        seen.add(id(one))
        found.add(one.animal.key)
        waiting += [one.known_sire(), one.dam]
    return frozenset(found)


def are_parents_related(young: Ancestor) -> bool:
    """Whether the sire, whichever it was, and the dam share an ancestor or one is the other's."""
    if young.parents_related is not None:
        return young.parents_related
    if not young.sires or young.dam is None:
        return False
    dam_side = lineage(young.dam)
    return all(lineage(sire) & dam_side for sire in young.sires)
