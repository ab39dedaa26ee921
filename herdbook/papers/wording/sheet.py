"""The words of the pedigree sheet alone: headings, the known ancestry, care."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book import limits
from herdbook.book.formatting import coefficient

from .dose import sentence


def relation(path: str) -> str:
    """Name the ancestor at a path: 'sd' is the sire's dam."""
    parents = {"s": _("sire"), "d": _("dam")}
    words = parents[path[0]]
    for step in path[1:]:
        words = _("%(animal)s’s %(parent)s") % {"animal": words, "parent": parents[step]}
    return words


def generation_headings() -> list[str]:
    """Name the four generations, the nearest first."""
    return [
        _("Parents"),
        _("Grandparents"),
        _("Great-grandparents"),
        _("Great-great-grandparents"),
    ]


def labels() -> dict[str, str]:
    """Name every fixed part of the sheet."""
    return {
        "kind": _("Pedigree"),
        "number": _("Number"),
        "tag": _("Tag"),
        "sex": _("Sex"),
        "born": _("Born"),
        "coat": _("Coat"),
        "points": _("Points"),
        "eyes": _("Eyes"),
        "told_apart": _("Identified by"),
        "breeder": _("Bred by"),
        "seller": _("Sold by"),
        "buyer": _("Sold to"),
        "issued_on": _("Date of issue"),
        "signature": _("Signature of the seller"),
        "animal": _("The animal"),
        "ancestors": _("Ancestors"),
        "dose": _("Points gene"),
        "inbreeding": _("Inbreeding"),
        "weights": _("Weights"),
        "date": _("Date"),
        "age": _("Age"),
        "weight": _("Weight"),
        "cautions": _("Care and cautions"),
        "not_known": _("not known"),
        "none": _("none"),
        "unnamed": _("Unnamed"),
        "no_weights": _("No weights recorded."),
        "key": _(
            "Sire above, dam below. Square corners: boar; round corners: sow; blank box: not "
            "known. Self, clean marked, overmarked: no, one or two doses of the points gene."
        ),
    }


def particulars_in_words() -> dict[str, str]:
    """Name the particulars that a sheet lists as not recorded."""
    return {
        "sex": _("sex"),
        "born": _("date of birth"),
        "coat": _("coat colour"),
        "points": _("point colour"),
        "eyes": _("eye colour"),
        "told_apart": _("identifying mark"),
        "breeder": _("breeder"),
    }


def sex(sex: str) -> str:
    """Name the sex; '' is an animal not sexed."""
    return {"boar": _("boar"), "sow": _("sow"), "": _("not sexed")}[sex]


def weights_note(shown: int, total: int) -> str:
    """State how many weighings the table leaves out."""
    if shown == total:
        return ""
    return _("%(shown)d of %(total)d weighings: the first and the last.") % {
        "shown": shown,
        "total": total,
    }


# The ancestry


def inbreeding_figure(share: float | None, deepest: int) -> str:
    """Give Wright's coefficient; 'not known' where no ancestor is."""
    if share is None:
        return _("not worked out")
    return coefficient(share) if deepest else _("not known")


def inbreeding_basis(
    full: int, deepest: int, known: Sequence[int], uncertain: int, as_written: float | None
) -> str:
    """State how much ancestry the coefficient is based on.

    full: generations known without a gap; deepest: how far back the longest line goes;
    known: ancestors known in each of the four generations; uncertain: boxes with a choice;
    as_written: the coefficient with possible sires as entered, where it is another.
    """
    said = [_depth(full, deepest), _completeness(known)]
    if uncertain:
        said.append(
            ngettext(
                "%(n)d of these may be one of several animals.",
                "%(n)d of these may each be one of several animals.",
                uncertain,
            )
            % {"n": uncertain}
        )
    if as_written is not None:
        said.append(
            _("Possible sires are weighted by all records; as entered it would be %(share)s.")
            % {"share": inbreeding_figure(as_written, deepest)}
        )
    said.append(_("The true figure may be higher: not all ancestors are recorded."))
    return " ".join(said)


def _depth(full: int, deepest: int) -> str:
    if deepest == 0:
        return _("No ancestors recorded.")
    whole = ngettext(
        "Pedigree complete for %(n)d generation", "Pedigree complete for %(n)d generations", full
    ) % {"n": full}
    return _("%(whole)s; the longest line goes back %(deepest)d.") % {
        "whole": whole,
        "deepest": deepest,
    }


def _completeness(known: Sequence[int]) -> str:
    each = ", ".join(
        _("%(known)d of %(all)d") % {"known": count, "all": 2 ** (generation + 1)}
        for generation, count in enumerate(known)
    )
    return _("%(sum)d of %(total)d ancestors in four generations are known: %(each)s.") % {
        "sum": sum(known),
        "total": sum(2 ** (n + 1) for n in range(len(known))),
        "each": each,
    }


def unknowns(missing: Sequence[str], parents: tuple[bool, bool], choices: Sequence[str]) -> str:
    """State what is not known.

    missing: names of particulars left blank; parents: whether sire and dam are known;
    choices: the words of `choice` for each uncertain ancestor.
    """
    said = []
    if not any(parents):
        said.append(_("Parents unknown."))
    elif not parents[0]:
        said.append(_("Sire unknown."))
    elif not parents[1]:
        said.append(_("Dam unknown."))
    said += [sentence(choice) for choice in choices]
    if missing:
        said.append(sentence(_("not recorded: %(list)s") % {"list": ", ".join(missing)}))
    return " ".join(said)


def choice(path: str, names: str) -> str:
    """State which ancestor may be one of several animals."""
    return _("%(relation)s not certain: %(names)s") % {
        "relation": relation(path),
        "names": names,
    }


# Care


def usual_cautions() -> tuple[str, ...]:
    """Give the care and caution lines of every sheet.

    Common practice, without a source, save: the last safe age for a first litter, on which
    sources disagree (6, 7 and 7 to 8 months in veterinary texts); roan, from secondary sources
    only; satin, Jordan et al. 2009 as cited in Case Rep Vet Med 2017:1321656.
    """
    return (
        _(
            "Points come in over three to five months; warm weather pales new hair, cold darkens "
            "it. This sheet gives what was known on its date of issue."
        ),
        _("One dose is needed to be showable, but it is not enough: a judge decides."),
        _(
            "Keep the sexes apart: take young boars from dam and sisters by %(boars)d weeks or "
            "%(grams)d g, and daughters from entire boars by %(daughters)d weeks."
        )
        % {
            "boars": limits.YOUNG_BOARS_LEAVE_DAM_DAYS // 7,
            "grams": limits.YOUNG_BOARS_LEAVE_DAM_G,
            "daughters": limits.DAUGHTERS_LEAVE_BOARS_DAYS // 7,
        },
        _(
            "A sow should conceive her first litter well before six months; later, her pelvis may "
            "not open and the birth can kill her. Ask a vet first."
        ),
        _(
            "A sow can conceive within hours of littering: take the boar out before she is due. If "
            "she stops eating in late pregnancy or the fortnight after, she needs a vet at once."
        ),
        _(
            "Never mate roan to roan, dalmatians included: about a quarter of the pups may be "
            "lethal whites. Roan can hide under white."
        ),
        _(
            "Do not breed from satins, and do not mate two satin carriers: two copies go with a "
            "painful bone disease."
        ),
        _(
            "Weigh weekly. A growing pup that loses weight, or a cavy that stops eating, needs "
            "a vet."
        ),
        _(
            "A vet decides on health, not this sheet. The law where you live and the rules of "
            "your club come first."
        ),
    )
