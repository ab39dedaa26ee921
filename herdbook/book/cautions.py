"""What speaks against a mating, as data: a caution never refuses."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext_lazy

from .rules import limits

SOW, BOAR, PAIR = "sow", "boar", "pair"

_SHORT = {
    "not-here": gettext_lazy("not here"),
    "sow-young": gettext_lazy("sow too young"),
    "sow-late-first-litter": gettext_lazy("late for a first litter"),
    "sow-age-unknown": gettext_lazy("sow of unknown age"),
    "sow-light": gettext_lazy("sow too light"),
    "sow-not-weighed": gettext_lazy("sow not weighed"),
    "sow-lately-littered": gettext_lazy("sow hardly rested"),
    "due-in-heat": gettext_lazy("due in the heat"),
    "boar-young": gettext_lazy("boar too young"),
    "roan": gettext_lazy("look for roan"),
    "roan-to-roan": gettext_lazy("roan to roan"),
    "satin": gettext_lazy("satin"),
    "close-kin": gettext_lazy("close kin"),
    "closest-kin": gettext_lazy("closest kin"),
    "papers-in-doubt": gettext_lazy("papers in doubt"),
}


@dataclass(frozen=True)
class Caution:
    """One thing that speaks against a mating.

    ``code`` names it; ``about`` is SOW (or when she is due), BOAR or PAIR; ``message``
    says what and why, ``sources`` what they hold, ``decides`` who has the last word.
    """

    code: str
    about: str
    message: str
    sources: str
    decides: str

    @property
    def short(self) -> str:
        """The caution in a word or two, for a list of many matings."""
        return str(_SHORT[self.code.partition(":")[0]])


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
