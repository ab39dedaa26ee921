"""A look at the points becomes a likelihood over dose that a breeder would agree with.

The ages are common practice, no source: born unmarked, three to five months to full points, two
doses much sooner, the smut spread across the face.
"""

import math
from statistics import NormalDist, pstdev

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.penetrance import onset_parameters
from genetics.core.penetrance.likelihood import (
    SHIFTS,
    SPELL_DAYS,
    WEEKS,
    founder_shares,
    observation_likelihood,
    shown_by,
)
from genetics.core.penetrance.observation import STAGES, WARMTHS, Observation
from genetics.core.penetrance.onset_parameters import CURVES, OWN
from genetics.core.penetrance.scaled_likelihood import marginal_likelihood
from tests.genetics.core.chances import log_stage_chances, look_likelihood
from tests.genetics.core.slips import chance_and_slips

stages = st.sampled_from(STAGES)
warmths = st.sampled_from(["", *WARMTHS])
looks = st.builds(Observation, stages, st.integers(0, 2000), warmths)
looks_of_youth = st.builds(Observation, stages, st.integers(0, 160), warmths)


def mild(stage, age_days):
    return Observation(stage, age_days, "mild")


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
    dose, times = favours(look_likelihood("none", 240, "mild"))
    assert dose == 0
    assert times > 150
    dose, times = favours(look_likelihood("none", 240))
    assert dose == 0
    assert times > 80


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
    likelihood = observation_likelihood(seen, mixed_up=0.002)
    assert (likelihood > 0).all()
    assert likelihood.max() / likelihood.min() <= (3 * (1 - 0.002) / 0.002 + 1) * (1 + 1e-9)


@settings(deadline=None)
@given(st.lists(looks, max_size=6), st.randoms())
def test_the_order_of_looks_is_irrelevant(seen, chance):
    shuffled = chance.sample(seen, len(seen))
    assert observation_likelihood(shuffled) == pytest.approx(
        observation_likelihood(seen), rel=1e-12
    )


def test_several_looks_at_a_late_animal_are_not_several_animals():
    days = (28, 35, 42, 49)
    together = observation_likelihood([mild("none", day) for day in days])
    multiplied = np.prod([look_likelihood("none", day, "mild") for day in days], axis=0)
    last = look_likelihood("none", 49, "mild")
    assert multiplied[1] / multiplied[0] < together[1] / together[0]
    # having been unmarked earlier adds nothing to being unmarked now, but for mistakes
    assert together[1] / together[0] == pytest.approx(last[1] / last[0], rel=0.05)


# -------------------------------------------------------------------------------- the weather


def test_an_unmarked_adult_is_a_self_but_after_heat_that_is_less_sure():
    after = {warmth: look_likelihood("none", 300, warmth) for warmth in WARMTHS}
    assert all(favours(likelihood)[0] == 0 for likelihood in after.values())
    assert favours(after["mild"])[1] > 150
    assert favours(after["hot"])[1] < 20
    assert favours(after["hot"])[1] < favours(look_likelihood("none", 300))[1]


def test_a_pale_adult_after_heat_says_little_of_one_dose_or_two():
    # Still coming at five months: after mild weeks a late animal of one dose, and not of two.
    after = {warmth: look_likelihood("coming", 150, warmth) for warmth in ("mild", "hot")}
    assert after["mild"][1] / after["mild"][2] > 10
    assert after["hot"][1] / after["hot"][2] < 6
    # It shows points, so that it is no self.
    assert favours(np.delete(after["hot"], 2)[[0, 1, 0]])[0] == 1


def test_full_points_after_heat_may_be_two_doses_paled():
    after = {warmth: look_likelihood("full", 150, warmth) for warmth in ("mild", "hot")}
    assert after["mild"][1] / after["mild"][2] > 30
    assert after["hot"][1] / after["hot"][2] < 4


def test_overmarked_after_cold_may_be_one_dose():
    after = {warmth: look_likelihood("overmarked", 200, warmth) for warmth in ("mild", "cold")}
    assert after["mild"][2] / after["mild"][1] > 150
    assert 5 < after["cold"][2] / after["cold"][1] < 30


def test_a_pup_without_points_after_cold_is_a_self_the_sooner():
    cold, mild, hot = (look_likelihood("none", 56, warmth) for warmth in WARMTHS)
    assert cold[0] / cold[1] > mild[0] / mild[1] > hot[0] / hot[1] > 1


