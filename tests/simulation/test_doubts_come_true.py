"""Records that are called doubtful are wrong as often as they are said to be."""

import numpy as np
import pytest

from genetics.core.doubt import doubts

from .herd import Habits, make_herd
from .reckoned import as_pedigree, as_seen, reckon

pytestmark = pytest.mark.slow

ROOM = 4
HERDS = 40


@pytest.fixture(scope="module")
def told():
    """Rows of (sire or look, chance, whether it was wrong, herd)."""
    random = np.random.default_rng(11)
    rows = []
    # A sire in ten is wrong, and the reckoning knows it: at one in a hundred too few would be.
    for number in range(HERDS):
        herd = make_herd(Habits(animals=40, looked_at=0.8, wrong_sires=0.1), random)
        dose = reckon(herd, errors=0.1)
        for kind, of, look, chance in doubts(as_pedigree(herd), dose, as_seen(herd)):
            wrong = herd.sire_wrong[of] if kind == "sire" else herd.misread[of][look]
            rows.append((kind == "sire", chance, wrong, number))
    return np.array(rows, float)


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
