"""The colours and coats that a planned litter will show, in words."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from genetics.colours.litter import LitterColours, Share

from ..common.formatting import chance
from ..common.gene_names import BODY, CARRIED, COAT, POINTS


@dataclass(frozen=True)
class Row:
    """'white', '38%'."""

    what: str
    chance: str


@dataclass(frozen=True)
class Part:
    """A heading with its rows."""

    heading: str
    rows: list[Row]


def tell_colours(found: LitterColours) -> list[Part]:
    """The parts that have any rows."""
    parts = [
        Part(_("Body colour"), _rows(found.bodies, BODY)),
        Part(_("Colour of points"), _rows(found.points, POINTS)),
        Part(_("Coat, markings and eyes"), _rows(found.coats, COAT)),
        Part(_("Carried"), [_carried(one) for one in found.carriers]),
    ]
    return [part for part in parts if part.rows]


def _rows(shares: tuple[Share, ...], words: dict) -> list[Row]:
    return [Row(str(words[one.gene, one.name]), chance(one.chance)) for one in shares]


def _carried(one: Share) -> Row:
    return Row(str(CARRIED[one.gene]), chance(one.chance))