@pytest.mark.parametrize("warmth", WARMTHS)
@pytest.mark.parametrize("age_days", [0, 3, 9])
def test_no_weather_makes_an_unmarked_newborn_tell(warmth, age_days):
    likelihood = look_likelihood("none", age_days, warmth)
    assert likelihood.max() / likelihood.min() < 1.01


def test_the_tables_of_the_weather_are_shares():
    assert sum(WEEKS.values()) == pytest.approx(1)
    for warmth in WARMTHS:
        assert (shown_by(warmth) >= 0).all()
        np.testing.assert_allclose(shown_by(warmth).sum(axis=1), 1, rtol=1e-15)
        assert shown_by(warmth)[0].tolist() == [1, 0, 0, 0]  # a self shows nothing
    assert all(shift.standing for shift in SHIFTS)


@settings(deadline=None)
@given(st.lists(looks, max_size=3), st.integers(0, 600), warmths)
def test_the_chances_of_all_stages_that_may_be_written_add_up(before, days, warmth):
    age_days = days + max((look.age_days for look in before), default=0)
    after = sum(
        marginal_likelihood([*before, Observation(stage, age_days, warmth)], misjudged=0.02)
        for stage in STAGES
    )
    np.testing.assert_allclose(after, marginal_likelihood(before, misjudged=0.02), rtol=1e-9)


@settings(deadline=None)
@given(stages, st.integers(0, 600))
def test_weather_that_nobody_noted_is_a_share_of_each(stage, age_days):
    mixed = sum(
        WEEKS[warmth] * marginal_likelihood([Observation(stage, age_days, warmth)], misjudged=0.02)
        for warmth in WARMTHS
    )
    unknown = marginal_likelihood([(stage, age_days)], misjudged=0.02)
    np.testing.assert_allclose(unknown, mixed, rtol=1e-12)


@pytest.mark.slow
@settings(deadline=None, max_examples=60)
@given(st.lists(looks_of_youth, min_size=1, max_size=5), st.sampled_from([0.0, 0.1]))
def test_looks_in_any_weather_agree_with_a_sum_over_paces_and_shifts(seen, misjudged):
    for dose in range(3):
        expected, _ = chance_and_slips(dose, seen, misjudged)
        log = log_stage_chances(seen, misjudged=misjudged)[dose]
        assert math.exp(log) == pytest.approx(expected, rel=1e-8, abs=1e-12)


# ------------------------------------------------------------------------------------- the spells


def times_of(seen, over, under):
    """How many times likelier looks are at one dose than at another."""
    chances = marginal_likelihood(seen, misjudged=0.01)
    return chances[over] / chances[under]


@pytest.mark.parametrize(
    ("stage", "warmth", "over", "under"),
    [("overmarked", "cold", 2, 1), ("none", "hot", 0, 1), ("full", "hot", 1, 2)],
)
def test_looks_of_one_spell_say_hardly_more_than_one(stage, warmth, over, under):
    once = [Observation(stage, 200, warmth)]
    again = [Observation(stage, 200 + 3 * more, warmth) for more in range(3)]
    later = [Observation(stage, 200 + 60 * more, warmth) for more in range(3)]
    one, spell, spells = (times_of(seen, over, under) for seen in (once, again, later))
    assert one > 1
    # that what was seen has turned twice, or was misread thrice, is little likely
    assert spell < 2.5 * one
    assert spells > 0.8 * one**3


def test_looks_of_a_spell_whose_warmth_nobody_noted_are_of_one_warmth():
    once, again = (
        [Observation("overmarked", 200 + day) for day in days] for days in ((0,), (0, 9))
    )
    # it may have turned, so that the second says a little more
    assert times_of(again, 2, 1) < 2.5 * times_of(once, 2, 1)
    assert times_of(once, 2, 1) > 40


def test_a_spell_lasts_so_long_from_its_first_look():
    def said(days):
        return marginal_likelihood(
            [Observation("full", 300 + day, "hot") for day in days], misjudged=0.01
        )

    alone = said((0,))
    # grown: an animal of one dose shows full after heat by its share in the table, or by a slip
    share = shown_by("hot")[2, 2]
    assert alone[1] == pytest.approx(0.99 * share + 0.01 / 3 * (1 - share), rel=1e-6)
    assert said((0, SPELL_DAYS))[1] > 0.9 * alone[1]
    assert said((0, SPELL_DAYS + 1))[1] == pytest.approx(alone[1] ** 2, rel=1e-6)


def test_more_looks_than_days_are_no_fault():
    seen = [Observation("full", 200 + day / 4, "hot") for day in range(100)]
    assert observation_likelihood(seen).argmax() == 1


# ------------------------------------------------------------------------- each milestone's own


