"""A plan in words: what it gives and is bounded by, what limits cost, why a pair, why none."""

from math import ceil
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.expecting import Outlook
from genetics.season_wishes import BORN, LETHAL, SATIN, UNITS, Wishes
from herdbook.book.cautions import SHORT
from herdbook.book.models import Animal

from ..gene_words import BODY, POINTS
from ..wording import chance, coefficient, rounded

Animals = dict[int, Animal]

# A gain under this is told as nothing: it rounds to no tenth of a pup.
NOTHING = 0.05


def worth(value: float, wishes: Wishes) -> str:
    """'31.4 showable pups', or points where pups of both doses count, or a colour more."""
    return str(UNITS[wishes.unit] % {"number": rounded(value, 1)})


def glance(found: dict[str, Any], wishes: Wishes) -> list[tuple[str, str]]:
    """What the pairs promise together, as facts."""
    born = wishes.counted == BORN
    of_dose = {
        "showable": _("Of them to be shown") if born else _("Showable pups"),
        "in_colour": _("One dose, %(colour)s") if born else _("Showable, %(colour)s"),
        "one": _("One-dose pups") if born else _("Of one dose"),
        "two": _("Two-dose pups") if born else _("Of two doses"),
    }
    order = ("one", "showable", "in_colour", "two") if born else tuple(of_dose)
    sums = {name: sum(pair.get(name, 0.0) for pair in found["pairs"]) for name in order}
    return [
        (of_dose[name] % {"colour": colour(wishes)}, rounded(sums[name], 1))
        for name in order
        if name != "in_colour" or wishes.wants_colour
    ]


def not_judged(outlook: Outlook, wishes: Wishes) -> str:
    """What a herd that judged no pup is to know of its plan; '' for another herd."""
    if outlook.good.of:
        return ""
    share = {"share": chance(outlook.good.value)}
    taken = (
        _(
            "No one-dose animal of this herd is judged yet: %(share)s of those alive at 28 days "
            "are taken for good enough (common practice, no source)."
        )
        % share
    )
    moves = (
        _("Another share would weigh showable pups otherwise beside those of two doses.")
        if wishes.two and (wishes.one or wishes.counts_colour)
        else _("Another share would change the number, and not which pairs are best.")
    )
    return f"{taken} {moves}"


def bound(found: dict[str, Any], wishes: Wishes) -> str:
    """How good the plan is known to be."""
    words = {
        "this": worth(found["value"], wishes),
        "most": worth(found["bound"], wishes),
    }
    if found["proven"] or words["this"] == words["most"]:
        words["this"] = rounded(found["value"], 1)
        return (
            _("No plan within these limits gives more than %(most)s; this one gives %(this)s.")
            % words
        )
    return (
        _(
            "This plan gives %(this)s. None within these limits gives more than %(most)s; whether "
            "one lies in between was not settled in the time."
        )
        % words
    )


def least_related(found: dict[str, Any]) -> str:
    """How it was chosen among plans that are worth the same; '' of a plan of before."""
    if "least_related" not in found:
        return ""
    if found["least_related"]:
        return _(
            "Of the plans within a thousandth of that, it makes the least related herd to come."
        )
    return _("Of the plans within a thousandth of that, it makes the least related herd found.")


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


def rest(reason: str) -> str:
    """Why a sow goes to nobody."""
    if reason == "asked":
        return _("kept at rest by you")
    if reason == "no-boar":
        return _("no boar may go to her within these limits")
    if reason == "others":
        return _("the pens do more with others")
    return str(SHORT.get(reason, reason))


def pairs_out(counted: dict[str, int]) -> str:
    """'roan to roan 4, satin pups 2'."""
    return ", ".join(f"{SHORT.get(code, code)} {count}" for code, count in counted.items())


