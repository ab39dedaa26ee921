"""Whether a family is tried exactly before its figures are approximate."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from genetics.core.peeling.problem import PosteriorProblem

Animals = Sequence[int] | NDArray[np.signedinteger]

EXACT_TRIED = 2_000  # animals of a family without hard evidence: it never falls apart
TAKEN_APART = 20_000  # animals of a family with some
LARGE = 1_000  # animals of a family; a smaller one is always tried exactly first


def is_large(family: Animals) -> bool:
    """Whether a family may be too large to be tried exactly at all."""
    return len(family) >= LARGE


def worth_an_exact_try(case: PosteriorProblem, family: Animals) -> bool:
    """Whether a large family may yet cost no more than the budget, or a part of it."""
    if case.budget < len(case.locus.pool) * len(family):
        return False  # a table for each animal, at the least
    hard = bool((case.evidence.by_animal[family] == 0).any())
    return len(family) <= (TAKEN_APART if hard else EXACT_TRIED)
