"""A fit finds the truth of a simulated herd as often as its standard errors say.

Seeded, so it passes or fails once for all. The prior is weak and wrong on purpose: with the one
that the book uses, being right is no merit of the fit.
"""

import numpy as np
import pytest

from genetics.core.curves import CURVES
from genetics.core.fitting import Prior, fit

from .herd import REACHED, Habits, make_herd
from .reckoned import ERRORS, as_pedigree, as_seen

pytestmark = pytest.mark.slow

HERDS = 24
FREQUENCY = 0.4
AGES = np.array([age for dose in (1, 2) for _, age, _ in REACHED[dose]])
LATE = CURVES.with_medians([1.15 * one.median_days for one in CURVES.milestones], "too late")
WRONG = Prior(frequency=0.25, genes=2, curves=LATE, animals=1)


@pytest.fixture(scope="module")
def off():
    """How far each parameter of each herd is off the truth, in its own standard errors."""
    random = np.random.default_rng(17)
    rows = []
    for _ in range(HERDS):
        herd = make_herd(Habits(animals=80, frequency=FREQUENCY, looked_at=0.8), random)
        found = fit(as_pedigree(herd), as_seen(herd), errors=ERRORS, prior=WRONG)
        days = np.array([one.median_days for one in found.parameters.curves.milestones])
        ages = np.log(days / AGES) * days / np.array(found.median_errors)
        rows.append([(found.parameters.frequency - FREQUENCY) / found.frequency_error, *ages])
    return np.array(rows)


def test_it_works(off):
    # By a normal distribution 95 in 100 lie within two standard errors, and 68 within one; five
    # of six parameters are drawn upwards by the prior.
    assert (np.abs(off) < 2).mean() > 0.9
    assert 0.5 < (np.abs(off) < 1).mean() < 0.85


def test_each_parameter_is_found(off):
    assert (np.abs(off) < 2).mean(axis=0).min() > 0.8
    spread = off.std(axis=0)
    assert spread.min() > 0.5
    assert spread.max() < 1.5


def test_errors_are_not_overdone(off):
    # Were they twice as large as they should be, nearly all would lie within one.
    assert (np.abs(off) > 1).mean() > 0.15
