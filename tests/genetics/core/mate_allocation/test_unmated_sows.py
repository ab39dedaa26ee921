"""Why a sow rests in a season's plan: each reason held against every plan there is."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation.coancestry_limit import mean_coancestry
from genetics.core.mate_allocation.planner import (
    Constraints,
    MatingProblem,
    parents_used,
    plan_season,
)
from genetics.core.mate_allocation.unmated_sows import SAME, Rest, rests
from tests.genetics.core.mate_allocation.test_planner import every_plan, herd_of


def told(value, limits, **given):
    """By sow, why she rests in the best plan of unrelated animals."""
    value = np.array(value, dtype=float)
    sows, boars = value.shape
    herd = MatingProblem(value, np.zeros((sows, boars)), np.eye(sows + boars) / 2, **given)
    return {one.sow: one for one in rests(herd, limits, plan_season(herd, limits))}


def test_it_works():
    assert told([[3, 1], [2, 1], [1, 1]], Constraints(2, (2, 2))) == {
        2: Rest(2, "pens", (0, 1), less=True)
    }


def test_pens_are_not_blamed_while_they_stand_empty():
    # the second boar may go to the first sow alone, and the first has his two
    value = [[3, 3], [2, np.nan], [2, np.nan], [1, np.nan]]
    assert told(value, Constraints(10, (2, 2))) == {3: Rest(3, "boars", (0,), less=True)}


def test_one_that_would_be_worth_as_much_is_told_in_whose_place():
    (rest,) = told([[2], [2]], Constraints(1, (4,))).values()
    assert (rest.why, rest.instead, rest.less) == ("pens", 1 - rest.sow, False)
    (rest,) = told([[2], [2]], Constraints(5, (1,))).values()
    assert (rest.why, rest.instead, rest.boars) == ("boars", 1 - rest.sow, (0,))


def test_a_held_sow_gives_her_place_to_nobody():
    found = told([[1], [3]], Constraints(1, (4,), held=((0, 0),)))
    assert found == {1: Rest(1, "pens", (0,), less=True)}


def test_sows_that_rest_or_have_no_boar():
    limits = Constraints(10, (4, 4), resting=frozenset({0}), forbidden=((1, 0), (1, 1)))
    found = told([[1, 1], [1, 1], [np.nan] * 2, [1, 1]], limits)
    assert {sow: one.why for sow, one in found.items()} == {
        0: "asked",
        1: "no-boar",
        2: "no-boar",
    }


def test_one_that_adds_next_to_nothing():
    assert told([[1.0], [0.0]], Constraints(10, (4,)))[1].why == "little"


def test_an_exchange_that_breaks_a_least_number_is_none():
    counted = (np.array([[2.0], [0.0]]),)
    limits = Constraints(1, (4,), least=(2.0,))
    assert told([[1], [1]], limits, counted=counted)[1] == Rest(1, "pens", (0,))


def test_coancestry():
    # a sow akin to the boar: with her litter beside the other's the mean is above the ceiling
    kin = np.array([[0.5, 0, 0.3], [0, 0.5, 0], [0.3, 0, 0.5]])
    herd = MatingProblem(np.array([[2.0], [1.0]]), np.array([[0.0], [0.3]]), kin)
    alone = mean_coancestry(kin, parents_used(((0, 0),), 2, 1))
    limits = Constraints(10, (4,), coancestry=alone)
    (rest,) = rests(herd, limits, plan_season(herd, limits))
    assert rest == Rest(1, "coancestry")


@pytest.mark.slow
@example(7, 0.3, 2, 1)
@given(
    st.integers(0, 10**6),
    st.none() | st.floats(0.15, 0.5),
    st.integers(1, 5),
    st.integers(1, 2),
)
def test_every_reason_is_true(seed, ceiling, pens, capacity):
    herd = herd_of(np.random.default_rng(seed), sows=4)
    limits = Constraints(pens, (capacity,) * 3, inbreeding=0.25, coancestry=ceiling)
    try:
        plan = plan_season(herd, limits, gap=0)
    except NoPlanError:
        return
    plans = {frozenset(pairs): value for pairs, value in every_plan(herd, limits)}
    may, chosen = limits.allowed(herd), frozenset(plan.pairs)
    full = np.bincount([boar for _, boar in plan.pairs], minlength=3) >= capacity
    told = rests(herd, limits, plan)
    assert {one.sow for one in told} == set(range(4)) - {sow for sow, _ in plan.pairs}
    for one in told:
        with_her = {
            frozenset({*chosen, (one.sow, boar)}) for boar in np.flatnonzero(may[one.sow]).tolist()
        }
        assert (one.why == "no-boar") == (not may[one.sow].any())
        assert (one.why == "pens") == (may[one.sow].any() and len(chosen) == pens)
        if one.why == "boars":
            assert full[list(one.boars)].all()
            assert set(one.boars) == set(np.flatnonzero(may[one.sow]))
        if one.why in ("boars", "coancestry"):
            assert not with_her & plans.keys()
        if one.why == "coancestry":
            assert not full[may[one.sow]].all()
        if one.why == "little":
            assert max(plans.get(one, 0) for one in with_her) <= plan.value + SAME
            assert with_her & plans.keys()
        _check_exchanges(one, chosen, plans, plan.value)
        assert one.why != "unsettled"


def _check_exchanges(one, chosen, plans, best):
    """Those with her in one sow's place, by the plans there are."""
    exchanged = {
        pairs: value
        for pairs, value in plans.items()
        if len(pairs) == len(chosen) == len(pairs & chosen) + 1
        and one.sow in {sow for sow, _ in pairs}
    }
    if one.instead >= 0:
        (gone,) = (pair for pair in chosen if pair[0] == one.instead)
        assert any(
            gone not in pairs and abs(value - best) <= SAME for pairs, value in exchanged.items()
        )
    if one.less:
        assert all(value < best - SAME for value in exchanged.values())
