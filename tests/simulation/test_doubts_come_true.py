"""Records that are called doubtful are wrong as often as they are said to be."""

import numpy as np
import pytest

from .herd import Habits
from .reckoned import doubted

pytestmark = pytest.mark.slow

ROOM = 4
HERDS = 40
OFTEN = (21, 35, 42, 49, 56, 63, 90, 120, 150, 200)


@pytest.fixture(scope="module")
def told():
    # A sire in ten is wrong, and the calculation knows it: at one in a hundred too few would be.
    habits = Habits(animals=40, looked_at=0.8, wrong_sires=0.1)
    return doubted(habits, HERDS, seed=11, errors=0.1)


def gap(rows):
    """How many more were wrong than was said, and its standard error, herd by herd."""
    apart = np.bincount(rows[:, 3].astype(int), weights=rows[:, 2] - rows[:, 1], minlength=HERDS)
    return apart.sum(), np.sqrt((apart**2).sum())


@pytest.mark.parametrize("sire", [True, False])
@pytest.mark.parametrize(("low", "high"), [(0, 0.1), (0.1, 0.6), (0.6, 1.01)])
def test_it_works(told, sire, low, high):
    rows = told[(told[:, 0] == sire) & (told[:, 1] >= low) & (told[:, 1] < high)]
    assert len(rows) >= 10
    more, error = gap(rows)
    assert abs(more) < ROOM * max(error, 0.5)


def test_the_doubtful_are_wrong_far_more_often_than_the_rest(told):
    looks = told[told[:, 0] == 0]
    doubtful = looks[:, 1] > 0.5
    assert looks[doubtful, 2].mean() > 0.6
    assert looks[~doubtful, 2].mean() < 0.02


def test_ordinary_animals_are_not_accused():
    """Looked at ten times, with milestones that are looser, or stricter, than is expected."""
    for looser in ({"noise": 0.5, "own": 0.0}, {"own": 0.0}):
        rows = doubted(Habits(animals=60, looks=OFTEN, looked_at=1.0, **looser), 12, seed=11)
        looks = rows[rows[:, 0] == 0]
        accused = looks[:, 1] > 0.5
        assert looks[accused, 2].mean() > 0.8
        # and slips are found all the same
        assert looks[accused, 2].sum() > 0.7 * looks[:, 2].sum()
