"""What litters of many pairs will hold, against the joint chance of each pair alone."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.inheritance.litter_distribution import litter_forecast
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.dose import InconsistentEvidenceError, dose_posterior, joint_doses
from genetics.core.posterior.pair_forecast import forecast_pairs
from tests.genetics.core.small_pedigrees import evidence, pedigrees

RATES = {"frequency": 0.3, "errors": 0.01}


def one_by_one(pedigree, likelihood, first, second):
    """The slow definition: each pair's joint chance through Mendel's table."""
    return np.array(
        [
            [
                litter_forecast(joint_doses(pedigree, likelihood, one, **RATES)[other])
                for other in second
            ]
            for one in first
        ]
    )


@pytest.mark.slow
@given(data=st.data())
def test_it_is_each_pairs_joint_chance_where_all_are_held(data):
    pedigree = data.draw(pedigrees(most=8))
    likelihood = data.draw(evidence(len(pedigree)))
    try:
        chances = dose_posterior(pedigree, likelihood, **RATES).chances
    except InconsistentEvidenceError:
        return
    half = len(pedigree) // 2
    first, second = range(half), range(half, len(pedigree))
    found = forecast_pairs(pedigree, likelihood, first, second, chances, tolerance=0, **RATES)
    wanted = one_by_one(pedigree, likelihood, first, second)
    assert found.forecast == pytest.approx(wanted, abs=1e-9)
    assert not found.bound.any()


@pytest.mark.slow
@given(data=st.data(), tolerance=st.sampled_from([0.005, 0.05, 1.0]))
def test_what_is_off_lies_within_the_bound(data, tolerance):
    pedigree = data.draw(pedigrees(most=8))
    likelihood = data.draw(evidence(len(pedigree)))
    try:
        chances = dose_posterior(pedigree, likelihood, **RATES).chances
    except InconsistentEvidenceError:
        return
    half = len(pedigree) // 2
    first, second = range(half), range(half, len(pedigree))
    found = forecast_pairs(
        pedigree, likelihood, first, second, chances, tolerance=tolerance, **RATES
    )
    off = np.abs(found.forecast - one_by_one(pedigree, likelihood, first, second))
    assert (off[..., 1] <= found.bound + 1e-9).all()
    assert (off[..., 0] <= found.bound / 2 + 1e-9).all()
    assert (found.bound <= tolerance).all()
    assert found.forecast.sum(axis=2) == pytest.approx(1, abs=1e-12)


def sibs_and_a_stranger():
    """Animals 2 and 3 are sibs by 0 out of 1, 4 is nobody's; of none is anything seen."""
    pedigree = Pedigree.from_parents("abcde", [-1, -1, 0, 0, -1], [-1, -1, 1, 1, -1])
    likelihood = np.ones((5, 3))
    return pedigree, likelihood, dose_posterior(pedigree, likelihood, **RATES).chances


def test_strangers_cost_no_calculation():
    pedigree, likelihood, chances = sibs_and_a_stranger()
    found = forecast_pairs(pedigree, likelihood, [4], [0, 1, 2, 3], chances, **RATES)
    assert found.held == 0
    assert not found.bound.any()


def test_one_animal_held_settles_all_its_pairs():
    pedigree, likelihood, chances = sibs_and_a_stranger()
    found = forecast_pairs(pedigree, likelihood, [2], [0, 1, 3, 4], chances, **RATES)
    assert found.held == 1
    assert not found.bound.any()


def test_where_no_more_may_be_held_the_bound_says_so():
    pedigree, likelihood, chances = sibs_and_a_stranger()
    found = forecast_pairs(pedigree, likelihood, [2], [3, 4], chances, most_held=0, **RATES)
    assert found.held == 0
    assert found.bound[0, 0] > 0.05
    assert found.bound[0, 1] == 0


def test_a_family_too_tangled_to_be_held_keeps_its_bound():
    pedigree, likelihood, chances = sibs_and_a_stranger()
    found = forecast_pairs(pedigree, likelihood, [2], [3, 4], chances, budget=1, **RATES)
    assert found.held == 1
    assert not np.isnan(found.forecast).any()
    assert found.bound[0, 0] > 0.05


def test_a_parent_without_a_figure_has_no_forecast():
    pedigree, likelihood, chances = sibs_and_a_stranger()
    chances = chances.copy()
    chances[4] = np.nan
    found = forecast_pairs(pedigree, likelihood, [2], [3, 4], chances, **RATES)
    assert np.isnan(found.forecast[0, 1]).all()
    assert not np.isnan(found.forecast[0, 0]).any()
