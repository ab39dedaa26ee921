"""A fit finds the truth of a simulated herd as often as its standard errors say.

Seeded, so it passes or fails once for all. The prior is weak and wrong on purpose: with the one
that the book uses, being right is no merit of the fit.
"""

from dataclasses import replace

import numpy as np
import pytest

from genetics.core.estimation.ecm import Prior, fit
from genetics.core.penetrance.onset_parameters import CURVES

from .herd import GROWN, REACHED, Habits, make_herd
from .not_told_apart import counted_until
from .reckoned import ERRORS, as_pedigree

pytestmark = pytest.mark.slow

HERDS = 10  # for two workers: each herd is a fit of seconds
FREQUENCY = 0.4
AGES = np.array([age for dose in (1, 2) for _, age, _ in REACHED[dose]])
SPREADS = np.array([spread for dose in (1, 2) for *_, spread in REACHED[dose]])
LATE = CURVES.with_ages(1.15 * AGES, "too late", 1.25 * SPREADS)
WRONG = Prior(frequency=0.25, genes=2, curves=LATE, animals=1)


LOOKED_AT = Habits(
    animals=80, frequency=FREQUENCY, looks=(21, 28, 35, 42, 49, 56, 70, 90, 105, 120, 135, 150)
)
# Until ten weeks nobody told the pups of half the litters apart.
COUNTED = Habits(
    animals=80, frequency=FREQUENCY, looks=(28, 42, 56, 84, 105, 126, 150), looked_at=0.7
)


def fitted(herd, share, random, until=70):
    looks, counted = counted_until(herd, until, share, random)
    return fit(as_pedigree(herd), looks, errors=ERRORS, counted=counted, prior=WRONG)


def off_the_truth(habits, share):
    """How far each parameter of each herd is off the truth, in its own standard errors."""
    random = np.random.default_rng(17)
    rows = []
    for _ in range(HERDS):
        found = fitted(make_herd(habits, random), share, random)
        days, spreads = np.array([one[2:4] for one in found.parameters.curves.milestones]).T
        ages = np.log(days / AGES) * days / np.array(found.median_errors)
        wider = np.log(spreads / SPREADS) / np.array(found.spread_errors)
        commoner = (found.parameters.frequency - FREQUENCY) / found.frequency_error
        rows.append([commoner, *ages, *wider])
    return np.array(rows)


@pytest.mark.parametrize(("habits", "share"), [(LOOKED_AT, 0.0), (COUNTED, 0.5)])
def test_it_works(habits, share):
    """By a normal distribution 95 in 100 lie within two standard errors, and 68 within one; all but
    one of the parameters are drawn upwards by the prior. A parameter without a standard error, as
    where one animal alone has two doses, is not found."""
    off = off_the_truth(habits, share)
    assert (np.abs(off) < 2).mean() > 0.88
    assert 0.5 < (np.abs(off) < 1).mean() < 0.85, "nor are errors overdone"
    assert (np.abs(off) < 2).mean(axis=0).min() >= 0.6, "each parameter is found"


def test_counts_alone_move_a_fit_as_names_would():
    habits = replace(
        LOOKED_AT, animals=60, looks=(28, 56, 105, 150), looked_at=0.8, founders_looked_at=0.0
    )
    random = np.random.default_rng(5)
    herd = make_herd(habits, random)
    by_name, together = (fitted(herd, share, random, until=GROWN) for share in (0.0, 1.0))
    assert not any(counted_until(herd, GROWN, 1.0, random)[0])

    def told(found):
        ages = np.array([one[2:4] for one in found.parameters.curves.milestones[:2]])
        return np.log([found.parameters.frequency, *ages.ravel()])

    moved = told(by_name) - told(WRONG)
    assert (np.abs(moved) > 0.1).all()
    assert ((told(together) - told(WRONG)) / moved > 0.5).all()
