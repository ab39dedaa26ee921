"""What the next litter will hold, with littermates that share their parents."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.inheritance.litter_distribution import at_least, litter_counts, litter_forecast
from genetics.core.inheritance.mendel import transmission
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.dose import dose_posterior, joint_dose

joints = (
    st.lists(st.integers(0, 9), min_size=9, max_size=9)
    .filter(any)
    .map(lambda cells: np.array(cells, float).reshape(3, 3) / sum(cells))
)


def certain(sire, dam):
    joint = np.zeros((3, 3))
    joint[sire, dam] = 1
    return joint


def test_it_works():
    # marked to marked: one self, two marked, one overmarked
    assert litter_forecast(certain(1, 1)).tolist() == [0.25, 0.5, 0.25]
    # overmarked to self: a litter all of one dose
    assert at_least(certain(2, 0), 4)[1].tolist() == [1, 1, 1, 1, 1]


def test_littermates_are_not_independent():
    # a boar of one dose or of two, evenly, to a self sow: all four marked 1/2 + 1/2 (1/2)^4
    joint = np.zeros((3, 3))
    joint[1:, 0] = 0.5
    assert litter_forecast(joint)[1] == 0.75
    assert litter_counts(joint, 4)[1, 4] == pytest.approx(17 / 32)


@settings(deadline=None)
@given(joints, st.integers(0, 3))
def test_counts_meet_their_definition(joint, size):
    expected = np.zeros((3, size + 1))
    for sire, dam in product(range(3), repeat=2):
        for litter in product(range(3), repeat=size):
            chance = joint[sire, dam] * np.prod([transmission()[sire, dam, pup] for pup in litter])
            for dose in range(3):
                expected[dose, litter.count(dose)] += chance
    assert litter_counts(joint, size) == pytest.approx(expected, abs=1e-14)
    tails = [[expected[dose, k:].sum() for k in range(size + 1)] for dose in range(3)]
    assert at_least(joint, size) == pytest.approx(np.array(tails), abs=1e-14)


def test_parents_that_share_a_sire_are_mixed_together():
    # brother and sister: their joint chance is not the product of theirs, and a pup that is
    # added to the pedigree without data has exactly what is forecast
    pedigree = Pedigree(
        tuple("abcde"), (Litter((2, 3), sires=(0,), dams=(1,)), Litter((4,), (2,), (), (3,)))
    )
    rows = np.ones((5, 3))
    rows[0] = (0.1, 1, 0.4)
    joint = joint_dose(pedigree, rows, (2, 3), frequency=0.3)
    chances = dose_posterior(pedigree, rows, frequency=0.3).chances
    assert np.abs(joint - np.outer(chances[2], chances[3])).max() > 0.01
    assert litter_forecast(joint) == pytest.approx(chances[4], abs=1e-14)


def test_what_is_unknown_stays_unknown():
    assert np.isnan(litter_forecast(np.full((3, 3), np.nan))).all()


def test_it_refuses_a_litter_of_less_than_none():
    with pytest.raises(ValueError, match="-1"):
        litter_counts(certain(0, 0), -1)