def let_in(wishes: Wishes) -> list[str]:
    """What the breeder insisted on against the usual care."""
    if wishes.counted == BORN:
        return []
    told = {
        LETHAL: _(
            "You let in pairs that may give lethal whites: such pups are born without eyes or "
            "teeth. Look for roan in both yourself; a vet decides."
        ),
        SATIN: _(
            "You let in satins, or pairs that may give satin pups: many satins suffer in the "
            "bones. Look at both parents yourself; a vet decides."
        ),
    }
    return [words for codes, words in told.items() if set(codes) & set(wishes.lets_in)]


def colour(wishes: Wishes) -> str:
    """'cream with chocolate points'; '' where no colour is wanted."""
    body = str(BODY["albino", wishes.body]) if wishes.body else ""
    points = str(POINTS["chocolate", wishes.points]) if wishes.points else ""
    if body and points:
        return _("%(body)s with %(points)s points") % {"body": body, "points": points}
    return _("with %(points)s points") % {"points": points} if points else body


def colour_rests_on(found: dict[str, Any] | None) -> list[tuple[str, str]]:
    """Of each gene of the colour wanted, of how many parents its looks are written."""
    if not found:
        return []
    what = {
        "extension": _("Red series or dark"),
        "albino": _("Red, cream or white"),
        "chocolate": _("Black or chocolate"),
    }
    return [
        (
            what[gene],
            _("written of %(noted)d of %(all)d sows and boars")
            % {"noted": noted, "all": found["of"]},
        )
        for gene, noted in found["noted"].items()
    ]


def no_plan(found: dict[str, Any]) -> str:
    """What stands above the reasons why there is no plan."""
    if any(one["limit"] in ("pedigree", "colours") for one in found["none"]):
        return _("No plan was made")
    if found["proven"]:
        return _("No plan keeps within these limits")
    return _("No plan within these limits was found in the time")


def trouble(one: dict[str, Any], animals: Animals) -> str:
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
        "held-forbidden": _(
            "%(sow)s is held to %(boar)s, and that pair is over a limit, left out or forbidden."
        )
        % names,
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


def asked(wishes: Wishes) -> list[tuple[str, str]]:
    """The limits of a plan, as facts."""
    none = _("no limit")
    facts = [
        (
            _("Pens"),
            ngettext("%(n)d mating at most", "%(n)d matings at most", wishes.pens)
            % {"n": wishes.pens},
        ),
        (
            _("A boar"),
            ngettext("%(n)d sow at most", "%(n)d sows at most", wishes.sows_a_boar)
            % {"n": wishes.sows_a_boar},
        ),
        (_("Inbreeding of a litter"), _at_most(wishes.inbreeding) or none),
        (_("Mean coancestry"), _at_most(wishes.coancestry) or none),
        (
            _("What counts"),
            (
                _("a one-dose pup %(one)s, a two-dose pup %(two)s, as born")
                if wishes.counted == BORN
                else _("a showable pup %(one)s, a two-dose pup %(two)s")
            )
            % {"one": f"{wishes.one:g}", "two": f"{wishes.two:g}"},
        ),
    ]
    if wishes.wants_colour:
        facts.append((_("Colour wanted"), _colour_asked(wishes)))
    for least, dose in ((wishes.least_one, _("One dose")), (wishes.least_two, _("Two doses"))):
        if least:
            facts.append((dose, _("%(n)s pups to expect at least") % {"n": f"{least:g}"}))
    if wishes.left_out:
        facts.append((_("Left out"), ", ".join(str(SHORT[code]) for code in wishes.left_out)))
    return facts


def _colour_asked(wishes: Wishes) -> str:
    words = {"colour": colour(wishes), "more": f"{wishes.colour_more:g}"}
    if not wishes.counts_colour:
        return _("%(colour)s: told, not counted") % words
    if wishes.counted == BORN:
        return _("%(colour)s: a one-dose pup of it counts %(more)s more") % words
    return _("%(colour)s: a showable pup of it counts %(more)s more") % words


def _at_most(share: float | None) -> str:
    return "" if share is None else _("%(percent)s at most") % {"percent": coefficient(share)}
