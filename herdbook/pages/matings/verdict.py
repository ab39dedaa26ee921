"""The first answer of a look-up: whether anything on record speaks against the mating."""

from collections.abc import Sequence
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
    """What could harm an animal is named first; other cautions are counted."""
    grave = [caution for caution in cautions if caution.is_grave]
    if grave:
        words = _("Not advised, it could harm the sow or her pups: %(why)s. Ask a vet.")
        return Verdict(words % {"why": ", ".join(_each_once(grave))}, is_grave=True)
    if not cautions:
        return Verdict(_("No cautions on record."))
    words = ngettext("%(n)d caution: %(why)s.", "%(n)d cautions: %(why)s.", len(cautions))
    return Verdict(words % {"n": len(cautions), "why": ", ".join(_each_once(cautions))})


def _each_once(cautions: Sequence[Caution]) -> list[str]:
    return list(dict.fromkeys(caution.short for caution in cautions))
