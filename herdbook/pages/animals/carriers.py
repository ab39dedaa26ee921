"""What an animal may carry unseen, in a line each with what it rests on."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.colours.carriers import WORTH_TELLING, Kin, MayCarry, may_carry
from genetics.core.inheritance.loci import genes
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
    """The likeliest first; None where it is still being reckoned."""
    found = may_carry(animal)
    return None if found is None else [_line(one) for one in found]


def _line(one: MayCarry) -> CarriedLine:
    share = chance(one.chance) if one.chance is not None else _("too tangled to tell")
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
    words = _("and %(share)s that it has it doubled and hidden, as its own looks say nothing of it")
    return words % {"share": chance(share)}


def rests_on(kin: Kin) -> str:
    """What the nearest kin show, in a phrase."""
    said = list(_by_colour(kin))
    if kin.pups:
        words = ngettext(
            "%(n)d of %(all)d pup noted shows it",
            "%(n)d of %(all)d pups noted show it",
            kin.pups_noted,
        )
        said.append(words % {"n": kin.pups, "all": kin.pups_noted})
    elif kin.pups_noted:
        words = ngettext(
            "its one pup noted does not show it",
            "none of its %(all)d pups noted shows it",
            kin.pups_noted,
        )
        said.append(words % {"all": kin.pups_noted})
    if kin.littermates:
        words = ngettext("%(n)d littermate shows it", "%(n)d littermates show it", kin.littermates)
        said.append(words % {"n": kin.littermates})
    if not (kin.shown_by_the_nearest or kin.own or kin.dam_carries or kin.sire_carries):
        said.append(
            _("kin have a carrier's looks") if kin.never_shown else _("kin further off show it")
        )
    return "; ".join(said)


def _by_colour(kin: Kin) -> Iterator[str]:
    """What its own looks and its parents' say."""
    if kin.own:
        yield _("its own looks, if written right, are a carrier's")
    if kin.dam:
        yield _("its dam shows it")
    elif kin.dam_carries:
        yield _("its dam's looks are a carrier's")
    if kin.sire:
        yield _("its sire, or a boar that may be, shows it")
    elif kin.sire_carries:
        yield _("its sire, or a boar that may be, has a carrier's looks")
