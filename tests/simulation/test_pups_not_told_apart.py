"""Herds whose keeper mixes littermates up or counts them together: what is said still comes true.

Seeded, so it passes or fails once for all; the bounds are four standard errors, herd by herd.
"""

import numpy as np
import pytest

from genetics.core.estimation.calibration import brier

from .not_told_apart import counted_together, doubted, taken_for_each_other
from .test_calibration import ROOM, faults

pytestmark = pytest.mark.slow


def test_it_works():
    """Half the litters were counted together: the chances are less sharp, and still right."""
    counted, by_name, forgotten = counted_together(120, seed=21)
    assert faults(counted) == []
    score, hoped, error = brier(counted)
    assert abs(score - hoped) < ROOM * error
    # A count says less than names would, and more than nothing.
    assert brier(by_name)[0] < score < brier(forgotten)[0]


def test_pups_taken_for_each_other_are_allowed_for():
    allowed, believed = taken_for_each_other(80, seed=12)
    assert faults(allowed) == []
    score, hoped, error = brier(allowed)
    assert abs(score - hoped) < ROOM * error
    # Who believes every name says more than is true.
    overdone, promised, error = brier(believed)
    assert overdone - promised > ROOM * error
    assert score < overdone


def test_mix_ups_come_true_as_often_as_they_are_doubted_and_so_do_looks_beside_them():
    rows = doubted(120, seed=31)
    for mix_up, low, high in (
        (True, 0.0, 0.05),
        (True, 0.05, 0.3),
        (True, 0.3, 1.01),
        (False, 0.0, 0.1),
        (False, 0.1, 1.01),
    ):
        part = rows[(rows[:, 0] == mix_up) & (rows[:, 1] >= low) & (rows[:, 1] < high)]
        assert len(part) >= 30
        apart = np.bincount(part[:, 3].astype(int), weights=part[:, 2] - part[:, 1])
        assert abs(apart.sum()) < ROOM * np.sqrt((apart**2).sum())
