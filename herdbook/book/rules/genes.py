"""What the genes say against a mating, whatever the notes say: lethal whites and satin pups."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from .. import limits
from ..coat_type import CoatType
from ..formatting import chance
from ..models import Animal
from ..models.animal import Coat
from .mating_cautions import PAIR, Caution, vet_decides


def cautions_of_genes(
    sow: Animal, boar: Animal, *, lethal: float, satin: float
) -> Iterator[Caution]:
    """The cautions that go with the chance that a pup is a lethal white, and that it is satin."""
    if lethal >= limits.LETHAL_WHITES_FROM:
        yield Caution(
            "lethal-white",
            PAIR,
            " ".join(
                [
                    _("Each pup may be a lethal white, with a chance of %(share)s.")
                    % {"share": chance(lethal)},
                    _of_roan(sow),
                    _of_roan(boar),
                ]
            ),
            _(
                "Reckoned from what is written of both families. About a quarter from roan to roan "
                "(secondary sources only)."
            ),
            vet_decides(),
        )
    if satin >= limits.SATIN_PUPS_FROM:
        yield Caution(
            "satin-pups" if satin >= limits.SATIN_PUPS_GRAVE_FROM else "satin-pups-seldom",
            PAIR,
            _("Each pup may be satin, with a chance of %(share)s, and satins suffer in the bones.")
            % {"share": chance(satin)},
            _(
                "38% of satins had a bone disease (Jordan and others 2009, as cited in a case "
                "report, Case Rep Vet Med 2017:1321656)."
            ),
            vet_decides(),
        )


def _of_roan(animal: Animal) -> str:
    """Why roan is reckoned with in this parent, and what would tell."""
    written = animal.coat_type.split()
    if CoatType.ROAN in written:
        words = _("%(animal)s shows roan.")
    elif CoatType.PATCHES in written or animal.coat == Coat.WHITE:
        words = _("%(animal)s may carry roan unseen under white: look closely, at its kin too.")
    elif not written:
        words = _(
            "Of %(animal)s no coat and marks are written down, and roan runs in its family: look, "
            "and write down roan, or plain where there is none."
        )
    elif animal.coat in (Coat.UNKNOWN, Coat.OTHER):
        words = _(
            "Of %(animal)s no colour is written down that roan would be seen on: write it down."
        )
    else:
        words = _("%(animal)s is written down without roan, and has it in its family: look again.")
    return words % {"animal": animal.full_name}