def test_to_start_early_is_not_to_end_early():
    """Two doses, coming at three weeks, full at seven and overmarked at nine: an animal early to
    start, and no more. With milestones that keep strictly to one pace either look was a slip."""
    seen = [mild("coming", 22), mild("full", 49), mild("overmarked", 63)]
    strict = tuple(own._replace(part=0.0) for own in OWN)
    loose = marginal_likelihood(seen, misjudged=0.01)[2]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(onset_parameters, "OWN", strict)
        assert marginal_likelihood(seen, misjudged=0.01)[2] < loose / 10


def test_a_milestone_has_the_median_and_the_spread_of_the_table():
    for dose in (1, 2):
        apart = CURVES.apart(dose)
        for place, one in enumerate(CURVES.of(dose)):
            logs = np.log(apart.medians[:, place])
            assert logs.mean() == pytest.approx(math.log(one.median_days))
            variance = apart.spreads[place] ** 2 + logs.var()
            assert variance == pytest.approx(one.spread**2)
    of_two = np.log(CURVES.apart(2).medians)
    assert np.cov(of_two[:, 0], of_two[:, 2])[0, 1] == pytest.approx(0, abs=1e-12)


# ------------------------------------------------------------------------------------ the paces


def test_looks_agree_with_a_count_of_simulated_animals():
    # the same model by sampling: one pace an animal, to which the start keeps but loosely, each
    # look misread 1 in 10 times
    chance = np.random.default_rng(8)
    pace, own = chance.standard_normal((2, 1_000_000))
    onset, full = 42 * np.exp(0.40 * (0.8 * pace + 0.6 * own)), 120 * np.exp(0.16 * pace)
    marked, plain = np.ones((2, len(pace)), dtype=bool)
    for age, wanted in ((35, 0), (60, 1), (130, 2)):
        misread = chance.random(len(pace)) < 0.1
        slip = chance.integers(1, 4, len(pace))
        stage = (age >= onset).astype(int) + (age >= full)
        marked &= np.where(misread, (stage + slip) % 4, stage) == wanted
        plain &= np.where(misread, slip, 0) == wanted
    looks = [mild("none", 35), mild("coming", 60), mild("full", 130)]
    reckoned = observation_likelihood(looks, misjudged=0.1, mixed_up=0)
    # about 1000 of the selfs are so misread: five standard errors are 16 per cent
    assert reckoned[0] / reckoned[1] == pytest.approx(plain.sum() / marked.sum(), rel=0.16)


def test_one_look_by_hand():
    # points of one dose not yet come at 49 days, misread 1 in 100: by a normal distribution with
    # 0.8 of the spread around each of nine equally likely points, which have 0.6 of it
    points = [NormalDist().inv_cdf((k + 0.5) / 9) for k in range(9)]
    points = [point / pstdev(points) for point in points]
    scores = [(math.log(49 / 42) / 0.40 - 0.6 * point) / 0.8 for point in points]
    late = sum(1 - NormalDist().cdf(score) for score in scores) / 9
    assert late == pytest.approx(1 - NormalDist().cdf(math.log(49 / 42) / 0.40), rel=0.02)
    expected = (0.99 * late + 0.01 / 3 * (1 - late)) / 0.99
    likelihood = observation_likelihood([mild("none", 49)], mixed_up=0)
    assert likelihood[1] == pytest.approx(expected, rel=1e-12)


def test_hundreds_of_looks_that_disagree_are_not_lost():
    likelihood = observation_likelihood([mild("none", 400), mild("overmarked", 400)] * 300)
    mixed = 0.002 * 2 / 3  # a self and an overmarked animal alike, one dose only by a mix-up
    assert likelihood == pytest.approx([1, mixed / (0.998 + mixed), 1], rel=1e-6)


def test_without_mistakes_it_is_plain():
    assert observation_likelihood([mild("none", 9000)], misjudged=0, mixed_up=0)[0] == 1
    assert observation_likelihood([mild("none", 9000)], misjudged=0, mixed_up=0)[1:].max() < 1e-30
    assert observation_likelihood([("full", 0)] * 2, misjudged=0.1, mixed_up=0) == pytest.approx(1)
    assert observation_likelihood([]).tolist() == [1, 1, 1]
    with pytest.raises(ValueError, match="no dose explains"):
        observation_likelihood([("full", 0)], misjudged=0)


@pytest.mark.parametrize(
    ("look", "words"),
    [
        (("smutty", 30), "stage 'smutty'"),
        (("none", -1), "-1"),
        (("none", float("nan")), "nan"),
        (("none", 3, "wet"), "warmth 'wet'"),
    ],
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
