"""An unmarked pup week by week, and the day on which waiting stops paying."""

from math import log
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.decisions.waiting import weeks_unmarked, when_to_stop
from genetics.core.penetrance.likelihood import observation_likelihood
from genetics.core.penetrance.onset_parameters import CURVES
from genetics.core.penetrance.scaled_likelihood import marginal_likelihood

PRIOR = np.array([0.5, 0.5, 0.0])


def follow(prior=PRIOR, seen=(), today=0, coming=(21, 42, 63, 84, 105, 126), **rates):
    looks = [("none", age) for age in seen]
    return weeks_unmarked(np.array(prior, float), looks, today, coming, **rates)


def test_it_works():
    weeks = follow(coming=(42, 150))
    assert weeks.chances[0].tolist() == PRIOR.tolist()
    # Half of the one-dose pups have begun to point at 42 days: two thirds of the unmarked are
    # selfs. The slips move that a little.
    assert weeks.chances[1, 0] == pytest.approx(2 / 3, abs=0.01)
    assert weeks.still_unmarked[1] == pytest.approx(3 / 4, abs=0.01)
    assert weeks.chances[2, 0] > 0.99


def test_without_slips_it_is_the_curve_itself():
    weeks = follow(coming=(30, 60), warmth="mild", misjudged=1e-12, mixed_up=0.0)
    apart = CURVES.apart(1)
    late = [
        np.mean([1 - NormalDist(log(days), apart.spreads[0]).cdf(log(age)) for days in medians])
        for age in (30, 60)
        for medians in [apart.medians[:, 0]]
    ]
    # which is as good as the table's own curve
    assert late == pytest.approx(
        [1 - NormalDist(log(42), 0.40).cdf(log(a)) for a in (30, 60)], 0.02
    )
    np.testing.assert_allclose(weeks.still_unmarked[1:], [(1 + p) / 2 for p in late], rtol=1e-9)
    np.testing.assert_allclose(weeks.chances[1:, 0], [1 / (1 + p) for p in late], rtol=1e-9)


ages = st.lists(st.integers(1, 200), min_size=1, max_size=6).map(sorted)


@given(ages, st.integers(0, 6), st.tuples(*[st.integers(1, 9)] * 3))
def test_it_says_what_the_looks_will_say_when_they_are_written(ages, seen, prior):
    prior = np.array(prior) / sum(prior)
    before, coming = ages[:seen], ages[seen:]
    weeks = follow(prior, before, max(before, default=0), coming)
    for more in range(len(coming) + 1):
        looks = [("none", age) for age in [*before, *coming[:more]]]
        posterior = prior * observation_likelihood(looks)
        np.testing.assert_allclose(weeks.chances[more], posterior / posterior.sum(), rtol=1e-10)


stages = ("none", "coming", "full", "overmarked")


@given(st.lists(st.tuples(st.sampled_from(stages), st.integers(0, 300)), max_size=4), st.integers())
def test_the_chances_of_all_that_a_look_may_find_add_up(looks, day):
    age = day % 300 + max((age for _, age in looks), default=0)
    before = marginal_likelihood(looks, misjudged=0.03)
    after = sum(marginal_likelihood([*looks, (stage, age)], misjudged=0.03) for stage in stages)
    np.testing.assert_allclose(after, before, rtol=1e-9)


@given(
    st.lists(st.integers(1, 200), min_size=1, max_size=8, unique=True).map(sorted),
    st.integers(0, 20),
    st.integers(0, 200),
    st.integers(0, 200),
)
def test_no_other_day_is_cheaper(coming, keep, one, two):
    weeks = follow((0.4, 0.4, 0.2), coming=coming)
    waiting = when_to_stop(weeks, keep_cost=keep, lost_one_dose=one, lost_two_doses=two)
    # All that a keeper can settle on beforehand is the look at which an unmarked pup goes.
    gone = weeks.still_unmarked * (weeks.chances @ [0, one, two])
    kept = keep * np.diff(weeks.ages_days) / 7 * weeks.still_unmarked[:-1]
    costs = gone + np.concatenate([[0], kept.cumsum()])
    assert waiting.costs[0] == pytest.approx(costs.min(), abs=1e-9)
    assert costs[waiting.until] == pytest.approx(costs.min(), abs=1e-9)


def test_it_waits_the_longer_the_cheaper_a_week_is():
    weeks = follow(coming=range(7, 190, 7))
    until = [
        when_to_stop(weeks, keep_cost=keep, lost_one_dose=60).until for keep in (0.01, 1, 3, 100)
    ]
    assert until == sorted(until, reverse=True)
    assert until[0] > until[2] > until[3] == 0


def test_it_never_waits_where_nothing_can_be_lost():
    weeks = follow((1, 0, 0), coming=(21, 42))
    assert when_to_stop(weeks, keep_cost=1, lost_one_dose=60).until == 0


def test_it_refuses_what_cannot_be():
    with pytest.raises(ValueError, match="earliest"):
        follow(coming=(42, 21))
    with pytest.raises(ValueError, match="shown points"):
        weeks_unmarked(PRIOR, [("coming", 40)], 50, (60,))
    with pytest.raises(ValueError, match="cost"):
        when_to_stop(follow(), keep_cost=-1, lost_one_dose=60)
    with pytest.raises(ValueError, match="rate"):
        follow(misjudged=0.0)
