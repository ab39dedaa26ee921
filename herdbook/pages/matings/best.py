"""Why the best matings of a ranking are the best, a line each, and which pairs are put last."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.matings.lookup import Known
from genetics.matings.ranking import Prospect
from herdbook.book.models import Animal
from herdbook.book.rules.mating_cautions import Caution

from ..common.formatting import coefficient, rounded

SHOWN = 3
_SAME = 0.0005


@dataclass(frozen=True)
class Best:
    """One of the best: whom to look at, where, and why."""

    name: str
    address: str
    why: str


def best_of(named: Sequence[tuple[str, Ranked]], ranked: Sequence[Prospect]) -> list[Best]:
    """The first few of a ranking with why, of those with a figure and no grave caution."""
    return [
        Best(name, row.address, why_best(row.prospect, row.cautions, ranked))
        for name, row in named[:SHOWN]
        if _may_be_best(row.prospect)
    ]


def kept_out(ranked: Sequence[Prospect]) -> str:
    """How many stand last for a grave caution and which, and how few are left; '' for none."""
    out = [one for one in ranked if one.grave]
    if not out:
        return ""
    why = Counter(caution.short for one in out for caution in one.grave)
    last = ngettext(
        "%(n)d pair is put last because it could harm the sow or pups: %(why)s.",
        "%(n)d pairs are put last because they could harm the sow or pups: %(why)s.",
        len(out),
    ) % {
        "n": len(out),
        "why": ", ".join(f"{short} ({count})" for short, count in why.most_common()),
    }
    decides = _("A vet decides.")
    return " ".join(filter(None, [_left(sum(map(_may_be_best, ranked))), last, decides]))


def _left(count: int) -> str:
    if count >= SHOWN:
        return ""
    if not count:
        return _("No pair is recommended.")
    return ngettext(
        "Only %(n)d pair is recommended.", "Only %(n)d pairs are recommended.", count
    ) % {"n": count}


def _may_be_best(prospect: Prospect) -> bool:
    return prospect.showable is not None and not prospect.grave


def why_best(prospect: Prospect, cautions: Sequence[Caution], among: Sequence[Prospect]) -> str:
    """'1.2 showable pups (highest); no inbreeding in the recorded pedigree; ...'.

    ``cautions`` are those to name here: what holds for all pairs alike is named once for all.
    """
    return "; ".join(
        [
            _pups(prospect, among),
            _inbreeding(prospect, among),
            _kinship(prospect, among),
            *_short_pedigree(prospect),
            _cautions(cautions),
        ]
    )


def _pups(prospect: Prospect, among: Sequence[Prospect]) -> str:
    assert prospect.showable is not None, "a recommended pair has a figure"
    pups = rounded(prospect.showable, 1)
    most = max(one.showable for one in among if one.showable is not None)
    words = _("%(pups)s showable pups") % {"pups": pups}
    alone = sum(one.showable is not None and one.showable >= most - _SAME for one in among) == 1
    return (
        _("%(words)s (highest)") % {"words": words}
        if (alone and prospect.showable >= most - _SAME)
        else words
    )


def _inbreeding(prospect: Prospect, among: Sequence[Prospect]) -> str:
    share = prospect.mating.inbreeding
    if share == 0:
        return _("no inbreeding in the recorded pedigree")
    words = _("%(percent)s inbreeding") % {"percent": coefficient(share)}
    least = min(one.mating.inbreeding for one in among)
    return _("%(words)s (lowest)") % {"words": words} if share <= least else words


def _kinship(prospect: Prospect, among: Sequence[Prospect]) -> str:
    share = prospect.mating.kinship
    words = _("%(percent)s related to the herd") % {"percent": coefficient(share)}
    least = min(one.mating.kinship for one in among)
    most = max(one.mating.kinship for one in among)
    if most - least > _SAME and share <= least + _SAME:
        return _("%(words)s (lowest)") % {"words": words}
    return words


def _short_pedigree(prospect: Prospect) -> list[str]:
    """Whether grandparents of either are not recorded, so that the litter may be more inbred."""
    mating = prospect.mating
    if mating.dam_known.is_short or mating.sire_known.is_short:
        return [_("pedigree incomplete")]
    return []


def _cautions(cautions: Sequence[Caution]) -> str:
    if not cautions:
        return _("no cautions on record")
    said = {"count": len(cautions), "words": ", ".join(caution.short for caution in cautions)}
    return (
        ngettext(
            "%(count)d caution: %(words)s",
            "%(count)d cautions: %(words)s",
            len(cautions),
        )
        % said
    )


@dataclass(frozen=True)
class Ranked:
    """One mating in a list: the mate of the chosen animal, its score and its cautions.

    ``known`` is how far back the mate's pedigree is known; of a pair, that of the parent with less.
    """

    prospect: Prospect
    mate: Animal
    address: str
    score: float
    cautions: tuple[Caution, ...]
    known: Known

    @property
    def count(self) -> int:
        return len(self.cautions)

    @property
    def mates_doses(self) -> float:
        """The doses to be expected of the mate, by which they sort; of one without a figure -1."""
        figure = getattr(self.mate, "figure", None)
        if figure is None or figure.chances is None:
            return -1.0
        _none, one, two = figure.chances
        return one + 2 * two
