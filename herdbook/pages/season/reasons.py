"""Why a pair, why a sow rests, why there is no plan: in words."""

from math import ceil
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.season.request import Wishes
from herdbook.book.models import Animal
from herdbook.book.rules.mating_cautions import SHORT

from ..common.formatting import coefficient, rounded
from .wording import worth

Animals = dict[int, Animal]
# Boars that are named one by one.
_MOST_NAMED = 3


def why(reason: dict[str, Any], animals: Animals, wishes: Wishes) -> str:
    """Why a sow goes to this boar."""
    if reason["why"] == "held":
        return _("held by you")
    if reason["why"] == "best":
        return _("none here is worth more to her")
    boar = animals.get(reason["boar"])
    words = {
        "boar": boar.full_name if boar else "?",
        "more": worth(reason["more"], wishes),
    }
    if reason["why"] == "full":
        return _("%(boar)s would give %(more)s more, and has his sows") % words
    if reason["why"] == "inbreeding":
        return _("%(boar)s would give %(more)s more, and is too near kin") % words
    if "code" in reason:
        words["caution"] = str(SHORT.get(reason["code"], reason["code"]))
        return _("%(boar)s would give %(more)s more, and is left out: %(caution)s") % words
    if reason["why"] == "out":
        return _("%(boar)s would give %(more)s more, and is left out or forbidden") % words
    return _("%(boar)s would give %(more)s more; the plan as a whole is better so") % words


def rest(found: dict[str, Any], animals: Animals, wishes: Wishes) -> str:
    """Why a sow goes to nobody."""
    plain = {
        "asked": _("kept at rest by you"),
        "pens": _("the pens are full"),
        "coancestry": _("a litter of hers would take the mean coancestry over what you allow"),
        "little": _("a litter of hers would add next to nothing"),
        "unsettled": _("a better plan with her was not found in the time"),
        # kept by plans of before, which did not look further
        "others": _("not in the plan that gives most"),
    }
    why = found["why"]
    if why == "no-boar":
        return _no_boar(found.get("because", ()), wishes)
    words = plain.get(why) or str(SHORT.get(why, why))
    if why == "boars":
        words = _full(found["boars"], animals)
    if "instead" in found:
        sow = animals.get(found["instead"])
        name = {"sow": sow.full_name if sow else "?", "why": words}
        return _("%(why)s; as much would come of her in the place of %(sow)s") % name
    if found.get("less"):
        return _("%(why)s, and in the place of another she would bring less") % {"why": words}
    return words


def _full(keys: list[int], animals: Animals) -> str:
    """Whose sows are as many as may be."""
    names = [animals[key].full_name if key in animals else "?" for key in keys]
    words = {"n": len(names), "boars": ", ".join(names)}
    if len(names) > _MOST_NAMED:
        return _("each boar that may go to her has all the sows that a boar may have")
    return (
        ngettext(
            "only %(boars)s may go to her, and he has all the sows that a boar may have",
            "only %(boars)s may go to her, and they have all the sows that a boar may have",
            len(names),
        )
        % words
    )


def _no_boar(because: Any, wishes: Wishes) -> str:
    """What keeps every boar from a sow; a plan of before does not say."""
    if not because:
        return _("no boar may go to her within these limits")
    return _("no boar may go to her: %(because)s") % {
        "because": ", ".join(_against(code, wishes) for code in because)
    }


def _against(code: str, wishes: Wishes, inbreeding: float | None = None) -> str:
    """What keeps a pair out; `inbreeding` that of its litter, to be told beside the limit."""
    most = wishes.inbreeding
    if code == "inbreeding" and inbreeding is not None and most is not None:
        would, limit = coefficient(inbreeding), coefficient(most)
        if would == limit:
            would, limit = (f"{rounded(100 * share, 2)}%" for share in (inbreeding, most))
        return _("its litter would be inbred to %(would)s, and you allow %(limit)s") % {
            "would": would,
            "limit": limit,
        }
    told = {
        "asked": _("you keep her at rest"),
        "inbreeding": _("too near kin for the %(limit)s you allow") % {"limit": coefficient(most)},
        "forbidden": _("forbidden by you"),
        "no-dose": _("no dose is known"),
    }
    return told.get(code) or str(SHORT.get(code, code))


def no_plan(found: dict[str, Any]) -> str:
    """What stands above the reasons why there is no plan."""
    if any(one["limit"] in ("pedigree", "colours") for one in found["none"]):
        return _("No plan was made")
    if found["proven"]:
        return _("No plan keeps within these limits")
    return _("No plan within these limits was found in the time")


def _held_against(one: dict[str, Any], names: dict[str, str], wishes: Wishes) -> str:
    """What keeps a held pair out; a plan of before does not say."""
    if not one.get("because"):
        return (
            _("%(sow)s is held to %(boar)s, and that pair is over a limit, left out or forbidden.")
            % names
        )
    because = "; ".join(_against(code, wishes, one["inbreeding"]) for code in one["because"])
    return _("%(sow)s is held to %(boar)s, and that pair stays out: %(because)s.") % {
        **names,
        "because": because,
    }


def trouble(one: dict[str, Any], animals: Animals, wishes: Wishes) -> str:
    """Why there is no plan, and which limit to loosen."""
    sow, boar = animals.get(one.get("sow")), animals.get(one.get("boar"))
    names = {"sow": sow.full_name if sow else "?", "boar": boar.full_name if boar else "?"}
    return {
        "pedigree": _(
            "The pedigree in the book contradicts itself: an animal is its own ancestor. Put that "
            "right, then ask again."
        ),
        "colours": ngettext(
            "A plan by colour would be made up: of %(n)d sow or boar the colours could not be "
            "reckoned, its family being too tangled. Ask again without a colour.",
            "A plan by colour would be made up: of %(n)d sows and boars the colours could not be "
            "reckoned, their families being too tangled. Ask again without a colour.",
            one.get("number", 0),
        )
        % {"n": one.get("number", 0)},
        "pairs": _(
            "No pair may be made at all: nobody is old enough, no dose is known, or cautions, "
            "inbreeding and forbidden pairs leave none."
        ),
        "held-sow": _("%(sow)s is held to two boars: let one go.") % names,
        "held-boar": _("More sows are held to %(boar)s than a boar may have.") % names,
        "held-pens": _("More pairs are held than there are pens."),
        "held-forbidden": _held_against(one, names, wishes),
        "coancestry": _(
            "Loosen the mean coancestry: the least related plan found within the other limits "
            "comes to %(percent)s."
        )
        % {"percent": _enough(one.get("reach"))},
        "least": _("Ask for fewer pups: no plan within the other limits has more than %(most)s.")
        % {"most": rounded(one.get("reach", 0.0), 1)},
        "inbreeding": _("Loosen the inbreeding of a litter: without that limit there is a plan."),
        "pens": _("Give it more pens: with enough of them there is a plan."),
        "capacity": _("Allow more sows to a boar: then there is a plan."),
        "held": _("Let go of a pair that is held: then there is a plan."),
        "forbidden": _("Allow a pair that is forbidden: then there is a plan."),
        "resting": _("Let a sow that rests be mated: then there is a plan."),
    }[one["limit"]]


def _enough(share: float | None) -> str:
    """The share in tenths of a percent, rounded up: typed as a ceiling it lets that plan in."""
    return "" if share is None else coefficient(ceil(share * 1000 - 1e-6) / 1000)
