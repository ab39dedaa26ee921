"""A look at the points becomes a likelihood over dose that a breeder would agree with.

The ages are common practice, no source: born unmarked, three to five months to full points, two
doses much sooner, the smut spread across the face.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.evidence import STAGES, founder_shares, look_likelihood, looks_likelihood

looks = st.tuples(st.sampled_from(STAGES), st.integers(0, 2000))


def favours(likelihood):
    """The dose, and how many times likelier the look is with it than with the next best."""
    second, best = np.sort(likelihood)[1:]
    return int(likelihood.argmax()), best / second


def test_it_works():
    assert favours(look_likelihood("none", 300))[0] == 0
    assert favours(look_likelihood("full", 150))[0] == 1
    assert favours(look_likelihood("overmarked", 56))[0] == 2


@pytest.mark.parametrize("age_days", [0, 3, 9])
def test_an_unmarked_newborn_says_nearly_nothing(age_days):
    likelihood = look_likelihood("none", age_days)
    assert likelihood.max() / likelihood.min() < 1.01


def test_an_unmarked_pup_of_three_weeks_says_little():
    likelihood = look_likelihood("none", 21)
    assert likelihood[0] / likelihood[1] < 1.1
    assert likelihood[0] / likelihood[2] < 1.6


def test_an_unmarked_adult_is_a_self():
    dose, times = favours(look_likelihood("none", 240))
    assert dose == 0
    assert times > 100


def test_overmarked_at_eight_weeks_is_two_doses():
    dose, times = favours(look_likelihood("overmarked", 56))
    assert dose == 2
    assert times > 100


@settings(deadline=None)
@given(st.integers(0, 400))
def test_the_longer_unmarked_the_likelier_a_self(age_days):
    young, older = look_likelihood("none", age_days), look_likelihood("none", age_days + 20)
    assert older[0] / older[1] >= young[0] / young[1] * (1 - 1e-12)
    assert older[0] / older[2] >= young[0] / young[2] * (1 - 1e-12)


def test_points_that_come_early_are_two_doses_and_late_one():
    assert favours(look_likelihood("coming", 14))[0] == 2
    assert favours(look_likelihood("coming", 90))[0] == 1


@settings(deadline=None)
@given(st.lists(looks, min_size=1, max_size=8))
def test_no_row_of_looks_rules_a_dose_out_or_outweighs_a_mixed_up_animal(seen):
    likelihood = looks_likelihood(seen, mixed_up=0.002)
    assert (likelihood > 0).all()
    assert likelihood.max() / likelihood.min() <= (3 * (1 - 0.002) / 0.002 + 1) * (1 + 1e-9)


@settings(deadline=None)
@given(st.lists(looks, max_size=6), st.randoms())
def test_the_order_of_looks_is_irrelevant(seen, chance):
    shuffled = chance.sample(seen, len(seen))
    assert looks_likelihood(shuffled) == pytest.approx(looks_likelihood(seen), rel=1e-12)


def test_several_looks_at_a_late_animal_are_not_several_animals():
    days = (28, 35, 42, 49)
    together = looks_likelihood([("none", day) for day in days])
    multiplied = np.prod([look_likelihood("none", day) for day in days], axis=0)
    last = look_likelihood("none", 49)
    assert multiplied[1] / multiplied[0] < together[1] / together[0]
    # having been unmarked earlier adds nothing to being unmarked now, but for mistakes
    assert together[1] / together[0] == pytest.approx(last[1] / last[0], rel=0.05)


def test_looks_agree_with_a_count_of_simulated_animals():
    # the same model by sampling: one pace an animal, each look misread 1 in 10 times
    chance = np.random.default_rng(8)
    pace = chance.standard_normal(1_000_000)
    onset, full = 42 * np.exp(0.40 * pace), 120 * np.exp(0.16 * pace)
    marked, plain = np.ones((2, len(pace)), dtype=bool)
    for age, wanted in ((35, 0), (60, 1), (130, 2)):
        misread = chance.random(len(pace)) < 0.1
        slip = chance.integers(1, 4, len(pace))
        stage = (age >= onset).astype(int) + (age >= full)
        marked &= np.where(misread, (stage + slip) % 4, stage) == wanted
        plain &= np.where(misread, slip, 0) == wanted
    looks = [("none", 35), ("coming", 60), ("full", 130)]
    reckoned = looks_likelihood(looks, misjudged=0.1, mixed_up=0)
    # about 1000 of the selfs are so misread: five standard errors are 16 per cent
    assert reckoned[0] / reckoned[1] == pytest.approx(plain.sum() / marked.sum(), rel=0.16)


def test_one_look_by_hand():
    # points of one dose not yet come at 49 days: 1 - Phi(ln(49 / 42) / 0.40), misread 1 in 100
    late = 0.5 * math.erfc(math.log(49 / 42) / 0.40 / math.sqrt(2))
    expected = (0.99 * late + 0.01 / 3 * (1 - late)) / 0.99
    likelihood = looks_likelihood([("none", 49)], mixed_up=0)
    assert likelihood[1] == pytest.approx(expected, rel=1e-12)


def test_hundreds_of_looks_that_disagree_are_not_lost():
    likelihood = looks_likelihood([("none", 400), ("overmarked", 400)] * 300)
    mixed = 0.002 * 2 / 3  # a self and an overmarked animal alike, one dose only by a mix-up
    assert likelihood == pytest.approx([1, mixed / (0.998 + mixed), 1], rel=1e-6)


def test_without_mistakes_it_is_plain():
    assert looks_likelihood([("none", 9000)], misjudged=0, mixed_up=0)[0] == 1
    assert looks_likelihood([("none", 9000)], misjudged=0, mixed_up=0)[1:].max() < 1e-30
    assert looks_likelihood([("full", 0)] * 2, misjudged=0.1, mixed_up=0).tolist() == [1, 1, 1]
    assert looks_likelihood([]).tolist() == [1, 1, 1]
    with pytest.raises(ValueError, match="no dose explains"):
        looks_likelihood([("full", 0)], misjudged=0)


@pytest.mark.parametrize(
    ("look", "words"),
    [(("smutty", 30), "stage 'smutty'"), (("none", -1), "-1"), (("none", float("nan")), "nan")],
)
def test_it_refuses_a_look_that_cannot_be(look, words):
    with pytest.raises(ValueError, match=words):
        look_likelihood(*look)


def test_it_refuses_a_rate_that_cannot_be():
    with pytest.raises(ValueError, match="0 to 1"):
        look_likelihood("none", 3, misjudged=2)


def test_founders_have_shares_by_what_they_were_bought_as():
    for dose, bought_as in enumerate(("self", "marked", "overmarked")):
        shares = founder_shares(bought_as)
        assert shares.sum() == pytest.approx(1)
        assert shares.argmax() == dose
    assert np.isnan(founder_shares("unknown")).all()
    with pytest.raises(ValueError, match="spotted"):
        founder_shares("spotted")
