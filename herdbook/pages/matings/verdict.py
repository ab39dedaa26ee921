"""The first answer of a look-up: whether the records hold a caution about the mating."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.rules.mating_cautions import Caution


@dataclass(frozen=True)
class Verdict:
    """One sentence, and whether a caution behind it could harm an animal."""

    words: str
    is_grave: bool = False


def verdict_of(cautions: Sequence[Caution]) -> Verdict:
    """Not advised where a caution could harm an animal; else how many cautions there are."""
    if any(caution.is_grave for caution in cautions):
        words = _("Not advised: it could harm the sow, the boar or the pups. Ask a vet.")
        return Verdict(words, is_grave=True)
    if not cautions:
        return Verdict(_("No cautions on record."))
    words = ngettext(
        "Possible, with %(n)d caution.", "Possible, with %(n)d cautions.", len(cautions)
    )
    return Verdict(words % {"n": len(cautions)})


def gravest_first(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Those that could harm an animal before the others, else in their order."""
    return tuple(sorted(cautions, key=lambda caution: not caution.is_grave))
