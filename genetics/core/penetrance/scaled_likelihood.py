"""The chance of a row of looks, on its true scale.

`observation_likelihood` is made to a largest of 1, which is all that a posterior wants. What is to
come, and whether a look was misread, want the chance itself.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.penetrance.likelihood import log_chances_of_rows
from genetics.core.penetrance.observation import Observation, Seen, as_seen
from genetics.core.penetrance.onset_parameters import CURVES, Curves


def marginal_likelihood(
    looks: Sequence[Seen], *, misjudged: float, curves: Curves = CURVES
) -> NDArray[np.float64]:
    """Chance (3,) at each dose that looks at these ages find just these stages.

    Mix-ups of animals and what was noted beside the stage are left out. Raises ValueError as
    `log_chances_of_rows` does, for a rate that is not above 0 and below 1, and for looks whose
    chance cannot be told from none.
    """
    rows = [as_seen(looks)]
    chances: NDArray[np.float64] = chances_of_rows(rows, misjudged=misjudged, curves=curves)[0]
    return chances


def chances_of_rows(
    rows: Sequence[Sequence[Observation]], *, misjudged: float, curves: Curves = CURVES
) -> NDArray[np.float64]:
    """The same (n, 3) of the looks at each of many animals."""
    if not 0 < misjudged < 1:
        raise ValueError(f"a rate of misjudged looks lies between 0 and 1, and is not {misjudged}")
    logs = log_chances_of_rows(rows, misjudged=misjudged, curves=curves)
    chances: NDArray[np.float64] = np.exp(logs)
    if (chances.max(axis=1) == 0).any():
        raise ValueError("so many looks that contradict each other that their chance is lost")
    return chances
