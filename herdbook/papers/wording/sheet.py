"""The words of the pedigree sheet alone: headings, what is known of the ancestry, care."""

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.formatting import coefficient

from .dose import sentence


def relation(path: str) -> str:
    """Say whose ancestor 'sd' is: the sire's dam."""
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
        "told_apart": _("Told apart by"),
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
        "cautions": _("Care and caution"),
        "not_known": _("not known"),
        "none": _("none"),
        "unnamed": _("Unnamed"),
        "no_weights": _("No weights were written down."),
        "key": _(
            "Sire above, dam below; square corners a boar, round corners a sow; "
            "a blank box is an ancestor not known."
        ),
    }


def particulars_in_words() -> dict[str, str]:
    """Name the particulars that a sheet owns to not knowing."""
    return {
        "sex": _("sex"),
        "born": _("date of birth"),
        "coat": _("coat colour"),
        "points": _("point colour"),
        "eyes": _("eye colour"),
        "told_apart": _("how it is told from its littermates"),
        "breeder": _("breeder"),
    }


def sex(sex: str) -> str:
    """Say the sex; '' is an animal not sexed."""
    return {"boar": _("boar"), "sow": _("sow"), "": _("not sexed")}[sex]


def weights_note(shown: int, total: int) -> str:
    """Say how many weighings the table leaves out."""
    if shown == total:
        return ""
    return _("The first and the last; %(shown)d of %(total)d weighings.") % {
        "shown": shown,
        "total": total,
    }


# The ancestry


def inbreeding_figure(share: float | None, deepest: int) -> str:
    """Say Wright's coefficient; that it is not known where no ancestor is."""
    if share is None:
        return _("not reckoned")
    return coefficient(share) if deepest else _("not known")


def inbreeding_basis(
    full: int, deepest: int, known: Sequence[int], uncertain: int, as_written: float | None
) -> str:
    """Say how much ancestry the coefficient rests on.

    full: generations known without a gap; deepest: how far back the longest line goes;
    known: ancestors known in each of the four generations; uncertain: boxes with a choice;
    as_written: the coefficient with possible sires as written, where it is another.
    """
    said = [_depth(full, deepest), _completeness(known)]
    if uncertain:
        said.append(
            ngettext(
                "%(n)d of these is a choice of animals.",
                "%(n)d of these are choices of animals.",
                uncertain,
            )
            % {"n": uncertain}
        )
    if as_written is not None:
        said.append(
            _("Possible sires are weighed by all records; as written it would be %(share)s.")
            % {"share": inbreeding_figure(as_written, deepest)}
        )
    said.append(_("An ancestor not known counts as unrelated, so a short pedigree flatters."))
    return " ".join(said)


def _depth(full: int, deepest: int) -> str:
    if deepest == 0:
        return _("No generation is known.")
    whole = ngettext("%(n)d generation known in full", "%(n)d generations known in full", full) % {
        "n": full
    }
    return _("%(whole)s, the longest line %(deepest)d deep.") % {"whole": whole, "deepest": deepest}


def _completeness(known: Sequence[int]) -> str:
    each = ", ".join(
        _("%(known)d of %(all)d") % {"known": count, "all": 2 ** (generation + 1)}
        for generation, count in enumerate(known)
    )
    return _("Of four generations %(sum)d of %(total)d ancestors are known: %(each)s.") % {
        "sum": sum(known),
        "total": sum(2 ** (n + 1) for n in range(len(known))),
        "each": each,
    }


def unknowns(missing: Sequence[str], parents: tuple[bool, bool], choices: Sequence[str]) -> str:
    """Say plainly what is not known.

    missing: names of particulars left blank; parents: whether sire and dam are known;
    choices: what `choice` says of each uncertain ancestor.
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
        said.append(sentence(_("not written down: %(list)s") % {"list": ", ".join(missing)}))
    return " ".join(said)


def choice(path: str, names: str) -> str:
    """Say which ancestor is a choice of animals."""
    return _("not known which is the %(relation)s: %(names)s") % {
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
            "Points come in over three to five months; heat pales them and cold darkens them. "
            "This sheet says what could be known on its date of issue."
        ),
        _("One dose is needed to be showable, but it is not enough: a judge decides."),
        _(
            "Keep the sexes apart: young boars leave dam and sisters by three weeks or 250 g, "
            "daughters leave entire boars by four weeks."
        ),
        _(
            "A sow’s first litter should be conceived well before six months; later, her pelvis "
            "may not give and birth can kill her. Ask a vet first."
        ),
        _(
            "A sow can conceive within hours of littering: take the boar out before she is due. "
            "Off her food in late pregnancy or the fortnight after, she needs a vet at once."
        ),
        _(
            "Never pair roan to roan, dalmatians among them: about a quarter of the pups may be "
            "lethal whites. Roan can hide under white."
        ),
        _(
            "Do not breed from satins, nor pair two that carry satin: doubled, it goes with a "
            "painful bone disease."
        ),
        _(
            "Weigh weekly. A growing pup that loses weight, or a cavy that stops eating, needs "
            "a vet."
        ),
        _(
            "On health a vet decides, not this sheet. The law where you live and the rules of "
            "your club come first."
        ),
    )
