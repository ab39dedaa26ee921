"""Why a pair, why a sow has no boar, why there is no plan: in words."""

from collections.abc import Sequence
from math import ceil

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.season.request import Wishes
from genetics.season.result import Obstacle, PairReason, SeasonResult, UnmatedSow
from herdbook.book.models import Animal
from herdbook.book.rules.mating_cautions import SHORT

from ..common.formatting import coefficient, rounded

Animals = dict[int, Animal]
# Boars that are named one by one.
_MOST_NAMED = 3


def why(reason: PairReason, animals: Animals, wishes: Wishes) -> str:
    """Why a sow has this boar."""
    if reason.why == "held":
        return _("kept by you")
    if reason.why == "best":
        return _no_boar_gives_more(wishes)
    words = {"boar": _name(reason.boar, animals), "more": rounded(reason.more, 1)}
    if reason.why == "full":
        return _("%(boar)s would give %(more)s more but has no room for her") % words
    if reason.why == "inbreeding":
        return _("%(boar)s would give %(more)s more but is too closely related") % words
    if reason.code:
        words["caution"] = str(SHORT.get(reason.code, reason.code))
        return _("%(boar)s would give %(more)s more but is left out: %(caution)s") % words
    if reason.why == "out":
        return _("%(boar)s would give %(more)s more but is left out or ruled out") % words
    return _("%(boar)s would give %(more)s more but the whole plan would give less") % words


def _no_boar_gives_more(wishes: Wishes) -> str:
    """Of a pair whose value is within rounding of her best; another boar may be less related."""
    return {
        "showable": _("no boar gives more showable pups with her"),
        "coloured": _("no boar gives more showable pups of that colour with her"),
        "two-dose": _("no boar gives more overmarked pups with her"),
        "one-dose": _("no boar gives more clean marked pups with her"),
        "score": _("no boar gives a higher score with her"),
    }[wishes.unit]


def rest(one: UnmatedSow, animals: Animals, wishes: Wishes) -> str:
    """Why a sow has no boar."""
    if one.why == "no-boar":
        return _no_boar(one.because, wishes)
    if one.why == "boars":
        words = _full(one.boars, animals)
    else:
        words = _plain_reasons().get(one.why) or str(SHORT.get(one.why, one.why))
    if one.instead is not None:
        name = {"sow": _name(one.instead, animals), "why": words}
        return _("%(why)s; she would do as well in place of %(sow)s") % name
    if one.less:
        return _("%(why)s, and she would bring less in place of another") % {"why": words}
    return words


def _plain_reasons() -> dict[str, str]:
    return {
        "asked": _("rested by you"),
        "pens": _("the pens are full"),
        "coancestry": _("her litter would raise the average relatedness above your limit"),
        "little": _("her litter would add next to nothing"),
        "unsettled": _("no better plan with her was found in time"),
        # kept by plans of before, which did not look further
        "others": _("not in the best plan"),
    }


def _name(key: int | None, animals: Animals) -> str:
    animal = None if key is None else animals.get(key)
    return animal.full_name if animal else "?"


def _full(keys: Sequence[int], animals: Animals) -> str:
    """The boars that have as many sows as they may."""
    if len(keys) > _MOST_NAMED:
        return _("every boar allowed for her has as many sows as you allow")
    words = ngettext(
        "the only boar allowed for her, %(boars)s, has as many sows as you allow",
        "the only boars allowed for her, %(boars)s, have as many sows as you allow",
        len(keys),
    )
    return words % {"boars": ", ".join(_name(key, animals) for key in keys)}


def _no_boar(because: Sequence[str], wishes: Wishes) -> str:
    """What keeps every boar from a sow; a plan of before does not know."""
    if not because:
        return _("no boar is allowed for her within your settings")
    return _("no boar is allowed for her: %(because)s") % {
        "because": ", ".join(_against(code, wishes) for code in because)
    }


