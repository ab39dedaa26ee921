"""A figure asked why: the records behind one animal's dose, as plain data for a page to word."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import PedigreeError
from genetics.core.explanation import evidence_groups
from genetics.core.explanation import evidence_weights as reasons
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import InconsistentEvidenceError
from genetics.figures.refresh import ERRORS
from genetics.models import Figure
from genetics.snapshot.kept import Kept
from genetics.snapshot.reading import Reading, read_book
from herdbook.book.models import Animal

Chances = tuple[float, float, float]


@dataclass(frozen=True)
class Record:
    """One record of a group by itself: what the animal of that key was `seen` as, or was `bought`
    as (``kind``). ``ratios`` and ``odds`` as in :class:`Reason`."""

    key: int
    kind: str
    ratios: Chances
    odds: float


@dataclass(frozen=True)
class Reason:
    """A group of records and how far it moves an animal.

    ``kind`` is 'own', 'bought' (what it was bought as), 'sire', 'dam', 'littermates', 'count' (of
    pups of its own litter, it among them, that were not told apart) or 'litter' (of its young;
    ``litter_key`` is the book's). ``animals`` are the keys of those with records in it; ``counts``
    in how many litters pups were counted together. ``ratios``: how many times likelier the records
    are at each dose, the largest made 1. ``odds``: the group's factor in the odds asked about.
    ``records``: those of near kin one by one, where they could be had.
    """

    kind: str
    litter_key: int | None
    animals: tuple[int, ...]
    ratios: Chances
    odds: float
    counts: int = 0
    records: tuple[Record, ...] = ()


@dataclass(frozen=True)
class Why:
    """What moves an animal's dose, the strongest group first.

    ``dose``: the one asked about, the likeliest. ``prior`` is without any record of anybody, what
    they were bought as among them; ``posterior`` with all. The odds on ``dose`` against the others
    go from the one to the other by each reason's factor and by ``together``, what groups say
    together and not one by one: 1 where that is too little to tell. ``marginal_only``: what the
    chances would be if each group said what it says alone. ``error`` is 0 where all is exact.
    """

    dose: int
    prior: Chances
    posterior: Chances
    reasons: tuple[Reason, ...]
    marginal_only: Chances
    together: float
    error: float


_KEPT: Kept[Why | None] = Kept(200)


def why(animal: Animal) -> Why | None:
    """The reasons for an animal's dose; None where no figure could be made for it. The figures
    are to be up to date.

    Works out the animal's family with and without each group of records that bears on it, once for
    each state of the book.
    """
    return _KEPT.get(animal.pk, lambda: _why(animal))


def _why(animal: Animal) -> Why | None:
    reading, row = _place_of(animal)
    figure = Figure.objects.filter(animal=animal).first()
    if reading is None or figure is None or figure.chances is None:
        return None
    try:
        found = reasons.evidence_weights(
            reading.assumed,
            reading.likelihood,
            row,
            frequency=reading.parameters.frequency,
            errors=ERRORS,
            founder_prior=reading.founder_prior,
            figure=np.array(figure.chances),
        )
    except InconsistentEvidenceError:
        return None
    return None if found is None else _as_why(reading, found)


def bears_on(animal: Animal) -> dict[str, int]:
    """Which kinds of records bear on an animal's dose, as in :class:`Reason`, and in how many
    groups of a kind pups were counted together; what anyone was bought as is left out. Nothing is
    worked out."""
    reading, row = _place_of(animal)
    if reading is None:
        return {}
    frequency = reading.parameters.frequency
    prior = reading.founder_prior
    case = PosteriorProblem.of(
        reading.assumed, reading.likelihood, frequency, ERRORS, prior, BUDGET
    )
    found: dict[str, int] = {}
    for (kind, _), group in evidence_groups.groups_of(case, row).items():
        if group.seen or group.tallies:
            found[kind] = found.get(kind, 0) + bool(group.tallies)
    return found


def _place_of(animal: Animal) -> tuple[Reading | None, int]:
    """The book as it stands and the animal's row in it; None where it contradicts itself."""
    try:
        reading = read_book()
    except PedigreeError:
        return None, -1
    row = reading.place.get(animal.pk)
    return (None, -1) if row is None else (reading, row)


def _as_why(reading: Reading, found: reasons.Reasons) -> Why:
    told = tuple(
        Reason(
            kind=reason.kind,
            litter_key=None if reason.litter < 0 else reading.litter_keys[reason.litter],
            animals=tuple(reading.keys[row] for row in reason.animals),
            ratios=_chances(reason.ratios),
            odds=reason.odds,
            counts=len(reason.tallies),
            records=tuple(
                Record(reading.keys[one.animal], one.kind, _chances(one.ratios), one.odds)
                for one in reason.members
            ),
        )
        for reason in found.reasons
    )
    return Why(
        found.dose,
        _chances(found.prior),
        _chances(found.posterior),
        told,
        _chances(found.marginal_only),
        found.together,
        found.error,
    )


def _chances(values: NDArray) -> Chances:
    none, one, two = (float(value) for value in values)
    return none, one, two
