"""Cautions from the genes, whatever the notes say: lethal whites and satin pups."""

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
                    _("Each pup has a %(share)s chance of being a lethal white.")
                    % {"share": chance(lethal)},
                    _of_roan(sow),
                    _of_roan(boar),
                ]
            ),
            _(
                "Worked out from the records of both families. About a quarter of the pups of roan "
                "to roan are lethal whites (secondary sources only)."
            ),
            vet_decides(),
        )
    if satin >= limits.SATIN_PUPS_FROM:
        yield Caution(
            "satin-pups" if satin >= limits.SATIN_PUPS_GRAVE_FROM else "satin-pups-seldom",
            PAIR,
            _("Each pup has a %(share)s chance of being satin, and satins often have bone disease.")
            % {"share": chance(satin)},
            _(
                "38% of satins had a bone disease (Jordan and others 2009, as cited in a case "
                "report, Case Rep Vet Med 2017:1321656)."
            ),
            vet_decides(),
        )


def _of_roan(animal: Animal) -> str:
    """Why this parent may be roan, and what to check."""
    written = animal.coat_type.split()
    if CoatType.ROAN in written:
        words = _("%(animal)s shows roan.")
    elif CoatType.PATCHES in written or animal.coat == Coat.WHITE:
        words = _(
            "%(animal)s may have roan hidden under white: look closely, and at its relatives."
        )
    elif not written:
        words = _(
            "%(animal)s has no coat and markings recorded, and roan runs in its family: check, and "
            "record roan, or plain if there is none."
        )
    elif animal.coat in (Coat.UNKNOWN, Coat.OTHER):
        words = _("%(animal)s has no colour recorded that would show roan. Record its colour.")
    else:
        words = _("%(animal)s is recorded without roan, but roan runs in its family: check again.")
    return words % {"animal": animal.full_name}
