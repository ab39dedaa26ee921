"""A book examined: everything in it that cannot be, or that nobody has been asked about.

The same rules that guard the desk look at what is written; rows may have come in before a rule
existed, or have become wrong by a later correction elsewhere.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from ..inputs import (
    CountEntry,
    LitterEntry,
    LookEntry,
    ParentsEntry,
    PupEntry,
    WeighingEntry,
)
from ..models import Animal, Answer, Litter, LitterCount, Look, Weighing
from ..models.animal import AnimalQuerySet, Sex
from ..models.litter import Source
from ..models.litter_count import COUNTED
from .animals import animal_findings
from .counts import count_findings
from .findings import Finding, refuse
from .litters import litter_findings, parents_findings
from .observations import look_findings, weighing_findings
from .pups import pups_findings


@dataclass(frozen=True)
class Found:
    """A finding and the row that it is about, named for a reader."""

    row: Animal | Litter | LitterCount | Look | Weighing
    finding: Finding


def examine(animals: AnimalQuerySet, *, today: date) -> Iterator[Found]:
    """Examine the animals given, their litters, looks, weighings and counts.

    A question that the keeper has answered already, for whichever row, is not asked again.
    """
    settled = set(Answer.objects.values_list("question", flat=True))
    for found in _everything(animals, today):
        if found.finding.message not in settled:
            yield found


def _everything(animals: AnimalQuerySet, today: date) -> Iterator[Found]:
    litters = Litter.objects.filter(pk__in=animals.values("litter")).with_family()
    for litter in litters:
        for finding in _of_litter(litter, today):
            yield Found(litter, finding)
    for animal in animals.with_parents():
        for finding in _of_animal(animal, today):
            yield Found(animal, finding)
    yield from _observed(animals, today)
    for count in LitterCount.objects.filter(litter__in=litters).with_pups():
        for finding in count_findings(_count_entry(count), today=today, count=count):
            yield Found(count, finding)


def _observed(animals: AnimalQuerySet, today: date) -> Iterator[Found]:
    for weighing in Weighing.objects.filter(animal__in=animals).select_related("animal__litter"):
        weighed = WeighingEntry(weighing.animal, weighing.on, weighing.weight_g)
        for finding in weighing_findings(weighed, today=today, weighing=weighing):
            yield Found(weighing, finding)
    for look in Look.objects.filter(animal__in=animals).select_related("animal__litter"):
        seen = LookEntry(look.animal, look.on, look.stage)
        for finding in look_findings(seen, today=today, look=look):
            yield Found(look, finding)


def _count_entry(count: LitterCount) -> CountEntry:
    counted = dict(zip(COUNTED, count.counted, strict=True))
    return CountEntry(count.litter, count.on, counted, tuple(count.pups), count.nameless)


def _of_litter(litter: Litter, today: date) -> list[Finding]:
    boars = tuple(litter.candidate_boars)
    if litter.source == Source.PAPER:
        entry = ParentsEntry(dam=litter.dam, boars=boars, born=litter.born)
        return list(parents_findings(entry, today=today, litter=litter))
    whole = LitterEntry(
        dam=litter.dam,
        boars=boars,
        born=litter.born,
        boar_in=litter.boar_in,
        boar_out=litter.boar_out,
        born_alive=litter.born_alive,
        born_dead=litter.born_dead or 0,
    )
    written = [PupEntry(birth_weight_g=pup.birth_weight_g) for pup in litter.pups.all()]
    return [
        *litter_findings(whole, herd=litter.herd, today=today, litter=litter),
        *pups_findings(written, herd=litter.herd),
    ]


def _of_animal(animal: Animal, today: date) -> Iterator[Finding]:
    values = {"came_on": animal.came_on, "left_on": animal.left_on, "sex": animal.sex}
    yield from animal_findings(values, born=animal.born, today=today, animal=animal)
    if animal.sex == Sex.UNKNOWN and animal.litters.exists() and animal.sired.exists():
        yield refuse(
            "used-both-ways",
            _("%(animal)s stands as dam of one litter and as sire of another.")
            % {"animal": animal.label},
        )
