"""What a rule of breeding brings over some seasons: figures for each run, and their spread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from genetics.core.simulation.breeding import Herd, Plan, Season, Start, begin, breed
from genetics.core.simulation.selection_rules import Policy

Figures = NDArray[np.float64]

BAND = (0.1, 0.9)  # four runs in five lie between


@dataclass(frozen=True)
class Outlook:
    """Figures (r, t) of each run and season; NaN where no pup lived to tell of.

    For each litter, counting those that lived long enough: `one_dose`, of which `showable` are good
    enough, `overmarked` and `selfs`. `inbreeding`: mean of the pups that lived. `lines`: founders
    of whom a gene is left, mean over loci, among the breeding animals after the season.
    """

    one_dose: Figures
    showable: Figures
    overmarked: Figures
    selfs: Figures
    inbreeding: Figures
    lines: Figures


MEASURES = tuple(field.name for field in fields(Outlook))


def look_ahead(
    start: Start, plan: Plan, policy: Policy, seasons: int, random: np.random.Generator
) -> Outlook:
    """Breed on from `start` for so many seasons, in as many runs as it has draws."""
    herd = begin(start, plan, policy, random)
    columns = []
    for season in range(seasons):
        herd, brought = breed(herd, plan, policy, season, random)
        columns.append(_measured(herd, brought))
    return Outlook(*(np.stack(rows, axis=1) for rows in zip(*columns, strict=True)))


def joined(outlooks: Sequence[Outlook]) -> Outlook:
    """Runs that were made in several batches, as one."""
    return Outlook(*(np.concatenate([getattr(one, name) for one in outlooks]) for name in MEASURES))


@dataclass(frozen=True)
class Spread:
    """How the runs of a season differ: `low` and `high` hold four runs in five between them."""

    low: float
    median: float
    high: float
    mean: float


def spread(figures: Figures) -> tuple[Spread, ...]:
    """The spread of each season (r, t), over the runs that have a figure; NaN where none has."""
    found = []
    for column in figures.T:
        told = column[~np.isnan(column)]
        if not len(told):
            found.append(Spread(*(float("nan"),) * 4))
            continue
        low, median, high = np.quantile(told, (BAND[0], 0.5, BAND[1])).tolist()
        found.append(Spread(low, median, high, float(told.mean())))
    return tuple(found)


def lines_left(genes: NDArray[np.int32]) -> Figures:
    """Of genes (r, loci, n, 2), how many founders still have one: mean over loci (r,)."""
    runs, loci = genes.shape[:2]
    founder = genes.reshape(runs, loci, -1) // 2
    present = np.zeros((runs, loci, int(founder.max()) + 1), dtype=bool)
    run, locus = np.ogrid[:runs, :loci]
    present[run[..., None], locus[..., None], founder] = True
    mean: Figures = present.sum(axis=2).mean(axis=1)
    return mean


def _measured(herd: Herd, brought: Season) -> tuple[Figures, ...]:
    """One season's figures (r,), in the order of `MEASURES`."""
    pups = brought.pups
    litters = pups.shape[1]
    lived = (pups >= 0).sum(axis=2)
    with np.errstate(invalid="ignore"):
        inbreeding = (brought.inbreeding * lived).sum(axis=1) / lived.sum(axis=1)
    counts = [(pups == dose).sum(axis=(1, 2)) / litters for dose in (1, 2, 0)]
    showable = brought.showable.sum(axis=1) / litters
    return counts[0], showable, counts[1], counts[2], inbreeding, lines_left(herd.genes)
