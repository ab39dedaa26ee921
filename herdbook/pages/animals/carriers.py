"""What an animal may carry unseen, in a line each with what it rests on."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.colours.carriers import WORTH_TELLING, Kin, MayCarry, may_carry
from genetics.core import genes
from herdbook.book.models import Animal

from ..common.formatting import chance
from ..common.gene_names import CARRIED


@dataclass(frozen=True)
class CarriedLine:
    """'chocolate', '67%', 'its dam shows it', and what sources disagree on of that gene."""

    what: str
    chance: str
    rests_on: str
    disputed: str


def carried_lines(animal: Animal) -> list[CarriedLine] | None:
    """The likeliest first; None where it is still being worked out."""
    found = may_carry(animal)
    return None if found is None else [_line(one) for one in found]


def _line(one: MayCarry) -> CarriedLine:
    share = chance(one.chance) if one.chance is not None else _("too complex to work out")
    if one.error:
        share = _("about %(share)s") % {"share": share}
    rests = [rests_on(one.kin)]
    if one.doubled >= WORTH_TELLING:
        rests.insert(0, _doubled(one.doubled))
    disputed = genes()[one.gene].disputed
    return CarriedLine(
        str(CARRIED[one.gene]), share, "; ".join(rests), _(disputed) if disputed else ""
    )


def _doubled(share: float) -> str:
    words = _("%(share)s that it has two hidden copies")
    return words % {"share": chance(share)}


def rests_on(kin: Kin) -> str:
    """What the nearest kin show, in a phrase."""
    said = list(_by_colour(kin))
    if kin.pups:
        words = ngettext(
            "%(n)d of its %(all)d recorded pup shows it",
            "%(n)d of its %(all)d recorded pups show it",
            kin.pups_noted,
        )
        said.append(words % {"n": kin.pups, "all": kin.pups_noted})
    elif kin.pups_noted:
        words = ngettext(
            "its one recorded pup does not show it",
            "none of its %(all)d recorded pups shows it",
            kin.pups_noted,
        )
        said.append(words % {"all": kin.pups_noted})
    if kin.littermates:
        words = ngettext("%(n)d littermate shows it", "%(n)d littermates show it", kin.littermates)
        said.append(words % {"n": kin.littermates})
    if not (kin.shown_by_the_nearest or kin.own or kin.dam_carries or kin.sire_carries):
        said.append(
            _("relatives look like carriers")
            if kin.never_shown
            else _("shown by more distant relatives")
        )
    return "; ".join(said)


def _by_colour(kin: Kin) -> Iterator[str]:
    """What its own looks and its parents' say."""
    if kin.own:
        yield _("it looks like a carrier itself")
    if kin.dam:
        yield _("its dam shows it")
    elif kin.dam_carries:
        yield _("its dam looks like a carrier")
    if kin.sire:
        yield _("its sire (or a possible sire) shows it")
    elif kin.sire_carries:
        yield _("its sire (or a possible sire) looks like a carrier")
