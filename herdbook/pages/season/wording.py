"""A plan in words: what was asked, what it gives and is bounded by."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.matings.showable_rate import Outlook
from genetics.season.request import BORN, LETHAL, SATIN, UNITS, Wishes
from herdbook.book.rules.mating_cautions import SHORT

from ..common.formatting import chance, coefficient, rounded
from ..common.gene_names import BODY, POINTS


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


def asked(wishes: Wishes) -> list[tuple[str, str]]:
    """The limits of a plan, as facts."""
    none = _("no limit")
    facts = [
        (
            _("Pens for litters"),
            ngettext("%(n)d mating at most", "%(n)d matings at most", wishes.pens)
            % {"n": wishes.pens},
        ),
        (
            _("A boar"),
            ngettext(
                "%(n)d sow with him at most", "%(n)d sows with him at most", wishes.sows_a_boar
            )
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
