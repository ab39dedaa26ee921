"""The book read once, with the dose of every animal, for whoever looks at many pairs of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import PedigreeError
from genetics.core.posterior.dose import Dose
from genetics.core.record_errors.error_posterior import misread_looks
from genetics.figures.refresh import ERRORS, compute_doses, recomputed_at_once, standing_shares
from genetics.models import Figure
from genetics.snapshot.kept import Kept
from genetics.snapshot.reading import Reading, looks_behind, read_book
from genetics.snapshot.sire_weights import Weighed, weigh
from herdbook.book.models import Animal, Look
from herdbook.book.rules.mating_cautions import Doubted

Table = NDArray[np.float64]

# Records less doubtful than this are nothing to trouble a keeper with before a mating. A wrong sire
# bears on the inbreeding too, where a misread look is in the doses already.
WORTH_OF_SIRE, WORTH_OF_LOOK = 0.05, 0.2


@dataclass(frozen=True)
class Parents:
    """The book as arrays, and what is known of each animal's dose.

    ``chances`` (n, 3): of 0, 1, 2 doses, NaN without a figure; ``error`` (n,): estimate of their
    error, 0 where exact. ``likelihood`` (n, 3): of all that was seen, ones in the families of
    ``lost``, whose records cannot all be true. ``dose``: the calculation itself, None for a book
    too large or too tangled to be worked out while a page waits, whose figures are taken as they
    stand.
    """

    reading: Reading
    likelihood: Table
    chances: Table
    error: Table
    lost: frozenset[int]
    dose: Dose | None

    @property
    def arguments(self) -> dict:
        """What the core's calculations of pairs want, by name."""
        return {
            "pedigree": self.reading.assumed,
            "likelihood": self.likelihood,
            "chances": self.chances,
            "frequency": self.reading.parameters.frequency,
            "errors": ERRORS,
            "founder_prior": self.reading.founder_prior,
        }

    @cached_property
    def weighed(self) -> Weighed:
        """The pedigree for kinship, each possible sire by his share in the figures."""
        return weigh(self.reading, standing_shares(self.reading))

    def row(self, animal: Animal) -> int:
        return self.reading.place[animal.pk]

    def why_none(self, *rows: int) -> str:
        """Why there is no figure for parents of these rows; '' where there is one."""
        if self.lost.intersection(rows):
            return str(Figure.Method.IMPOSSIBLE)
        return str(Figure.Method.TANGLED) if np.isnan(self.chances[list(rows)]).any() else ""


_KEPT: Kept[Parents | None] = Kept(1)


def read_parents() -> Parents | None:
    """Read and work out the book; None where its pedigree contradicts itself.

    A book that is large or tangled is taken as figured: to work it out again would keep each page
    waiting. Kept while the book stands.
    """
    return _KEPT.get("all", _read_parents)


def _read_parents() -> Parents | None:
    try:
        reading = read_book()
    except PedigreeError:
        return None
    if not recomputed_at_once():
        return _as_figured(reading)
    dose, lost, _ = compute_doses(reading)
    likelihood, chances = reading.likelihood.copy(), dose.chances.copy()
    likelihood[list(lost)], chances[list(lost)] = 1.0, np.nan
    return Parents(reading, likelihood, chances, dose.error, frozenset(lost), dose)


def _as_figured(reading: Reading) -> Parents:
    """With the figures that stand in the table, where the book is too large to work out at once."""
    chances, error = np.full((len(reading), 3), np.nan), np.zeros(len(reading))
    lost = set()
    for key, none, one, two, off, method in Figure.objects.values_list(
        "pk", "dose0", "dose1", "dose2", "error", "method"
    ):
        row = reading.place.get(key)
        if row is not None and method == Figure.Method.IMPOSSIBLE:
            lost.add(row)
        elif row is not None and none is not None:
            chances[row], error[row] = (none, one, two), off or 0.0
    likelihood = reading.likelihood.copy()
    likelihood[list(lost)] = 1.0
    return Parents(reading, likelihood, chances, error, frozenset(lost), None)


def doubted(parents: Parents, animals: Collection[Animal]) -> dict[int, Doubted]:
    """What other records say against the papers of these animals, by key; none for the sound.

    Only what one calculation of the book tells already; nothing of a book taken as figured.
    """
    dose = parents.dose
    if dose is None:
        return {}
    seen = _looks_of(animals)
    found = {
        animal.pk: Doubted(
            _wrong_sire(parents, dose, parents.row(animal)),
            _misread(parents, dose, animal, seen[animal.pk]),
        )
        for animal in animals
    }
    return {key: one for key, one in found.items() if one != Doubted()}


def _wrong_sire(parents: Parents, dose: Dose, row: int) -> float | None:
    """The chance that the written sire of an animal's litter is another boar, if worth a look."""
    litter = int(parents.reading.assumed.litter_of[row])
    shares = dose.sire_shares.get(litter)
    written = parents.reading.assumed.litters[litter].sires if litter != -1 else ()
    if shares is None or len(shares) == len(written) or row in parents.lost:
        return None
    chance = float(shares[-1])
    return chance if chance >= WORTH_OF_SIRE else None


def _misread(parents: Parents, dose: Dose, animal: Animal, looks: list[Look]) -> float | None:
    """The chance that the most doubtful look at an animal was misread, if worth a look."""
    row = parents.row(animal)
    assumed = parents.reading.assumed
    founder = assumed.litter_of[row] == -1 or bool(assumed.without_parents()[row])
    seen = [one for look, one in looks_behind(animal, looks, founder=founder) if look]
    if not seen or np.isnan(parents.chances[row]).any():
        return None
    curves = parents.reading.parameters.curves
    behind = dose.behind.get(row, parents.chances[row])
    chance = max(misread_looks(behind, seen, curves=curves))
    return chance if chance >= WORTH_OF_LOOK else None


def _looks_of(animals: Collection[Animal]) -> dict[int, list[Look]]:
    looks: dict[int, list[Look]] = defaultdict(list)
    wanted = [animal.pk for animal in animals]
    for look in Look.objects.filter(animal__in=wanted).order_by("on", "pk"):
        looks[look.animal_id].append(look)
    return looks
