"""One animal's checks, and one litter's counts, by what the core weighs of many at once."""

from collections.abc import Collection, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.pedigree.group_records import GroupCount
from genetics.core.penetrance.group_counts import (
    DEAREST,
    SeenTogether,
    count_of_litter,
    tallies_under,
)
from genetics.core.penetrance.likelihood import (
    MISJUDGED,
    log_chances_of_rows,
    observation_likelihood,
)
from genetics.core.penetrance.observation import Observation
from genetics.core.penetrance.onset_parameters import CURVES, Curves

Table = NDArray[np.float64]


def look_likelihood(
    stage: str,
    age_days: float,
    warmth: str = "",
    *,
    misjudged: float = MISJUDGED,
    curves: Curves = CURVES,
) -> Table:
    """Likelihood (3,) of one check that finds `stage` at `age_days`; the largest is 1."""
    look = Observation(stage, age_days, warmth)
    return observation_likelihood([look], misjudged=misjudged, curves=curves)


def log_stage_chances(
    looks: Sequence[Observation], *, misjudged: float, curves: Curves = CURVES
) -> Table:
    """Logarithm (3,) of the chance at each dose that checks at these ages find these stages."""
    logs: Table = log_chances_of_rows([looks], misjudged=misjudged, curves=curves)[0]
    return logs


def tally_of(
    counts: Sequence[SeenTogether],
    looks: Mapping[int, Sequence[Observation]],
    *,
    silent: Collection[int] = (),
    misjudged: float = MISJUDGED,
    curves: Curves = CURVES,
    dearest: float = DEAREST,
) -> tuple[GroupCount | None, int]:
    """All counts of a litter, oldest first, as one; and how many were too dear to weigh."""
    counted, left_out = count_of_litter(counts, looks, silent=silent, dearest=dearest)
    if counted is None:
        return None, left_out
    return tallies_under({0: counted}, misjudged=misjudged, curves=curves)[0], left_out
