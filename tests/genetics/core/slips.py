"""The slow definition of what looks at one animal say, and of which of them is misread."""

from itertools import pairwise
from math import log
from statistics import NormalDist

import numpy as np

from genetics.core.curves import MILESTONES
from genetics.core.details import details_likelihood
from genetics.core.evidence import shown_by
from genetics.core.seen import STAGES


def chance_and_slips(dose, looks, misjudged):
    """The chance of all these looks at an animal of a dose, summed over its paces, and of it the
    part (k,) in which each of them was misread."""
    edges = sorted({reached(m, look.age_days) for m in MILESTONES for look in looks})
    below = [0.0, *map(NormalDist().cdf, edges), 1.0]
    paces = [edges[0] - 1, *((a + b) / 2 for a, b in pairwise(edges)), edges[-1] + 1]
    whole, slips = 0.0, np.zeros(len(looks))
    for cell, pace in enumerate(paces):
        shown = np.array(
            [
                shown_by(look.warmth)[stage_at(dose, look.age_days, pace), STAGES.index(look.stage)]
                for look in looks
            ]
        )
        read, slipped = shown * (1 - misjudged), (1 - shown) * misjudged / 3
        chance = details_likelihood(looks)[dose] * np.prod(read + slipped)
        chance *= below[cell + 1] - below[cell]
        whole += chance
        slips += chance * slipped / (read + slipped)
    return whole, slips


def reached(milestone, age):
    """The pace from which on an animal has not reached it by an age: slow is high."""
    return log(age / milestone.median_days) / milestone.spread


def stage_at(dose, age, pace):
    return max(
        (STAGES.index(m.stage) for m in MILESTONES if m.dose == dose and pace <= reached(m, age)),
        default=0,
    )
