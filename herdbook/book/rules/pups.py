"""What cannot be, and what is hard to believe, of pups as they are written at birth."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _

from .. import limits
from ..inputs import PupEntry
from ..models import Animal, Herd
from ..models.animal import Coat
from .findings import Finding, ask, refuse


def pups_findings(pups: Sequence[PupEntry], *, herd: Herd) -> Iterator[Finding]:
    """What is found of the pups in one form; a finding's field names the line that it is at."""
    yield from _numbers(pups, herd)
    for place, pup in enumerate(pups):
        yield from _birth_weight(place, pup)
        if pup.coat == Coat.LETHAL:
            yield lethal_white(f"lethal-white:{place}", f"pups-{place}-coat")


def lethal_white(code: str, field: str) -> Finding:
    """The question that goes with the word, whoever writes it."""
    return ask(
        code,
        _(
            "A lethal white is born with small eyes and teeth or none, and most soon die: ask a "
            "vet at once how to keep it from suffering. Both its parents then carry roan, even "
            "if white hides it; do not mate them to roan again. Is it a lethal white?"
        ),
        field,
    )


def _numbers(pups: Sequence[PupEntry], herd: Herd) -> Iterator[Finding]:
    typed = [pup.number for pup in pups]
    found = Animal.objects.filter(herd=herd, number__in=filter(None, typed))
    taken = {animal.number: animal for animal in found.select_related("litter")}
    for place, number in enumerate(typed):
        field = f"pups-{place}-number"
        if number in taken:
            yield refuse(
                f"number-taken:{place}",
                _("No. %(number)s belongs to another animal. Leave blank for the next free one.")
                % {"number": number},
                field,
            )
        elif number and number in typed[:place]:
            yield refuse(
                f"number-twice:{place}",
                _("Two pups have No. %(number)s. Change one.") % {"number": number},
                field,
            )


def _birth_weight(place: int, pup: PupEntry) -> Iterator[Finding]:
    weight = pup.birth_weight_g
    if weight is None:
        return
    if not limits.BIRTH_WEIGHT_LEAST_G <= weight <= limits.BIRTH_WEIGHT_MOST_G:
        yield ask(
            f"birth-weight:{place}",
            _("Pup %(place)d weighs %(weight)d g at birth. Is that right?")
            % {"place": place + 1, "weight": weight},
            f"pups-{place}-birth_weight_g",
        )
