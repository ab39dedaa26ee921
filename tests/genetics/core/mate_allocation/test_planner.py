"""A season planned: held against every plan there is, and against the limits themselves."""

import subprocess
import sys
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, milp

from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation.coancestry_limit import TOLERANCE, Cone, mean_coancestry
from genetics.core.mate_allocation.planner import (
    Constraints,
    MatingProblem,
    parents_used,
    plan_season,
)
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness.kinship import kinship


def bred(random, boars, sows):
    """Kinship of the last of a small herd bred from six founders, boars first."""
    count = boars + sows
    litters, born = [], 6
    while born < count + 6:
        pups = tuple(range(born, min(born + 1 + int(random.integers(3)), count + 6)))
        sire, dam = (int(one) for one in random.choice(born, 2, replace=False))
        litters.append(Litter(pups, sires=(sire,), dams=(dam,)))
        born = pups[-1] + 1
    pedigree = Pedigree(tuple(map(str, range(born))), tuple(litters))
    return kinship(pedigree, 6 + random.permutation(count))


def herd_of(random, boars=3, sows=5, counted=False):
    kin = bred(random, boars, sows)
    value = random.integers(0, 7, (sows, boars)) / 2
    value[random.random((sows, boars)) < 0.1] = np.nan
    more = (random.integers(0, 4, (sows, boars)).astype(float),) if counted else ()
    return MatingProblem(value, kin[boars:, :boars], kin, more)


def every_plan(herd, limits):
    """Each plan that the limits allow, with its value: the definition, written out."""
    sows, boars = herd.value.shape
    may = limits.allowed(herd)
    for to in product(range(-1, boars), repeat=sows):
        pairs = tuple((sow, boar) for sow, boar in enumerate(to) if boar >= 0)
        if not pairs or len(pairs) > limits.pens or not all(may[pair] for pair in pairs):
            continue
        if any(to.count(boar) > limits.capacity[boar] for boar in range(boars)):
            continue
        if not set(limits.held) <= set(pairs):
            continue
        if any(
            sum(table[pair] for pair in pairs) < least - 1e-9
            for table, least in zip(herd.counted, limits.least, strict=False)
        ):
            continue
        if limits.coancestry is not None:
            used = parents_used(pairs, sows, boars)
            if mean_coancestry(herd.kinship, used) > limits.coancestry + TOLERANCE:
                continue
        yield pairs, sum(herd.value[pair] for pair in pairs)


def best_of_all(herd, limits):
    return max((value for _, value in every_plan(herd, limits)), default=None)


def check(herd, limits):
    """The plan is the best of all, or there is none; gives it."""
    best = best_of_all(herd, limits)
    if best is None:
        with pytest.raises(NoPlanError) as none:
            plan_season(herd, limits, gap=0)
        assert none.value.proven
        return None
    plan = plan_season(herd, limits, gap=0)
    assert plan.value == pytest.approx(best, abs=1e-6)
    assert plan.bound == pytest.approx(best, abs=1e-5)
    assert plan.proven
    assert (plan.pairs, pytest.approx(plan.value)) in list(every_plan(herd, limits))
    return plan


@given(st.integers(0, 10**6), st.integers(1, 5), st.integers(1, 3))
def test_it_works(seed, pens, most):
    herd = herd_of(np.random.default_rng(seed))
    check(herd, Constraints(pens, (most,) * 3, inbreeding=0.2))


@given(st.integers(0, 10**6), st.integers(1, 5), st.floats(0.1, 0.5))
def test_the_coancestry_of_the_herd_to_come_is_kept(seed, pens, ceiling):
    herd = herd_of(np.random.default_rng(seed))
    plan = check(herd, Constraints(pens, (2, 3, 1), coancestry=ceiling))
    if plan:
        assert plan.coancestry <= ceiling + TOLERANCE


@given(st.integers(0, 10**6), st.floats(0.15, 0.5), st.integers(0, 6))
def test_pairs_held_and_forbidden_and_sows_at_rest(seed, ceiling, least):
    random = np.random.default_rng(seed)
    herd = herd_of(random, counted=True)
    held = tuple((sow, int(random.integers(3))) for sow in range(int(random.integers(2))))
    forbidden = ((2, 1), (3, 0))
    limits = Constraints(
        4,
        (2, 2, 2),
        coancestry=ceiling,
        held=held,
        forbidden=forbidden,
        resting=frozenset({4}),
        least=(float(least),),
    )
    plan = check(herd, limits)
    if plan:
        assert set(held) <= set(plan.pairs)
        assert not set(forbidden) & set(plan.pairs)
        assert 4 not in {sow for sow, _ in plan.pairs}


@given(st.integers(0, 10**6), st.floats(0.1, 0.6))
def test_a_tangent_cuts_off_no_plan_within_the_ceiling(seed, ceiling):
    random = np.random.default_rng(seed)
    herd = herd_of(random, boars=2, sows=4)
    cone = Cone.of(herd.kinship, 2, ceiling)
    plans = [pairs for pairs, _ in every_plan(herd, Constraints(4, (4, 4)))]
    for touching in (random.random(6), *(parents_used(pairs, 4, 2) for pairs in plans[:8])):
        row, most = cone.tangent(touching)
        for pairs in plans:
            used = parents_used(pairs, 4, 2)
            if mean_coancestry(herd.kinship, used) <= ceiling:
                assert row @ used <= most + 1e-9


