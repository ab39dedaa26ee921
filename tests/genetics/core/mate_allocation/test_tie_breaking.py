"""Of plans worth the same the least related: held against every plan there is."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation import tie_breaking
from genetics.core.mate_allocation.coancestry_limit import TOLERANCE, mean_coancestry
from genetics.core.mate_allocation.planner import (
    Constraints,
    MatingProblem,
    Plan,
    parents_used,
    plan_season,
)
from genetics.core.mate_allocation.tie_breaking import NEAR, least_related
from tests.genetics.core.mate_allocation.test_planner import bred, every_plan, herd_of


def coancestries_of_the_best(herd, limits, given_up=0.0):
    """Of each plan worth the most, but for what is given up, the mean coancestry: the definition,
    written out."""
    plans = list(every_plan(herd, limits))
    most = max(value for _, value in plans)
    sows, boars = herd.value.shape
    return [
        mean_coancestry(herd.kinship, parents_used(pairs, sows, boars))
        for pairs, value in plans
        if value > most - given_up - 1e-6
    ]


def least_inbred_of(herd, limits, least, plan):
    """Summed inbreeding of each plan worth as much with the same parents as often as in this."""
    used = parents_used(plan.pairs, *herd.value.shape)
    for pairs, value in every_plan(herd, limits):
        if value > least - 1e-6 and (parents_used(pairs, *herd.value.shape) == used).all():
            yield sum(herd.inbreeding[pair] for pair in pairs)


def check(herd, limits, given_up=0.0):
    try:
        best = plan_season(herd, limits, gap=0)
    except NoPlanError:
        return
    found = least_related(herd, limits, best, given_up=given_up, seconds=60)
    there = coancestries_of_the_best(herd, limits, given_up)
    assert found.proven
    assert found.plan.coancestry <= min(there) + NEAR + TOLERANCE
    assert min(abs(found.plan.coancestry - one) for one in there) < 1e-9
    inbred = sum(herd.inbreeding[pair] for pair in found.plan.pairs)
    assert inbred <= min(least_inbred_of(herd, limits, best.value - given_up, found.plan)) + 1e-5
    # no more of what it is worth is given up, and the bound still stands
    assert best.value - given_up - 2e-6 <= found.plan.value <= best.value + 2e-6
    assert (found.plan.bound, found.plan.proven) == (best.bound, best.proven)
    assert (found.plan.pairs, pytest.approx(found.plan.value)) in list(every_plan(herd, limits))


def few_values(seed, **more):
    """A herd of few values, as where sows are alike, so that many plans are worth the same."""
    herd = herd_of(np.random.default_rng(seed), sows=4, **more)
    return replace(herd, value=np.ceil(herd.value / 2))


@pytest.mark.parametrize("seed", range(6))
def test_it_works(seed):
    check(few_values(seed), Constraints(1 + seed % 4, (2, 3, 1)))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("given_up", [0.05, 0.5])
def test_what_may_be_given_up_makes_a_less_related_herd(seed, given_up):
    random = np.random.default_rng(seed)
    check(herd_of(random, sows=4), Constraints(1 + seed % 4, (2, 3, 1)), given_up)


@pytest.mark.slow
@given(st.integers(0, 10**6), st.integers(1, 4))
def test_whatever_the_herd(seed, pens):
    check(few_values(seed), Constraints(pens, (2, 3, 1)))


@pytest.mark.slow
@given(st.integers(0, 10**6), st.floats(0.15, 0.5), st.integers(0, 4))
def test_within_all_the_other_limits(seed, ceiling, least):
    limits = Constraints(
        3, (2, 2, 2), 0.25, ceiling, forbidden=((0, 1),), resting=frozenset({3}), least=(least,)
    )
    check(few_values(seed, counted=True), limits)


def test_sows_alike_go_to_the_boars_that_are_no_kin():
    # three sows and three boars, all worth the same: kin stand in one block each
    kin = np.eye(6) / 2
    for boar in range(3):
        kin[boar, 3 + boar] = kin[3 + boar, boar] = 0.25
    kin[3, 4] = kin[4, 3] = 0.125
    herd = MatingProblem(np.ones((3, 3)), kin[3:, :3], kin)
    limits = Constraints(2, (1, 1, 1))
    found = least_related(herd, limits, plan_season(herd, limits))
    assert found.proven
    # sows 0 and 1 are half sisters, so one of them goes with sow 2; each mate is no kin of either
    assert {sow for sow, _ in found.plan.pairs} != {0, 1}
    assert found.plan.coancestry == pytest.approx(min(coancestries_of_the_best(herd, limits)))
    assert all(herd.inbreeding[pair] == 0 for pair in found.plan.pairs)


def test_a_better_plan_is_never_given_up_for_a_less_related_one():
    # a hundredth of a pup more by her own sire
    kin = np.eye(3) / 2
    kin[0, 2] = kin[2, 0] = 0.25
    herd = MatingProblem(np.array([[1.01, 1.0]]), kin[2:, :2], kin)
    limits = Constraints(1, (1, 1))
    found = least_related(herd, limits, plan_season(herd, limits))
    assert found.plan.pairs == ((0, 0),)
    assert found.proven


def test_a_search_cut_short_says_so():
    random = np.random.default_rng(3)
    kin = bred(random, 6, 20)
    herd = MatingProblem(np.ones((20, 6)), kin[6:, :6], kin)
    limits = Constraints(12, (3,) * 6)
    best = plan_season(herd, limits)
    short = least_related(herd, limits, best, seconds=0)
    assert not short.proven
    # single changes are made even so
    assert short.plan.value == pytest.approx(best.value)
    assert short.plan.coancestry < best.coancestry - NEAR


def test_a_pair_that_is_held_stays_however_related():
    # her own sire, and a boar that is no kin, both worth the same
    kin = np.eye(3) / 2
    kin[0, 2] = kin[2, 0] = 0.25
    herd = MatingProblem(np.ones((1, 2)), kin[2:, :2], kin)
    limits = Constraints(1, (1, 1), held=((0, 0),))
    best = plan_season(herd, limits)
    for proven in (True, False):
        found = least_related(herd, limits, replace(best, proven=proven))
        assert found.plan.pairs == ((0, 0),)
    assert least_related(herd, replace(limits, held=()), best).plan.pairs == ((0, 1),)


def test_a_plan_that_took_its_time_already_is_changed_one_by_one_and_no_more():
    random = np.random.default_rng(3)
    kin = bred(random, 6, 20)
    herd = MatingProblem(np.ones((20, 6)), kin[6:, :6], kin)
    limits = Constraints(12, (3,) * 6)
    best = replace(plan_season(herd, limits), proven=False)
    found = least_related(herd, limits, best, seconds=60)
    assert not found.proven
    assert found.plan.coancestry < best.coancestry - NEAR


def test_one_that_was_not_settled_keeps_the_least_so_far(monkeypatch):
    herd = herd_of(np.random.default_rng(1))
    limits = Constraints(2, (2, 2, 2))
    best = plan_season(herd, limits)

    def undecided(herd, limits, **given) -> Plan:
        if limits.coancestry is not None:
            raise NoPlanError(proven=False)
        return plan_season(herd, limits, **given)

    monkeypatch.setattr(tie_breaking, "plan_season", undecided)
    found = least_related(herd, limits, best)
    assert not found.proven
    assert found.plan.value == pytest.approx(best.value)
