"""What was said of a herd's animals, set beside what came true.

The truth here is what a breeder would call proved, and no chance of the calculation's own: what a
grown animal shows, and else test matings to selfs, counted. Only what was said before the first
look that proves it counts, as the rest has seen the answer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from django.utils import timezone

from genetics.core.estimation.calibration import Band, Group, brier, reliability
from genetics.doses.progeny_test import JUDGED_SELF_DAYS
from genetics.figures.statement_log import has_moved
from genetics.models import Said
from herdbook.book.models import Animal, CandidateSire, Herd, Look
from herdbook.book.models.look import Stage, Warmth

# Heat pales points and cold darkens them: a look after such weeks proves nothing.
PLAIN_WARMTHS = (Warmth.MILD, Warmth.UNKNOWN)

# So many young of one kind from selfs leave less than one chance in a hundred of the other:
# (1/2)^7, as in the published tables of test matings.
PROVING_YOUNG = 7
# Young of both kinds prove one dose; one of a kind may be a slip.
OF_BOTH_KINDS = 2

# Fewer animals, or fewer chances in a row, tell nothing.
ENOUGH = 20
BANDS = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0)

_DOSE_SHOWN: dict[str, int] = {Stage.NONE: 0, Stage.FULL: 1, Stage.OVERMARKED: 2}

Verdict = tuple[int, date]


@dataclass(frozen=True)
class Score:
    """How what was said of ``animals`` compares with what came true of them.

    ``said`` counts figures, several for an animal whose figure moved; ``waiting`` are the animals
    of whom something was said that is not proved yet. ``brier`` and what was ``expected`` of it
    are None, with ``error``, where there are too few animals.
    """

    animals: int
    said: int
    waiting: int
    brier: float | None = None
    expected: float | None = None
    error: float | None = None
    bands: tuple[Band, ...] = ()


def score_of(herd: Herd) -> Score:
    """Score everything that was ever said of a herd's own animals."""
    said: dict[int, list[Said]] = defaultdict(list)
    for row in Said.objects.filter(animal__herd=herd).order_by("pk"):
        said[row.animal_id].append(row)
    proved = proved_doses()
    groups, waiting = [], 0
    for animal, rows in said.items():
        if animal not in proved:
            waiting += 1
            continue
        dose, since = proved[animal]
        group = _before(rows, dose, since)
        if group is not None:
            groups.append(group)
    return _scored(groups, waiting)


def proved_doses() -> dict[int, Verdict]:
    """The dose of each animal that is proved, by its key, with the day of the first look that
    proves it."""
    animals = {animal.pk: animal for animal in Animal.objects.select_related("litter")}
    shown = shown_doses(animals)
    return _proved_by_young(animals, shown) | shown


def _before(rows: Sequence[Said], dose: int, since: date) -> Group | None:
    early: list[tuple[float, ...]] = []
    for row in rows:
        # The same chances by another method were said once.
        moved = not early or has_moved(early[-1], row.chances)
        if moved and timezone.localdate(row.said_at) < since:
            early.append(row.chances)
    return (np.array(early), np.full(len(early), dose)) if early else None


def _scored(groups: list[Group], waiting: int) -> Score:
    said = sum(len(doses) for _, doses in groups)
    if len(groups) < ENOUGH:
        return Score(len(groups), said, waiting)
    return Score(len(groups), said, waiting, *brier(groups), tuple(reliability(groups, BANDS)))


def shown_doses(animals: dict[int, Animal]) -> dict[int, Verdict]:
    """The dose that grown animals show; none for those whose looks do not agree."""
    seen: dict[int, list[Verdict]] = defaultdict(list)
    looks = Look.objects.filter(warmth__in=PLAIN_WARMTHS, stage__in=_DOSE_SHOWN)
    for animal, on, stage in looks.order_by("on").values_list("animal", "on", "stage"):
        age = animals[animal].age_days(on)
        if animals[animal].shows_points and age is not None and age >= JUDGED_SELF_DAYS:
            seen[animal].append((_DOSE_SHOWN[stage], on))
    return {
        animal: verdicts[0]
        for animal, verdicts in seen.items()
        if len({dose for dose, _ in verdicts}) == 1
    }


def _proved_by_young(animals: dict[int, Animal], shown: dict[int, Verdict]) -> dict[int, Verdict]:
    """The dose that grown young prove, each of a mate who is a grown self."""
    sires = _only_sires()
    young: dict[int, list[Verdict]] = defaultdict(list)
    for pup, verdict in shown.items():
        litter = animals[pup].litter
        parents = sires.get(litter.pk), litter.dam_id
        for parent, mate in (parents, parents[::-1]):
            if parent is not None and mate in shown and shown[mate][0] == 0:
                young[parent].append(verdict)
    proofs = {parent: _proof([dose for dose, _ in verdicts]) for parent, verdicts in young.items()}
    return {
        parent: (proof, min(day for _, day in young[parent]))
        for parent, proof in proofs.items()
        if proof is not None
    }


def _proof(doses: Sequence[int]) -> int | None:
    """What young from selfs prove of their parent, if anything."""
    selfs = sum(dose == 0 for dose in doses)
    marked = len(doses) - selfs
    if min(selfs, marked) >= OF_BOTH_KINDS:
        return 1
    if len(doses) >= PROVING_YOUNG and min(selfs, marked) == 0:
        return 2 if marked else 0
    return None


def _only_sires() -> dict[int, int]:
    """The sire of each litter of which but one boar is written."""
    boars: dict[int, list[int]] = defaultdict(list)
    for litter, boar in CandidateSire.objects.values_list("litter", "boar"):
        boars[litter].append(boar)
    return {litter: several[0] for litter, several in boars.items() if len(several) == 1}
