"""Cautions about a mating, as data: a caution warns and never refuses."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from .. import limits

SOW, BOAR, PAIR = "sow", "boar", "pair"

SHORT = {
    "not-here": gettext_lazy("not in the herd"),
    "sow-young": gettext_lazy("sow too young"),
    "sow-late-first-litter": gettext_lazy("late for a first litter"),
    "sow-age-unknown": gettext_lazy("sow of unknown age"),
    "sow-light": gettext_lazy("sow too light"),
    "sow-light-for-age": gettext_lazy("sow light for her age"),
    "sow-not-weighed": gettext_lazy("sow not weighed"),
    "sow-lately-littered": gettext_lazy("sow not rested"),
    "due-in-heat": gettext_lazy("due in hot weather"),
    "boar-young": gettext_lazy("boar too young"),
    "boar-light": gettext_lazy("boar too light"),
    "boar-age-unknown": gettext_lazy("boar of unknown age"),
    "boar-stays-on": gettext_lazy("boar stays too long"),
    "roan": gettext_lazy("check for roan"),
    "roan-to-roan": gettext_lazy("roan to roan"),
    "satin": gettext_lazy("satin"),
    "lethal-white": gettext_lazy("lethal whites"),
    "satin-pups": gettext_lazy("satin pups"),
    "satin-pups-seldom": gettext_lazy("satin pups (small chance)"),
    "close-kin": gettext_lazy("close relatives"),
    "closest-kin": gettext_lazy("very close relatives"),
    "papers-in-doubt": gettext_lazy("pedigree in doubt"),
}

# Cautions of pups that would suffer.
LETHAL = ("roan-to-roan", "lethal-white")
SATIN = ("satin", "satin-pups")
WELFARE = (*LETHAL, *SATIN)
# Cautions that keep an animal or a pair out of a season's plan until the breeder lets it in, and
# last in a ranking: those that could harm pups or a sow. Others are shown beside the pair.
GRAVE = (
    *WELFARE,
    "sow-young",
    "sow-late-first-litter",
    "sow-light",
    "sow-lately-littered",
    "boar-young",
)


@dataclass(frozen=True)
class Caution:
    """One reason to think twice about a mating.

    ``code`` names it; ``about`` is SOW (or when she is due), BOAR or PAIR; ``message``
    gives the reason, ``sources`` what is published, ``decides`` who has the last word.
    """

    code: str
    about: str
    message: str
    sources: str
    decides: str

    @property
    def kind(self) -> str:
        """The code without the animal that it may be about."""
        return self.code.partition(":")[0]

    @property
    def is_grave(self) -> bool:
        """Whether it keeps a pair out of plans and out of the best pairs until it is let in."""
        return self.kind in GRAVE

    @property
    def short(self) -> str:
        """The caution in a word or two, for a list of many matings."""
        return str(SHORT[self.kind])


@dataclass(frozen=True)
class TimeTogether:
    """The first day that the boar is with the sow and the last."""

    first: date
    last: date

    @property
    def due(self) -> tuple[date, date]:
        """The first and the last day on which she may litter."""
        return (
            self.first + timedelta(days=limits.GESTATION_SHORTEST_DAYS),
            self.last + timedelta(days=limits.GESTATION_LONGEST_DAYS),
        )


@dataclass(frozen=True)
class Lightest:
    """The least that a sow should have weighed on the day she was last weighed, by the herd's
    growth.

    ``usual_g`` is the middle of the herd's sows at that age; ``weighings`` of ``sows`` sows are
    what both rest on.
    """

    grams: float
    usual_g: float
    weighings: int
    sows: int


@dataclass(frozen=True)
class Doubted:
    """The chance that an animal's recorded sire is wrong, and that a check of it was misread.

    None for a chance too small to mention, or one that could not be worked out.
    """

    sire: float | None = None
    look: float | None = None


def vet_decides() -> str:
    return _("A vet decides.")
