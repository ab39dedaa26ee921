"""What a look at the points says about the dose.

Points come in as curves in time, by the milestones of `onset_parameters`: at a given dose and age
an animal has reached a stage or not. All the looks at one animal are weighed together, at each
pace that it may have, and not multiplied as if they were several animals.

Hair keeps the warmth that it grew in: what an animal shows after hot or cold weeks is not always
the stage that it has reached. `SHIFTS` says how often, as a table of the stage reached against
the stage shown for each warmth; where nobody noted the warmth, the tables are mixed by the share
of such weeks in a year. A self shows nothing in any weather. Looks of one warmth within
`SPELL_DAYS` are one spell, and what the weather did to the animal is the same at each of them, but
for a look in so many that has turned.

Every figure in the tables and rates below is common practice, no source, put into numbers by us:
breeders say that pups are born with no points, that points take three to five months to come
fully, that two doses point much sooner and that the smut then spreads across the face, that heat
pales points and cold darkens them. No laboratory has measured these ages and shares; a herd's own
book should replace them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.penetrance.observation import STAGES, WARMTHS, Observation, Seen, as_seen
from genetics.core.penetrance.onset_likelihood import LookTable, TemperatureModel
from genetics.core.penetrance.onset_parameters import CURVES, Curves
from genetics.core.penetrance.pattern_details import details_likelihood

Likelihood = NDArray[np.float64]


class Shift(NamedTuple):
    """How often an animal that has reached one stage shows another, after weeks of a warmth."""

    warmth: str
    reached: str
    shown: str
    chance: float
    standing: str


SHIFTS = (
    Shift("hot", "coming", "none", 0.30, "common practice, no source: heat pales what is coming"),
    Shift("hot", "full", "coming", 0.40, "common practice, no source: heat pales full points"),
    Shift("hot", "full", "none", 0.05, "common practice, no source: seldom to nothing"),
    Shift("hot", "overmarked", "full", 0.30, "common practice, no source: heat clears the face"),
    Shift("hot", "overmarked", "coming", 0.10, "common practice, no source: as full points do"),
    Shift("hot", "overmarked", "none", 0.01, "common practice, no source: hardly ever to nothing"),
    Shift("cold", "coming", "full", 0.15, "common practice, no source: cold darkens"),
    Shift(
        "cold", "full", "overmarked", 0.06, "common practice, no source: one dose looks like two"
    ),
)
# After cold weeks points begin to come a little sooner: as at an age so many times its own.
AHEAD = {"cold": 1.10, "mild": 1.0, "hot": 1.0}  # common practice, no source
# Looks of one warmth so near to the first of them are of one spell, and see the same hair: what
# the weather did to it is drawn once for all of them.
SPELL_DAYS = 28  # common practice, no source: hair that shows now grew in the weeks before
# How often a look sees otherwise than the rest of its spell, by what is noted of the warmth: the
# hair has grown on, or the weather turned. Common practice, no source.
TURNS = {"cold": 0.1, "mild": 0.1, "hot": 0.1, "": 0.25}
# The share of looks after such weeks, where nobody noted the warmth.
WEEKS = {"cold": 0.25, "mild": 0.63, "hot": 0.12}  # common practice, no source

MISJUDGED = 0.01  # common practice, no source: one look in a hundred is written down wrong
MIXED_UP = 0.002  # common practice, no source: the animal looked at was another one altogether

BOUGHT_AS = {  # shares of 0, 1, 2 doses; common practice, no source
    "self": (0.96, 0.03, 0.01),
    "marked": (0.02, 0.90, 0.08),
    "overmarked": (0.005, 0.045, 0.95),
}


def observation_likelihood(
    looks: Iterable[Seen],
    *,
    misjudged: float = MISJUDGED,
    mixed_up: float = MIXED_UP,
    curves: Curves = CURVES,
) -> Likelihood:
    """Likelihood of all that was seen at the checks of one animal.

    With L(d) that of the stages, by `log_chances_of_rows`, times that of what else was noted, by
    `details_likelihood`, and x = `mixed_up`, it is

        (1 - x) L(d) + x mean over d of L(d):

    however often a wrong animal is looked at, it is one mistake.

    Parameters
    ----------
    looks : iterable of Observation, or of (stage, age in days)
        None at all says nothing.
    misjudged : float
        How often a stage is misread.
    mixed_up : float
        How often the checks are of another animal.
    curves : Curves
        The ages at which points come in, at each dose.

    Returns
    -------
    array (3,)
        At dose 0, 1 and 2; the largest is 1.

    Raises
    ------
    ValueError
        For a stage, an age or a rate that cannot be, and where no dose explains the checks, which
        can be only if no mistakes are allowed for.

    Notes
    -----
    The curves are common practice, no source: see `onset_parameters`.
    """
    rows = [as_seen(looks)]
    scaled: Likelihood = likelihood_of_rows(
        rows, misjudged=misjudged, mixed_up=mixed_up, curves=curves
    )[0]
    return scaled


def likelihood_of_rows(
    rows: Sequence[Sequence[Observation]],
    *,
    misjudged: float = MISJUDGED,
    mixed_up: float = MIXED_UP,
    curves: Curves = CURVES,
) -> Likelihood:
    """The same (n, 3) of the looks at each of many animals."""
    if not 0 <= mixed_up <= 1:
        raise ValueError("rates of mistakes lie from 0 to 1")
    logs = log_chances_of_rows(rows, misjudged=misjudged, curves=curves)
    logs += np.log([details_likelihood(row) for row in rows]).reshape(-1, 3)
    largest = logs.max(axis=1, keepdims=True)
    if (largest == -np.inf).any():
        raise ValueError("no dose explains these looks, if none is a mistake")
    likelihood = np.exp(logs - largest)
    likelihood = (1 - mixed_up) * likelihood + mixed_up * likelihood.mean(axis=1, keepdims=True)
    scaled: Likelihood = likelihood / likelihood.max(axis=1, keepdims=True)
    return scaled


def log_chances_of_rows(
    rows: Sequence[Sequence[Observation]], *, misjudged: float, curves: Curves = CURVES
) -> Likelihood:
    """Logarithm (n, 3) of the chance at each dose of the stages seen at the checks of each animal.

    By the formula of `onset_likelihood`, with m = `misjudged`, each look misread evenly as one
    of the other three stages, and the weather drawn once for each spell. Raises ValueError for a
    rate that cannot be.
    """
    if not 0 <= misjudged <= 1:
        raise ValueError("rates of mistakes lie from 0 to 1")
    table = look_table(rows)
    return np.column_stack([table.log_chances(dose, curves, misjudged) for dose in range(3)])


def look_table(looks: Sequence[Sequence[Observation]]) -> LookTable:
    """The looks at each of many animals, to be weighed with the weather of the tables here."""
    return LookTable(looks, _weather())


@cache
def _weather() -> TemperatureModel:
    shown = np.array([shown_by(warmth) for warmth in WARMTHS])
    return TemperatureModel(WEEKS, AHEAD, shown, SPELL_DAYS, TURNS)


def founder_shares(bought_as: str) -> Likelihood:
    """Prior shares (3,) of doses for a founder bought as 'self', 'marked' or 'overmarked'.

    'unknown' gives NaN, which `dose_posterior` reads as Hardy-Weinberg at the herd's frequency. The
    look that it was bought on is in these shares and is not to be counted again.
    """
    if bought_as == "unknown":
        return np.full(3, np.nan)
    if bought_as not in BOUGHT_AS:
        raise ValueError(f"bought as {bought_as!r} is not one of {[*BOUGHT_AS, 'unknown']}")
    return np.array(BOUGHT_AS[bought_as])


@cache
def shown_by(warmth: str) -> Likelihood:
    """Chance (4, 4) of each stage shown (columns) at each stage reached (rows), after such
    weeks."""
    table = np.eye(len(STAGES))
    for shift in SHIFTS:
        if shift.warmth == warmth:
            row = _number(shift.reached)
            table[row, _number(shift.shown)] += shift.chance
            table[row, row] -= shift.chance
    table.flags.writeable = False
    return table


def _number(stage: str) -> int:
    return STAGES.index(stage)
