"""What colours and coats a litter to be will show, and the cautions that follow."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from genetics.colours import hands_on, may_carry
from genetics.litter_colours import LitterColours, Share
from genetics.welfare import WORTH_A_CAUTION
from herdbook.book.cautions import PAIR, Caution
from herdbook.book.models import Animal

from ..gene_words import BODY, CARRIED, COAT, POINTS
from ..wording import chance


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
    """The parts that have anything to say."""
    parts = [
        Part(_("Body colour"), _rows(found.bodies, BODY)),
        Part(_("Points, where they come"), _rows(found.points, POINTS)),
        Part(_("Coat, marks and eyes out of the common"), _rows(found.coats, COAT)),
        Part(_("Carried unseen"), [_carried(one) for one in found.carriers]),
    ]
    return [part for part in parts if part.rows]


def colour_cautions(found: LitterColours) -> Iterator[Caution]:
    """What the genes themselves say against the mating, whatever the notes say."""
    yield from gene_cautions(found.chance("roan", "lethal white"), found.chance("satin", "satin"))


class PairCautions:
    """The same for many pairs, roughly: each parent by itself, as if they were no kin."""

    def __init__(self, animals: Sequence[Animal]) -> None:
        if animals:
            may_carry(animals[0])  # which brings up to date what is kept of all
        self.roan, self.satin = (hands_on(animals, gene) for gene in ("roan", "satin"))

    def of(self, sow: Animal, boar: Animal) -> Iterator[Caution]:
        """What the genes say against this pair."""
        yield from gene_cautions(
            self.roan[sow.pk] * self.roan[boar.pk], self.satin[sow.pk] * self.satin[boar.pk]
        )


def gene_cautions(lethal: float, satin: float) -> Iterator[Caution]:
    """The cautions that go with the chance of a lethal white and of a satin pup."""
    if lethal >= WORTH_A_CAUTION:
        yield Caution(
            "lethal-white",
            PAIR,
            _(
                "Each pup may be a lethal white, with a chance of %(share)s: both parents show "
                "roan, or may carry it unseen under white."
            )
            % {"share": chance(lethal)},
            _("About a quarter from roan to roan (secondary sources only)."),
            _("A vet decides."),
        )
    if satin >= WORTH_A_CAUTION:
        yield Caution(
            "satin-pups",
            PAIR,
            _("Each pup may be satin, with a chance of %(share)s, and satins suffer in the bones.")
            % {"share": chance(satin)},
            _(
                "38% of satins had a bone disease (Jordan and others 2009, as cited in a case "
                "report, Case Rep Vet Med 2017:1321656)."
            ),
            _("A vet decides."),
        )


def _rows(shares: tuple[Share, ...], words: dict) -> list[Row]:
    return [Row(str(words[one.gene, one.name]), chance(one.chance)) for one in shares]


def _carried(one: Share) -> Row:
    return Row(str(CARRIED[one.gene]), chance(one.chance))
