"""Why the best matings of a ranking are the best, a plain sentence each."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.ranking import Prospect
from herdbook.book.cautions import Caution

from ..wording import coefficient, rounded

SHOWN = 3
_SAME = 0.0005


@dataclass(frozen=True)
class Best:
    """One of the best: whom to look at, where, and why."""

    name: str
    address: str
    why: str


def why_best(prospect: Prospect, cautions: Sequence[Caution], among: Sequence[Prospect]) -> str:
    """'1.2 showable pups to expect, the most of all; not inbred as far as is known; ...'.

    ``cautions`` are those to be told: what holds for all alike is told once for all.
    """
    return "; ".join(
        [
            _pups(prospect, among),
            _inbreeding(prospect, among),
            _kinship(prospect, among),
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
