"""What each limit of a plan costs, and what the welfare rules cost, in words."""

from dataclasses import dataclass

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from genetics.season.result import LimitCost, WelfareCost
from herdbook.book.rules.mating_cautions import SHORT

from ..common.formatting import coefficient, rounded
from .wording import Fact

# A gain under this counts as nothing: it rounds to no tenth of a pup.
NOTHING = 0.05


def cost(one: LimitCost) -> Fact:
    """A limit that is eased, and what that would bring."""
    percent = coefficient(one.to)
    names = {
        "pens": _("One more pen"),
        "capacity": _("One more sow to each boar"),
        "inbreeding": _("Inbreeding of a litter up to %(percent)s") % {"percent": percent},
        "coancestry": _("Average relatedness up to %(percent)s") % {"percent": percent},
        "resting": _("No sow rested"),
        "held": _("No pair kept"),
        "forbidden": _("No pair ruled out"),
    }
    least = (_("One clean marked pup fewer asked for"), _("One overmarked pup fewer asked for"))
    name = names.get(one.limit) or least[one.number]
    if one.at_most < NOTHING:
        return Fact(name, _("nothing"))
    gain, most = rounded(one.gain, 1), rounded(one.at_most, 1)
    if gain == most or one.at_most - one.gain < NOTHING:
        return Fact(name, _("%(gain)s more") % {"gain": gain})
    if one.gain < NOTHING:
        return Fact(name, _("at most %(most)s more") % {"most": most})
    return Fact(name, _("%(gain)s to %(most)s more") % {"gain": gain, "most": most})


# The reason for a caution; those that only inform the breeder need none.
_WHY_CARE = {
    "roan-to-roan": gettext_lazy("lethal whites are born without eyes or teeth"),
    "lethal-white": gettext_lazy("lethal whites are born without eyes or teeth"),
    "satin": gettext_lazy("many satins have bone disease"),
    "satin-pups": gettext_lazy("many satins have bone disease"),
    "sow-young": gettext_lazy("she is still growing"),
    "sow-late-first-litter": gettext_lazy("a first labour so late can kill her"),
    "sow-light": gettext_lazy("she is too light to carry a litter"),
    "sow-light-for-age": gettext_lazy("something may be wrong with her"),
    "sow-lately-littered": gettext_lazy("she has not recovered from her last litter"),
    "due-in-heat": gettext_lazy("a heavily pregnant sow does not cope well with heat"),
    "boar-young": gettext_lazy("he is still growing"),
}


@dataclass(frozen=True)
class CareRow:
    """A kind of caution with the animals it keeps out, the reason for it, and its cost."""

    name: str
    why: str
    cost: str


def care(one: WelfareCost) -> CareRow:
    """A kind of caution, in words."""
    counted = (
        (one.sows, ngettext("%(n)d sow", "%(n)d sows", one.sows)),
        (one.boars, ngettext("%(n)d boar", "%(n)d boars", one.boars)),
        (one.pairs, ngettext("%(n)d pair", "%(n)d pairs", one.pairs)),
    )
    name = _("%(caution)s: %(who)s") % {
        "caution": capfirst(", ".join(str(SHORT[code]) for code in one.codes)),
        "who": ", ".join(words % {"n": number} for number, words in counted if number),
    }
    return CareRow(name, str(_WHY_CARE.get(one.codes[0], "")), _forgone(one))


def _forgone(one: WelfareCost) -> str:
    if one.at_most < NOTHING:
        return _("costs nothing")
    gain, most = rounded(one.gain, 1), rounded(one.at_most, 1)
    if gain == most or one.at_most - one.gain < NOTHING:
        return _("%(gain)s fewer") % {"gain": gain}
    return _("at most %(most)s fewer") % {"most": most}
