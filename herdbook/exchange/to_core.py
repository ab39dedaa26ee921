"""From a pedigree file to the arrays of `genetics.core`, animals in the file's order."""

import numpy as np
from django.utils.translation import gettext as _
from numpy.typing import NDArray

from genetics.core import MISJUDGED, MIXED_UP, Litter, Observation, Pedigree, observation_likelihood
from herdbook.exchange.exceptions import Fault, FaultyFileError
from herdbook.exchange.pedigree_file import PedigreeFile
from herdbook.exchange.rows import AnimalRow


def pedigree_of(file: PedigreeFile) -> Pedigree:
    """The file's litters. A row without a litter but with a parent is a litter of its own; one
    without either is a founder."""
    place = {row.id: number for number, row in enumerate(file.rows)}
    litters: dict[str | int, list[int]] = {}
    for number, row in enumerate(file.rows):
        if row.litter or row.sires or row.dams:
            litters.setdefault(row.litter or number, []).append(number)
    return Pedigree(
        ids=tuple(row.id for row in file.rows),
        litters=tuple(_litter(pups, file.rows[pups[0]], place) for pups in litters.values()),
    )


def _litter(pups: list[int], first: AnimalRow, place: dict[str, int]) -> Litter:
    return Litter(
        pups=tuple(pups),
        sires=tuple(place[sire] for sire in first.sires),
        sire_weights=first.sire_weights,
        dams=tuple(place[dam] for dam in first.dams),
        dam_weights=first.dam_weights,
    )


def likelihood_of(file: PedigreeFile, *, slips: bool) -> NDArray[np.float64]:
    """The likelihood (n, 3) of each animal's observations at dose 0, 1 and 2, scaled so that the
    largest is one; all ones where nothing was observed. `slips`: whether a check may be misread,
    or of another animal, at the book's rates. Raises FaultyFileError, without slips, for checks
    that no animal can show."""
    likelihood = np.ones((len(file.rows), 3))
    faults = []
    for number, row in enumerate(file.rows):
        if row.likelihood is not None:
            likelihood[number] = row.likelihood
        elif row.points:
            assert row.seen is not None, "a file without a fault has the day with the points"
            assert row.born is not None, "a file without a fault has the birth with the points"
            age_days = (row.seen - row.born).days
            try:
                likelihood[number] = _of_a_look(row.points, age_days, slips)
            except ValueError:
                faults.append(_too_young(row, age_days))
    if faults:
        raise FaultyFileError(faults)
    return likelihood / likelihood.max(axis=1, keepdims=True)


def _of_a_look(stage: str, age_days: int, slips: bool) -> NDArray[np.float64]:
    rates = (MISJUDGED, MIXED_UP) if slips else (0.0, 0.0)
    look = Observation(stage, age_days)
    return observation_likelihood([look], misjudged=rates[0], mixed_up=rates[1])


def _too_young(row: AnimalRow, age_days: int) -> Fault:
    words = _(
        "no animal shows '%(stage)s' at %(days)s days. Correct the check or the birth, or allow "
        "for errors: --errors 0.01."
    ) % {"stage": row.points, "days": age_days}
    return Fault(row.number, "points", words)