@given(st.integers(0, 10**6))
def test_mean_coancestry_is_that_of_pups_drawn_from_the_litters(seed):
    # two pups of each litter, written into the pedigree: the mean kinship of a first pup with a
    # second is that of two pups drawn
    random = np.random.default_rng(seed)
    litters, born = [], 8
    for _ in range(4):
        sire, dam = (int(one) for one in random.choice(born, 2, replace=False))
        litters.append(Litter((born, born + 1), sires=(sire,), dams=(dam,)))
        born += 2
    parents = tuple(map(str, range(born)))
    boars, sows = list(range(8, 11)), list(range(11, 16))
    kin = kinship(Pedigree(parents, tuple(litters)), [*boars, *sows])
    pairs = tuple((sow, int(random.integers(3))) for sow in range(4))
    for sow, boar in pairs:
        litters.append(Litter((born, born + 1), sires=(boars[boar],), dams=(sows[sow],)))
        born += 2
    pups = list(range(16, born))
    both = kinship(Pedigree(tuple(map(str, range(born))), tuple(litters)), pups)
    drawn = both[::2, 1::2].mean()
    assert mean_coancestry(kin, parents_used(pairs, 5, 3)) == pytest.approx(drawn, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_a_larger_herd_agrees_with_another_solvers_model(seed):
    # scipy's milp on a model of its own: no coancestry, which it cannot hold
    random = np.random.default_rng(seed)
    sows, boars = 30, 8
    kin = bred(random, boars, sows)
    herd = MatingProblem(random.random((sows, boars)) * 3, kin[boars:, :boars], kin)
    ceiling = float(np.quantile(herd.inbreeding, 0.4))
    limits = Constraints(20, (3,) * boars, inbreeding=ceiling)
    may = limits.allowed(herd)
    hers = np.kron(np.eye(sows), np.ones(boars))
    his = np.kron(np.ones(sows), np.eye(boars))
    other = milp(
        -herd.value.ravel(),
        constraints=[
            LinearConstraint(hers, ub=1),
            LinearConstraint(his, ub=3),
            LinearConstraint(np.ones((1, sows * boars)), ub=20),
        ],
        bounds=(0, may.ravel().astype(float)),
        integrality=np.ones(sows * boars),
    )
    assert plan_season(herd, limits).value == pytest.approx(-other.fun, rel=1e-4)


def test_a_larger_herd_keeps_its_ceiling_and_says_its_bound():
    random = np.random.default_rng(7)
    kin = bred(random, 8, 40)
    herd = MatingProblem(random.integers(0, 7, (40, 8)) / 2.0, kin[8:, :8], kin)
    free = plan_season(herd, Constraints(25, (5,) * 8))
    told = []
    ceiling = free.coancestry - 0.01
    tight = plan_season(herd, Constraints(25, (5,) * 8, coancestry=ceiling), tell=told.append)
    assert tight.coancestry <= ceiling + TOLERANCE < free.coancestry
    assert tight.value <= tight.bound + 1e-9 <= free.value + 1e-6
    assert [one.number for one in told] == list(range(1, tight.rounds + 1))


def test_held_pairs_that_cannot_be_together_are_no_plan():
    herd = herd_of(np.random.default_rng(1))
    for held in (((0, 0), (0, 1)), ((0, 0), (1, 0), (2, 0))):
        with pytest.raises(NoPlanError) as none:
            plan_season(herd, Constraints(5, (2, 2, 2), held=held))
        assert none.value.proven


@pytest.mark.parametrize(("boars", "sows"), [(3, 0), (0, 3), (0, 0)])
def test_without_sows_or_boars_there_is_no_plan_within_a_ceiling_either(boars, sows):
    none = np.zeros((sows, boars))
    herd = MatingProblem(none, none, np.eye(boars + sows) / 2)
    with pytest.raises(NoPlanError) as found:
        plan_season(herd, Constraints(3, (2,) * boars, coancestry=0.1))
    assert found.value.proven


def test_it_refuses_tables_that_do_not_fit():
    with pytest.raises(ValueError, match="kinship"):
        MatingProblem(np.ones((3, 2)), np.zeros((3, 2)), np.eye(4))
    with pytest.raises(ValueError, match="not negative"):
        MatingProblem(-np.ones((3, 2)), np.zeros((3, 2)), np.eye(5))


def test_the_solver_prints_nothing():
    # in an interpreter of its own: HiGHS prints its banner once, past Python's own streams
    asked = """
import numpy as np
from genetics.core.mate_allocation.planner import MatingProblem, Constraints, plan_season
herd = MatingProblem(np.ones((3, 2)), np.zeros((3, 2)), np.eye(5) / 2)
assert plan_season(herd, Constraints(2, (2, 2), coancestry=0.9)).value == 2
"""
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True
    )
    assert (done.stdout, done.stderr) == ("", "")
