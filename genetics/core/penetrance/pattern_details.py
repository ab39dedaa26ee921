"""What was noted beside the stage: how dense each place is, how far the smut spreads, stain.

Details only refine. They are weighed given the stage that was written, for one dose against two:
of a self that is said to show points they tell nothing, nor does any detail of a look that found
none. Bare skin is no evidence at all: pads may be dark at birth on a self. A place that white
covers is left out.

The places of an animal go together, so the smut speaks for the ears too and the hind feet for the
fore feet, unless they were not seen; and with a chance of `ASTRAY` the details of a look say
nothing of the dose, so that all of them together never outweigh (2 - a) / a to one: seven to one
after mild weeks, three to one after hot or cold. Looks again at one face are one face: several
looks speak as their geometric mean.

Every figure here is common practice, no source, put into numbers by us: breeders say that the
feet clear last, that with two doses they come along with the rest and the smut spreads over the
face, and that stain goes with it, but less surely.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.penetrance.observation import DENSITIES, SPREADS, STAINS, Observation

Likelihood = NDArray[np.float64]


class Noted(NamedTuple):
    """Shares of animals of one dose and of two, written down at a stage, that show each word."""

    detail: str
    stage: str
    one_dose: tuple[float, ...]
    two_doses: tuple[float, ...]
    standing: str


NOTED = (
    # nose, cheeks, eyes, face
    Noted(
        "spread",
        "coming",
        (0.90, 0.08, 0.015, 0.005),
        (0.55, 0.33, 0.09, 0.03),
        "common practice, no source: two doses spread early",
    ),
    Noted(
        "spread",
        "full",
        (0.80, 0.17, 0.02, 0.01),
        (0.30, 0.40, 0.20, 0.10),
        "common practice, no source: one dose keeps to the nose",
    ),
    Noted(
        "spread",
        "overmarked",
        (0.25, 0.45, 0.20, 0.10),
        (0.05, 0.20, 0.35, 0.40),
        "common practice, no source: two doses go over the face",
    ),
    # clean, light, heavy
    Noted(
        "stain",
        "coming",
        (0.92, 0.07, 0.01),
        (0.85, 0.12, 0.03),
        "common practice, no source: stain speaks mildly for two doses",
    ),
    Noted(
        "stain",
        "full",
        (0.85, 0.13, 0.02),
        (0.65, 0.27, 0.08),
        "common practice, no source: stain speaks mildly for two doses",
    ),
    Noted(
        "stain",
        "overmarked",
        (0.55, 0.35, 0.10),
        (0.35, 0.40, 0.25),
        "common practice, no source: stain speaks mildly for two doses",
    ),
    # none, faint, coming, dense
    Noted(
        "front",
        "coming",
        (0.05, 0.25, 0.40, 0.30),
        (0.03, 0.17, 0.35, 0.45),
        "common practice, no source: smut and ears lead at either dose",
    ),
    Noted(
        "front",
        "full",
        (0.01, 0.02, 0.12, 0.85),
        (0.01, 0.01, 0.05, 0.93),
        "common practice, no source: smut and ears lead at either dose",
    ),
    Noted(
        "feet",
        "coming",
        (0.40, 0.30, 0.25, 0.05),
        (0.15, 0.25, 0.40, 0.20),
        "common practice, no source: feet clear last, with two doses sooner",
    ),
    Noted(
        "feet",
        "full",
        (0.03, 0.07, 0.25, 0.65),
        (0.01, 0.04, 0.15, 0.80),
        "common practice, no source: feet clear last, with two doses sooner",
    ),
)
# How often details say nothing of the dose, by the warmth of the weeks before; common practice,
# no source.
ASTRAY = {"cold": 0.5, "mild": 0.25, "hot": 0.5, "": 0.3}

_WORDS = {"spread": SPREADS, "stain": STAINS, "front": DENSITIES, "feet": DENSITIES}
_LINES = {(line.detail, line.stage): line for line in NOTED}


def details_likelihood(looks: Iterable[Observation]) -> Likelihood:
    """Likelihood (3,) of all details at each dose, given the stages; ones where nothing tells.

    With p1 and p2 the products of the shares in `NOTED` at one dose and at two, P = (p1 + p2) / 2
    and a = `ASTRAY`, one look's are P, (1 - a) p1 + a P and (1 - a) p2 + a P: over all that may be
    noted of the same details they sum to one at each dose.
    """
    rows = [row for look in looks if (row := _of_one_look(look)) is not None]
    if not rows:
        return np.ones(3)
    mean: Likelihood = np.exp(np.log(rows).mean(axis=0))
    return mean


def _of_one_look(look: Observation) -> Likelihood | None:
    shares = [
        (line.one_dose[place], line.two_doses[place])
        for detail, word in _told(look).items()
        if (line := _LINES.get((detail, look.stage))) is not None and word in _WORDS[detail]
        for place in [_WORDS[detail].index(word)]
    ]
    if not shares:
        return None
    one, two = np.prod(shares, axis=0)
    either, astray = (one + two) / 2, ASTRAY[look.warmth]
    return np.array(
        [either, (1 - astray) * one + astray * either, (1 - astray) * two + astray * either]
    )


def _told(look: Observation) -> dict[str, str]:
    """The details that speak, each for those that go with it."""
    return {
        "spread": look.spread,
        "stain": look.stain,
        "front": look.smut if look.smut in DENSITIES else look.ears,
        "feet": look.hind_feet if look.hind_feet in DENSITIES else look.fore_feet,
    }
