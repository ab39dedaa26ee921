"""The chance of a row of looks, on its true scale.

`looks_likelihood` is made to a largest of 1, which is all that a posterior wants. What is to come,
and whether a look was misread, want the chance itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.evidence import looks_likelihood


def chance_of_looks(looks: Sequence[tuple[str, float]], *, misjudged: float) -> NDArray[np.float64]:
    """Chance (3,) at each dose that looks at these ages, in days, find just these stages.

    An animal of no dose never points, so there each look is right (1 - m) or one of three
    mistakes (m / 3) whatever its pace: that sets the scale of all three. Mix-ups of animals are
    left out. Raises ValueError as `looks_likelihood` does, and for a rate that is not above 0 and
    below 1.
    """
    if not 0 < misjudged < 1:
        raise ValueError(f"a rate of misjudged looks lies between 0 and 1, and is not {misjudged}")
    scaled = looks_likelihood(looks, misjudged=misjudged, mixed_up=0.0)
    if scaled[0] == 0:
        raise ValueError("so many looks against no dose that their chance cannot be told from none")
    right = sum(stage == "none" for stage, _ in looks)
    none = right * math.log(1 - misjudged) + (len(looks) - right) * math.log(misjudged / 3)
    chances: NDArray[np.float64] = scaled * math.exp(none - math.log(scaled[0]))
    return chances
