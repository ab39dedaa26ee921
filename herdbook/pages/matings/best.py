"""Why the best matings of a ranking are the best, a plain sentence each, and who is kept out."""

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
        "%(n)d mating stands last whatever its points, for what may hurt a sow or pups: %(why)s.",
        "%(n)d matings stand last whatever their points, for what may hurt a sow or pups: %(why)s.",
        len(out),
    ) % {
        "n": len(out),
        "why": ", ".join(f"{short} ({count})" for short, count in why.most_common()),
    }
    decides = _("A season's plan leaves them out at first too; a vet decides.")
    return " ".join(filter(None, [_left(sum(map(_may_be_best, ranked))), last, decides]))


def _left(count: int) -> str:
    if count >= SHOWN:
        return ""
    if not count:
        return _("None is put forward.")
    return ngettext("Only %(n)d is put forward.", "Only %(n)d are put forward.", count) % {
        "n": count
    }


def _may_be_best(prospect: Prospect) -> bool:
    return prospect.showable is not None and not prospect.grave


def why_best(prospect: Prospect, cautions: Sequence[Caution], among: Sequence[Prospect]) -> str:
    """'1.2 showable pups to expect, the most of all; not inbred as far as is known; ...'.

    ``cautions`` are those to be told: what holds for all alike is told once for all.
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
    pups = rounded(prospect.showable, 1)
    most = max(one.showable for one in among if one.showable is not None)
    words = _("%(pups)s showable pups to expect") % {"pups": pups}
    alone = sum(one.showable is not None and one.showable >= most - _SAME for one in among) == 1
    return (
        _("%(words)s, the most of all") % {"words": words}
        if (alone and prospect.showable >= most - _SAME)
        else words
    )


def _inbreeding(prospect: Prospect, among: Sequence[Prospect]) -> str:
    share = prospect.mating.inbreeding
    if share == 0:
        return _("not inbred as far as is known")
    words = _("the litter %(percent)s inbred") % {"percent": coefficient(share)}
    least = min(one.mating.inbreeding for one in among)
    return _("%(words)s, the least of all") % {"words": words} if share <= least else words


def _kinship(prospect: Prospect, among: Sequence[Prospect]) -> str:
    share = prospect.mating.kinship
    words = _("%(percent)s kin to the herd") % {"percent": coefficient(share)}
    least = min(one.mating.kinship for one in among)
    most = max(one.mating.kinship for one in among)
    if most - least > _SAME and share <= least + _SAME:
        return _("%(words)s, the least of all") % {"words": words}
    return words


def _short_pedigree(prospect: Prospect) -> list[str]:
    """That kin may go unseen, and whose grandparents are not all known; empty where all are."""
    mating = prospect.mating
    sides = ((mating.sow, mating.dam_known), (mating.boar, mating.sire_known))
    short = [animal.full_name for animal, known in sides if known.is_short]
    if not short:
        return []
    words = _("a short pedigree flatters: not all grandparents of %(names)s are known")
    return [words % {"names": _(" and ").join(short)}]


def _cautions(cautions: Sequence[Caution]) -> str:
    if not cautions:
        return _("nothing that the book can see speaks against it")
    said = {"count": len(cautions), "words": ", ".join(caution.short for caution in cautions)}
    return (
        ngettext(
            "but mind %(count)d caution: %(words)s",
            "but mind %(count)d cautions: %(words)s",
            len(cautions),
        )
        % said
    )


@dataclass(frozen=True)
class Ranked:
    """One mating in a list: the mate beside the chosen one, its points, what speaks against it.

    ``known`` is how far back the mate's pedigree is known; of a pair, that of the parent with less.
    """

    prospect: Prospect
    mate: Animal
    address: str
    points: float
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