def _against(code: str, wishes: Wishes, inbreeding: float | None = None) -> str:
    """What keeps a pair out; `inbreeding` that of its litter, to stand beside the limit."""
    most = wishes.inbreeding
    if code == "inbreeding" and inbreeding is not None and most is not None:
        would, limit = coefficient(inbreeding), coefficient(most)
        if would == limit:
            would, limit = (f"{rounded(100 * share, 2)}%" for share in (inbreeding, most))
        return _("its litter would have %(would)s inbreeding, above your limit of %(limit)s") % {
            "would": would,
            "limit": limit,
        }
    words = {
        "asked": _("you rest her"),
        "inbreeding": _("too closely related for your limit of %(limit)s")
        % {"limit": coefficient(most)},
        "forbidden": _("ruled out by you"),
        "no-dose": _("no dose is known"),
    }
    return words.get(code) or str(SHORT.get(code, code))


def no_plan(result: SeasonResult) -> str:
    """The heading above the reasons why there is no plan."""
    if any(one.limit in ("pedigree", "colours") for one in result.obstacles):
        return _("No plan was made")
    if result.proven:
        return _("No plan is possible within these settings")
    return _("No plan was found in time within these settings")


def _held_against(one: Obstacle, names: dict[str, str], wishes: Wishes) -> str:
    """What rules out a pair to keep; a plan of before does not know."""
    if not one.because:
        return (
            _("You keep %(sow)s with %(boar)s, but that pair is over a limit or left out.") % names
        )
    because = "; ".join(_against(code, wishes, one.inbreeding) for code in one.because)
    return _("You keep %(sow)s with %(boar)s, but that pair is not allowed: %(because)s.") % {
        **names,
        "because": because,
    }


def obstacle(one: Obstacle, animals: Animals, wishes: Wishes) -> str:
    """Why there is no plan, and which setting to change."""
    names = {"sow": _name(one.sow, animals), "boar": _name(one.boar, animals)}
    return {
        "pedigree": _(
            "The recorded pedigree contradicts itself: an animal is its own ancestor. Correct "
            "that, then plan again."
        ),
        "colours": ngettext(
            "The colours of %(n)d sow or boar could not be worked out, as its family is too "
            "intertwined. Plan again without a colour.",
            "The colours of %(n)d sows and boars could not be worked out, as their families are "
            "too intertwined. Plan again without a colour.",
            one.number,
        )
        % {"n": one.number},
        "pairs": _(
            "No pair is allowed at all: the animals are too young, no dose is known, or cautions, "
            "inbreeding and the pairs you ruled out leave none."
        ),
        "held-sow": _("You keep %(sow)s with two boars: release one.") % names,
        "held-boar": _("You keep more sows with %(boar)s than a boar may have.") % names,
        "held-pens": _("You keep more pairs than there are pens."),
        "held-forbidden": _held_against(one, names, wishes),
        "coancestry": _(
            "Raise the average relatedness: the least related plan within your other settings "
            "has %(percent)s."
        )
        % {"percent": _enough(one.reach)},
        "least": _("Ask for fewer pups: no plan within your other settings has more than %(most)s.")
        % {"most": rounded(one.reach or 0.0, 1)},
        "inbreeding": _("Allow more inbreeding of a litter: then a plan is possible."),
        "pens": _("Allow more pens: then a plan is possible."),
        "capacity": _("Allow more sows to a boar: then a plan is possible."),
        "held": _("Release a pair that you keep: then a plan is possible."),
        "forbidden": _("Allow a pair that you ruled out: then a plan is possible."),
        "resting": _("Allow a sow that rests to be mated: then a plan is possible."),
    }[one.limit]


def _enough(share: float | None) -> str:
    """The share in tenths of a percent, rounded up: typed as a limit it lets that plan in."""
    return "" if share is None else coefficient(ceil(share * 1000 - 1e-6) / 1000)
