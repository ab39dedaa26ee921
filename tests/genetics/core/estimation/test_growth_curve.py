"""A growth curve from weighings, some of them odd."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from genetics.core.estimation.growth_curve import fit_growth

# Male guinea pigs, a published logistic: plateau 1421 g, 187 g at birth, inflexion at 65 days and
# 711 g (Tapie and others, Tropical and Subtropical Agroecosystems, article 5179, abstract).
GROWN_G, BIRTH_G, TURN_DAYS, TURN_G = 1421, 187, 65, 711
RATE = np.log(GROWN_G / BIRTH_G - 1) / TURN_DAYS

# NIST StRD, Rat43: the weight of a rat over fifteen days, with a certified plateau of the curve
# that it is given for (a Richards curve) of 699.64.
RAT = [
    16.08, 33.83, 65.80, 97.20, 191.55, 326.20, 386.87, 520.53,
    590.03, 651.92, 724.93, 699.56, 689.96, 637.56, 717.41,
]  # fmt: skip
RAT_GROWN = 699.64

AGES = np.linspace(0, 400, 60)


def logistic(ages, grown=GROWN_G, rate=RATE, turn=TURN_DAYS):
    return grown / (1 + np.exp(-rate * (ages - turn)))


def test_it_works():
    growth = fit_growth(AGES, logistic(AGES))
    assert growth.shape == "logistic"
    assert growth.grown_g == pytest.approx(GROWN_G, rel=1e-6)
    assert growth.turn_days == pytest.approx(TURN_DAYS, rel=1e-6)
    assert growth.usual_g(0) == pytest.approx(BIRTH_G, rel=1e-6)
    assert growth.usual_g(65) == pytest.approx(TURN_G, abs=1)
    assert growth.spread == pytest.approx(0, abs=1e-6)


def test_a_rats_plateau_is_near_the_certified_one():
    growth = fit_growth(np.arange(1, 16), RAT)
    assert growth.grown_g == pytest.approx(RAT_GROWN, rel=0.05)


def test_without_odd_weighings_it_is_least_squares_of_the_logarithm():
    # against scipy's curve_fit, where the noise is far below what counts as odd
    rng = np.random.default_rng(1)
    weights = logistic(AGES) * np.exp(rng.normal(0, 0.01, len(AGES)))
    wanted, _ = curve_fit(
        lambda t, *p: np.log(logistic(t, *p)), AGES, np.log(weights), (1000, 0.03, 60)
    )
    growth = fit_growth(AGES, weights)
    assert [growth.grown_g, growth.rate, growth.turn_days] == pytest.approx(wanted, rel=2e-3)


def test_odd_weighings_do_not_bend_it():
    rng = np.random.default_rng(2)
    ages = rng.uniform(20, 400, 200)
    weights = logistic(ages) * np.exp(rng.normal(0, 0.06, 200))
    weights[:20] *= 1.5  # sows in pig that nobody left out
    weights[20:24] /= 10  # slips of the pen
    growth = fit_growth(ages, weights)
    for age in (60, 120, 300):
        assert growth.usual_g(age) == pytest.approx(logistic(age), rel=0.04)
    assert growth.spread == pytest.approx(0.06, rel=0.4)


def test_one_in_twenty_lies_below_the_lightest():
    rng = np.random.default_rng(3)
    ages = rng.uniform(20, 400, 4000)
    weights = logistic(ages) * np.exp(rng.normal(0, 0.08, 4000))
    growth = fit_growth(ages, weights)
    below = [w < growth.weight_g(a, -1.645) for a, w in zip(ages, weights, strict=True)]
    assert np.mean(below) == pytest.approx(0.05, abs=0.012)


def test_a_gompertz_curve_is_told_from_a_logistic():
    growth = fit_growth(AGES, 1000 * np.exp(-np.exp(-0.02 * (AGES - 40))))
    assert growth.shape == "gompertz"
    assert growth.grown_g == pytest.approx(1000, rel=1e-5)


def test_it_says_nothing_of_ages_that_nobody_weighed():
    growth = fit_growth(AGES + 20, logistic(AGES + 20))
    assert np.isnan(growth.usual_g(19))
    assert np.isnan(growth.weight_g(421, -1))


@pytest.mark.parametrize(
    ("ages", "weights"),
    [
        ([1, 2, 3], [100, 110, 120]),
        ([1, 1, 2, 3], [100, 100, 110, 120]),
        ([1, 2, 3, 4], [100, 110, 120, 0]),
        ([1, 2, 3, np.nan], [100, 110, 120, 130]),
        ([1, 2, 3, -1], [100, 110, 120, 130]),
        ([1, 2, 3, 4], [100, 110, 120]),
    ],
)
def test_it_refuses_what_makes_no_curve(ages, weights):
    with pytest.raises(ValueError, match="weighing"):
        fit_growth(ages, weights)


@given(
    grown=st.floats(600, 1500),
    rate=st.floats(0.012, 0.05),
    turn=st.floats(20, 90),
    unit=st.floats(0.1, 10),
)
def test_a_curve_comes_back_whatever_its_size_and_the_unit(grown, rate, turn, unit):
    ages = np.arange(0, 500, 12.0)
    weights = logistic(ages, grown, rate, turn)
    growth, other = fit_growth(ages, weights), fit_growth(ages, weights * unit)
    assert growth.usual_g(120) == pytest.approx(logistic(120, grown, rate, turn), rel=1e-3)
    assert other.usual_g(120) == pytest.approx(unit * growth.usual_g(120), rel=1e-3)
