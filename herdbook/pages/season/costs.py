"""What each limit of a plan costs, and what care costs, in words."""

from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from genetics.season.request import Wishes
from herdbook.book.rules.mating_cautions import SHORT

from ..common.formatting import coefficient
from .wording import worth

# A gain under this is told as nothing: it rounds to no tenth of a pup.
NOTHING = 0.05


def cost(one: dict[str, Any], wishes: Wishes) -> tuple[str, str]:
    """A limit loosened, and what that would bring."""
    percent = coefficient(one["to"])
    what = {
        "pens": _("One more pen"),
        "capacity": _("One more sow to each boar"),
        "inbreeding": _("Inbreeding of a litter up to %(percent)s") % {"percent": percent},
        "coancestry": _("Mean coancestry up to %(percent)s") % {"percent": percent},
        "resting": _("No sow kept at rest"),
        "held": _("No pair held"),
        "forbidden": _("No pair forbidden"),
    }
    least = (_("One one-dose pup fewer asked for"), _("One two-dose pup fewer asked for"))
    words = what.get(one["limit"]) or least[one["number"]]
    if one["at_most"] < NOTHING:
        return words, _("nothing")
    gain, most = worth(one["gain"], wishes), worth(one["at_most"], wishes)
    if gain == most or one["at_most"] - one["gain"] < NOTHING:
        return words, _("%(gain)s more") % {"gain": gain}
    if one["gain"] < NOTHING:
        return words, _("%(most)s more at most") % {"most": most}
    return words, _("%(gain)s more, %(most)s at most") % {"gain": gain, "most": most}


# What a caution is there for; those that only tell the breeder something need no more words.
_WHY_CARE = {
    "roan-to-roan": gettext_lazy("lethal whites are born without eyes or teeth"),
    "lethal-white": gettext_lazy("lethal whites are born without eyes or teeth"),
    "satin": gettext_lazy("many satins suffer in the bones"),
    "satin-pups": gettext_lazy("many satins suffer in the bones"),
    "sow-young": gettext_lazy("she is still growing herself"),
    "sow-late-first-litter": gettext_lazy("a first labour so late can kill her"),
    "sow-light": gettext_lazy("she is too light to carry a litter"),
    "sow-light-for-age": gettext_lazy("something may be holding her back"),
    "sow-lately-littered": gettext_lazy("she has hardly got over her last litter"),
    "due-in-heat": gettext_lazy("a sow heavy in pig bears heat badly"),
    "boar-young": gettext_lazy("he is still growing himself"),
}


def care(one: dict[str, Any], wishes: Wishes) -> tuple[str, str, str]:
    """A kind of caution with whom it keeps out, what it is there for, and what the plan forgoes."""
    counted = [
        ngettext("%(n)d sow", "%(n)d sows", one["sows"]) % {"n": one["sows"]},
        ngettext("%(n)d boar", "%(n)d boars", one["boars"]) % {"n": one["boars"]},
        ngettext("%(n)d pair", "%(n)d pairs", one["pairs"]) % {"n": one["pairs"]},
    ]
    who = [
        words
        for words, number in zip(counted, (one["sows"], one["boars"], one["pairs"]), strict=True)
        if number
    ]
    what = _("%(caution)s: %(who)s") % {
        "caution": capfirst(", ".join(str(SHORT[code]) for code in one["codes"])),
        "who": ", ".join(who),
    }
    why = str(_WHY_CARE.get(one["codes"][0], ""))
    if one["at_most"] < NOTHING:
        return what, why, _("costs nothing")
    gain, most = worth(one["gain"], wishes), worth(one["at_most"], wishes)
    if gain == most or one["at_most"] - one["gain"] < NOTHING:
        return what, why, _("%(gain)s fewer") % {"gain": gain}
    return what, why, _("%(most)s fewer at most") % {"most": most}
