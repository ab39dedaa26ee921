"""A plan in words: its settings, what it gives, and the bound on it."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.matings.showable_rate import Outlook
from genetics.season.request import BORN, LETHAL, SATIN, UNIT_NAMES, UNITS, Wishes
from genetics.season.result import ColourBasis, FoundPlan, SeasonResult
from herdbook.book.rules.mating_cautions import SHORT

from ..common.formatting import chance, coefficient, rounded
from ..common.gene_names import BODY, POINTS


@dataclass(frozen=True)
class Fact:
    """A name and its value, in words."""

    name: str
    value: str


def worth(value: float, wishes: Wishes) -> str:
    """'31.4 showable pups', or a score where pups of several kinds count."""
    return str(UNITS[wishes.unit] % {"number": rounded(value, 1)})


def unit(wishes: Wishes) -> str:
    """What the value of a plan counts: 'showable pups'."""
    return str(UNIT_NAMES[wishes.unit])


def glance(plan: FoundPlan, wishes: Wishes) -> list[Fact]:
    """The pups that the pairs promise together."""
    born = wishes.counted == BORN
    names = {
        "showable": _("Good enough to show") if born else _("Showable pups"),
        "in_colour": _("Clean marked, %(colour)s") if born else _("Showable, %(colour)s"),
        "one": _("Clean marked (one dose)"),
        "two": _("Overmarked (two doses)"),
    }
    order = ("one", "showable", "in_colour", "two") if born else tuple(names)
    return [
        Fact(
            names[name] % {"colour": colour(wishes)},
            rounded(sum(getattr(pair, name) for pair in plan.pairs), 1),
        )
        for name in order
        if name != "in_colour" or wishes.wants_colour
    ]


def not_judged(outlook: Outlook, wishes: Wishes) -> str:
    """A note for a herd that has judged no pup; '' for another herd."""
    if outlook.good.of:
        return ""
    share = {"share": chance(outlook.good.value)}
    taken = (
        _(
            "You have judged no clean marked animal yet, so %(share)s of those alive at 28 days "
            "are assumed good enough to show (common practice, no source)."
        )
        % share
    )
    moves = (
        _("Another share would change how showable pups weigh against overmarked ones.")
        if wishes.two and (wishes.one or wishes.counts_colour)
        else _("Another share would change the number, but not which pairs are best.")
    )
    return f"{taken} {moves}"


def bound(plan: FoundPlan, wishes: Wishes) -> str:
    """How good the plan is known to be."""
    words = {"this": worth(plan.value, wishes), "most": worth(plan.bound, wishes)}
    if plan.proven or words["this"] == words["most"]:
        return _("This plan gives %(this)s. No other plan within your settings gives more.") % words
    return (
        _("This plan gives %(this)s. Another plan might give up to %(most)s, but none was found.")
        % words
    )


def least_related(result: SeasonResult) -> str:
    """How it was chosen among plans of the same value; '' of a plan of before."""
    if result.least_related is None:
        return ""
    if result.least_related:
        return _("Of all plans that give as much, this one makes the least related pups.")
    return _(
        "Of the plans found in the time allowed, this one makes the least related pups; another "
        "that gives as much may make less related ones."
    )


def pairs_out(counted: dict[str, int]) -> str:
    """'roan to roan 4, satin pups 2'."""
    return ", ".join(f"{SHORT.get(code, code)} {count}" for code, count in counted.items())


def let_in(wishes: Wishes) -> list[str]:
    """What the breeder let in that usually stays out."""
    if wishes.counted == BORN:
        return []
    told = {
        LETHAL: _(
            "You let in pairs that may give lethal whites, born without eyes or teeth. Look for "
            "roan in both parents yourself; a vet decides."
        ),
        SATIN: _(
            "You let in satins, or pairs that may give satin pups: many satins have bone disease. "
            "Look at both parents yourself; a vet decides."
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


def colour_basis(basis: ColourBasis | None) -> list[Fact]:
    """Of each gene of the colour wanted, of how many parents its looks are recorded."""
    if basis is None:
        return []
    names = {
        "extension": _("Red series or dark"),
        "albino": _("Red, cream or white"),
        "chocolate": _("Black or chocolate"),
    }
    return [
        Fact(
            names[gene],
            _("recorded for %(noted)d of %(all)d sows and boars")
            % {"noted": noted, "all": basis.of},
        )
        for gene, noted in basis.noted.items()
    ]


def asked(wishes: Wishes) -> list[Fact]:
    """The settings of a plan."""
    none = _("no limit")
    facts = [
        Fact(
            _("Pens for litters"),
            ngettext("at most %(n)d mating", "at most %(n)d matings", wishes.pens)
            % {"n": wishes.pens},
        ),
        Fact(
            _("Each boar"),
            ngettext("at most %(n)d sow", "at most %(n)d sows", wishes.sows_a_boar)
            % {"n": wishes.sows_a_boar},
        ),
        Fact(_("Inbreeding of a litter"), _at_most(wishes.inbreeding) or none),
        Fact(_("Average relatedness"), _at_most(wishes.coancestry) or none),
        Fact(_("Value of a pup"), _values(wishes)),
    ]
    if wishes.wants_colour:
        facts.append(Fact(_("Colour wanted"), _colour_asked(wishes)))
    for least, dose in (
        (wishes.least_one, _("Clean marked (one dose)")),
        (wishes.least_two, _("Overmarked (two doses)")),
    ):
        if least:
            facts.append(Fact(dose, _("at least %(n)s pups expected") % {"n": f"{least:g}"}))
    if wishes.left_out:
        facts.append(Fact(_("Left out"), ", ".join(str(SHORT[code]) for code in wishes.left_out)))
    return facts


def _values(wishes: Wishes) -> str:
    words = (
        _("clean marked %(one)s, overmarked %(two)s, as born")
        if wishes.counted == BORN
        else _("showable %(one)s, overmarked %(two)s")
    )
    return words % {"one": f"{wishes.one:g}", "two": f"{wishes.two:g}"}


def _colour_asked(wishes: Wishes) -> str:
    words = {"colour": colour(wishes), "more": f"{wishes.colour_more:g}"}
    if not wishes.counts_colour:
        return _("%(colour)s: shown, not counted") % words
    if wishes.counted == BORN:
        return _("%(colour)s: each such clean marked pup counts %(more)s more") % words
    return _("%(colour)s: each such showable pup counts %(more)s more") % words


def _at_most(share: float | None) -> str:
    return "" if share is None else _("at most %(percent)s") % {"percent": coefficient(share)}
