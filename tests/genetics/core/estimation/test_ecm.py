"""The gene's frequency and the ages of points, fitted to a book: what it may say and may not."""

import math
from itertools import combinations_with_replacement, product

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import ndtri
from scipy.stats import norm

from genetics.core.estimation import ecm
from genetics.core.estimation import likelihood as fitting_evidence
from genetics.core.estimation.ecm import Prior, climb, fit
from genetics.core.estimation.likelihood import Evidence, Parameters, part_of
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.observation import Observation
from genetics.core.penetrance.onset_parameters import CURVES
from tests.simulation.herd import Habits, make_herd
from tests.simulation.reckoned import as_pedigree, as_seen

ONLY_FREQUENCY = Prior(genes=2.0, animals=math.inf)
HANDS_ON = (0.0, 0.5, 1.0)
FOLLOWED = (("coming", -4), ("coming", -1), ("full", 1), ("full", 4))


def founders(count):
    return Pedigree(tuple(f"a{row}" for row in range(count)), ())


def unseen(count):
    return [[] for _ in range(count)]


def simulated(seed, **habits):
    herd = make_herd(Habits(**habits), np.random.default_rng(seed))
    return as_pedigree(herd), as_seen(herd)


def evidence_of(pedigree, looks, **values):
    values = {"errors": 0.0, "given": None, "founder_prior": None, **values}
    return Evidence.of(pedigree, looks, **values, frequency=0.25)


def test_it_works():
    found = fit(*simulated(5, animals=120, frequency=0.4, looked_at=0.9), errors=0.01)
    assert found.settled
    assert found.left_out == ()
    assert abs(found.parameters.frequency - 0.4) < 3 * found.frequency_error
    for true, fitted, error, spread_error in zip(
        CURVES.milestones,
        found.parameters.curves.milestones,
        found.median_errors,
        found.spread_errors,
        strict=True,
    ):
        assert 0 < error < true.median_days / 10
        assert abs(fitted.median_days - true.median_days) < 3 * error
        assert 0 < spread_error < 0.16  # that of the prior alone is 1 / sqrt(40)
        assert abs(math.log(fitted.spread / true.spread)) < 3 * spread_error
    assert found.founders >= 15  # some have no young that were seen
    assert min(found.looks) > 5


# ------------------------------------------------------------------------- against definitions

TRIO = Pedigree(("sire", "dam", "one", "two"), (Litter((2, 3), sires=(0,), dams=(1,)),))
HALF = Pedigree(("dam", "one", "two", "three"), (Litter((1, 2, 3), dams=(0,)),))
SIBS = Pedigree(("one", "two"), (Litter((0, 1)),))


def chance_of_all(pedigree, likelihood, frequency):
    """By summing over every genotype of every animal and of every parent that nobody knows."""
    pool = [(1 - frequency) ** 2, 2 * frequency * (1 - frequency), frequency**2]
    (litter,) = pedigree.litters
    count = len(pedigree)
    parents = [*(litter.sires or (count,)), *(litter.dams or (count + 1 - bool(litter.sires),))]
    total = 0.0
    for doses in product(range(3), repeat=max(count, *(parent + 1 for parent in parents))):
        weight = 1.0
        a, b = (HANDS_ON[doses[parent]] for parent in parents)
        for animal, dose in enumerate(doses):
            if animal in litter.pups:
                weight *= ((1 - a) * (1 - b), a + b - 2 * a * b, a * b)[dose]
            else:
                weight *= pool[dose]
            if animal < count:
                weight *= likelihood[animal][dose]
        total += weight
    return total


@pytest.mark.parametrize("pedigree", [TRIO, HALF, SIBS])
@settings(max_examples=10, phases=[Phase.generate])
@given(data=st.data())
def test_the_frequency_is_the_best_of_all_and_its_error_its_curvature(pedigree, data):
    share = st.integers(1, 100).map(lambda part: part / 100)
    rows = st.lists(st.tuples(share, share, share), min_size=len(pedigree), max_size=len(pedigree))
    likelihood = np.array(data.draw(rows))
    likelihood /= likelihood.max(axis=1, keepdims=True)
    prior = ONLY_FREQUENCY
    found = fit(pedigree, unseen(len(pedigree)), errors=0.0, given=likelihood, prior=prior)

    def height(log_odds):
        frequency = 1 / (1 + math.exp(-log_odds))
        chance = chance_of_all(pedigree, likelihood, frequency)
        return math.log(chance) + prior.of_frequency(frequency)

    best = found.parameters.frequency
    top = math.log(best / (1 - best))
    grid = [height(log_odds) for log_odds in np.linspace(-6, 6, 121)]
    assert height(top) >= max(grid) - 2e-3
    step = 0.1
    curvature = (height(top + step) + height(top - step) - 2 * height(top)) / step**2
    expected = best * (1 - best) / math.sqrt(-curvature)
    assert found.frequency_error == pytest.approx(expected, rel=1e-5)
    assert found.median_errors == found.spread_errors == (0.0,) * 5
    assert found.rounds[-1] == pytest.approx(height(top), abs=1e-9)


def test_genes_that_are_all_known_are_counted():
    # Two of four founders have one dose, one two: 4 of 8 genes, and the prior's 40 at a quarter.
    known = np.eye(3)[[0, 1, 1, 2]]
    found = fit(founders(4), unseen(4), errors=0.0, given=known, prior=Prior(animals=math.inf))
    assert found.parameters.frequency == pytest.approx((4 + 10) / (8 + 40), abs=1e-4)
    assert found.founders == 4


def test_ages_that_are_all_known_are_those_of_a_normal_sample(monkeypatch):
    # Thirty animals surely of one dose, each seen to be full within half a day, none misread,
    # the prior's twenty at 120 days with a spread of 0.16: the posterior of a normal sample,
    # climbed by scipy.
    for rate in ("MISJUDGED", "MIXED_UP"):
        monkeypatch.setattr(fitting_evidence, rate, 1e-9)
    logs = math.log(130) + 0.08 * ndtri((np.arange(30) + 0.5) / 30)
    looks = [
        [Observation("coming", age - 0.25, "mild"), Observation("full", age + 0.25, "mild")]
        for age in np.exp(logs)
    ]

    def depth(at):
        median, spread = at
        prior = (
            20 * ((median - math.log(120)) / 0.16) ** 2 / 2 + 20 * (spread - math.log(0.16)) ** 2
        )
        return -norm.logpdf(logs, median, math.exp(spread)).sum() + prior

    best = minimize(depth, [math.log(125), math.log(0.12)], method="BFGS", tol=1e-8)
    errors = np.sqrt(np.diag(np.linalg.inv(curvature_of(depth, best.x, 1e-3 * np.eye(2)))))
    certain = np.tile([0.0, 1.0, 0.0], (30, 1))
    found = fit(founders(30), looks, errors=0.0, given=certain)
    full = found.parameters.curves.milestones[1]
    assert math.log(full.median_days) == pytest.approx(best.x[0], abs=0.003)
    assert math.log(full.spread) == pytest.approx(best.x[1], abs=0.03)
    assert found.median_errors[1] / full.median_days == pytest.approx(errors[0], rel=0.05)
    assert found.spread_errors[1] == pytest.approx(errors[1], rel=0.05)


def test_slopes_are_those_of_the_exact_likelihood():
    evidence = evidence_of(*simulated(7, animals=30), errors=0.01)
    weights = evidence.weights(Parameters(0.3))
    step = 1e-5
    for place, (one, moved) in enumerate(product(CURVES.milestones, (0, 1))):
        sides = []
        for side in (1, -1):
            ages = np.array([line[2:4] for line in CURVES.milestones])
            ages[place // 2, moved] *= math.exp(side * step)
            curves = CURVES.with_ages(ages[:, 0], "moved", ages[:, 1])
            expected = evidence.expected_log_chance(curves, one.dose, weights[:, one.dose])
            sides.append((expected, evidence.log_likelihood(Parameters(0.3, curves))))
        by_identity, exact = np.subtract(*sides) / (2 * step)
        assert by_identity == pytest.approx(exact, abs=1e-4)


def curvature_of(function, at, steps):
    """Second derivatives along such steps, each in its own length."""
    curvature = np.zeros((len(at), len(at)))
    for row, column in combinations_with_replacement(range(len(at)), 2):
        corners = [
            a * b * function(at + (a * steps[row] + b * steps[column]) / 2)
            for a, b in product((1, -1), repeat=2)
        ]
        lengths = np.linalg.norm(steps[row]) * np.linalg.norm(steps[column])
        curvature[row, column] = curvature[column, row] = sum(corners) / lengths
    return curvature


@pytest.mark.slow
def test_errors_are_the_curvature_of_the_exact_posterior():
    pedigree, looks = simulated(7, animals=20, looked_at=0.9)
    prior = Prior()
    found = fit(pedigree, looks, errors=0.01, prior=prior)
    evidence = evidence_of(pedigree, looks, errors=0.01)
    ages = np.array([line[2:4] for line in found.parameters.curves.milestones])
    top = np.log([found.parameters.frequency / (1 - found.parameters.frequency), *ages.ravel()])

    def height(at):
        days, spreads = np.exp(at[1:]).reshape(-1, 2).T
        curves = CURVES.with_ages(days, "moved", spreads)
        parameters = Parameters(1 / (1 + math.exp(-at[0])), curves)
        return evidence.log_likelihood(parameters) + prior.log_density(parameters)

    steps = np.diag([0.1, *(0.1 * np.column_stack([ages[:, 1], np.ones(5)])).ravel()])
    errors = np.sqrt(np.diag(np.linalg.inv(-curvature_of(height, top, steps))))
    share = found.parameters.frequency
    assert found.frequency_error == pytest.approx(errors[0] * share * (1 - share), rel=0.03)
    assert found.median_errors == pytest.approx(errors[1::2] * ages[:, 0], rel=0.03)
    assert found.spread_errors == pytest.approx(errors[2::2], rel=0.03)


def test_what_tells_of_two_at_once_makes_both_less_sure():
    # The inverse of ((2, 1), (1, 2)) has 2/3 on its diagonal; a saddle has no errors.
    found = ecm._roots_of_inverse(np.array([[2.0, 1.0], [1.0, 2.0]]))
    assert found == pytest.approx([math.sqrt(2 / 3)] * 2)
    for none_of_a_peak in ([[1.0, 2.0], [2.0, 1.0]], [[np.nan]]):
        assert np.isnan(ecm._roots_of_inverse(np.array(none_of_a_peak))).all()


def test_a_crease_beside_the_top_is_stepped_over(monkeypatch):
    pedigree, looks = simulated(1, animals=10)
    curvature, tried = ecm._Climber._curvature, []

    def creased(climber, parameters, step):
        tried.append(step)
        table = curvature(climber, parameters, step)
        return -table if step == ecm.WIDE_STEP else table

    monkeypatch.setattr(ecm._Climber, "_curvature", creased)
    found = fit(pedigree, unseen(len(looks)), errors=0.01)
    assert tried == [ecm.WIDE_STEP, ecm.STEP]
    assert found.frequency_error == pytest.approx(math.sqrt(0.25 * 0.75 / 40), rel=0.01)
    assert found.spread_errors == pytest.approx([1 / math.sqrt(40)] * 5, rel=0.01)


# -------------------------------------------------------------------------- what it may not do


@pytest.mark.slow
@settings(max_examples=4, phases=[Phase.generate])
@given(
    st.integers(0, 10**6),
    st.sampled_from([Prior(), Prior(0.6, 2.0, CURVES, 1.0), Prior(0.05, 100.0, CURVES, 0.5)]),
)
def test_no_round_lowers_the_posterior(seed, prior):
    found = fit(*simulated(seed, animals=14, looked_at=0.9), errors=0.01, prior=prior)
    assert (np.diff(found.rounds) >= -1e-9).all()
    assert found.settled


def test_a_book_without_looks_stays_at_the_prior():
    pedigree, looks = simulated(1, animals=30)
    found = fit(pedigree, unseen(len(looks)), errors=0.01)
    assert found.parameters.frequency == pytest.approx(0.25, abs=1e-9)
    assert [one.median_days for one in found.parameters.curves.milestones] == pytest.approx(
        [one.median_days for one in CURVES.milestones], rel=1e-9
    )
    assert [one.spread for one in found.parameters.curves.milestones] == pytest.approx(
        [one.spread for one in CURVES.milestones], rel=1e-9
    )
    # As sure as the prior: 40 genes, and 20 animals at each milestone.
    assert found.frequency_error == pytest.approx(math.sqrt(0.25 * 0.75 / 40), rel=0.01)
    assert found.median_errors == pytest.approx(
        [one.median_days * one.spread / math.sqrt(20) for one in CURVES.milestones], rel=0.01
    )
    assert found.spread_errors == pytest.approx([1 / math.sqrt(40)] * 5, rel=0.01)
    assert (found.founders, found.looks) == (0, (0.0,) * 5)


def test_an_empty_book_stays_at_the_prior():
    found = fit(founders(0), [], errors=0.01)
    assert found.parameters.frequency == pytest.approx(0.25)


def test_a_small_herd_cannot_overrule_the_prior():
    # Four founders, all overmarked at two years, and five pups that were full at half the age.
    looks = [[Observation("overmarked", 700, "mild")] for _ in range(4)]
    looks += [[Observation("full", 60, "mild")] for _ in range(5)]
    certain = np.ones((9, 3))
    certain[4:] = (0, 1, 0)
    found = fit(founders(9), looks, errors=0.01, given=certain)
    assert 0.25 < found.parameters.frequency < 0.45
    full = found.parameters.curves.milestones[1]
    assert 100 < full.median_days < 120
    assert 0.13 < full.spread < 0.20


@pytest.mark.parametrize("ages", [[120] * 40, [40, 400] * 20])
@pytest.mark.parametrize("animals", [20, 0.5])
def test_a_spread_can_run_to_neither_end(ages, animals):
    # All full on one day, or half of them in six weeks and half after a year.
    looks = [[Observation(stage, age + days, "mild") for stage, days in FOLLOWED] for age in ages]
    certain = np.tile([0.0, 1.0, 0.0], (len(ages), 1))
    found = fit(founders(len(ages)), looks, errors=0.0, given=certain, prior=Prior(animals=animals))
    assert found.settled
    # No chance is above 1, so the prior gives up no more than the looks can gain.
    evidence = evidence_of(founders(len(ages)), looks, given=certain)
    furthest = math.sqrt(-evidence.log_likelihood(Parameters(0.25)) / animals)
    for one, known in zip(found.parameters.curves.milestones, CURVES.milestones, strict=True):
        assert abs(math.log(one.spread / known.spread)) <= furthest
    spread = found.parameters.curves.milestones[1].spread
    assert (spread < 0.12) if ages[0] == ages[1] else (spread > 0.16)
    assert 0 < found.spread_errors[1] < 2


@pytest.mark.parametrize("together", [False, True])
def test_what_was_bought_for_its_looks_says_nothing_of_the_frequency(together):
    pedigree = Pedigree(("a", "b", "c"), (Litter((0, 1, 2)),)) if together else founders(3)
    bought = np.tile([0.02, 0.9, 0.08], (3, 1))
    found = fit(pedigree, unseen(3), errors=0.01, founder_prior=bought)
    assert found.parameters.frequency == pytest.approx(0.25, abs=1e-6)


@pytest.mark.slow
def test_the_order_of_rows_is_irrelevant():
    pedigree, looks = simulated(3, animals=25)
    order = np.random.default_rng(1).permutation(len(looks))
    shuffled = fit(part_of(pedigree, order.tolist()), [looks[row] for row in order], errors=0.01)
    straight = fit(pedigree, looks, errors=0.01)
    assert shuffled.parameters.frequency == pytest.approx(straight.parameters.frequency, rel=1e-6)
    assert shuffled.median_errors == pytest.approx(straight.median_errors, rel=1e-4)


def test_a_family_that_contradicts_itself_is_left_out():
    pedigree, looks = simulated(3, animals=12)
    alone = fit(pedigree, looks, errors=0.01)
    size = len(looks)
    both = Pedigree(
        (*pedigree.ids, "x", "y", "z"),
        (*pedigree.litters, Litter((size + 2,), sires=(size,), dams=(size + 1,))),
    )
    odd = np.ones((size + 3, 3))
    # Two sure selfs have a pup with two doses: not even another sire explains it.
    odd[size:] = [(1, 0, 0), (1, 0, 0), (0, 0, 1)]
    found = fit(both, [*looks, [], [], []], errors=0.01, given=odd)
    assert found.left_out == (size, size + 1, size + 2)
    assert found.parameters.frequency == pytest.approx(alone.parameters.frequency, rel=1e-9)


def test_a_family_that_is_too_tangled_is_left_out(monkeypatch):
    whole = fitting_evidence.dose_posterior
    monkeypatch.setattr(
        fitting_evidence,
        "dose_posterior",
        lambda *arguments, **values: whole(*arguments, **values, budget=200.0),
    )
    pedigree, looks = simulated(3, animals=25)
    size = len(looks)
    both = Pedigree((*pedigree.ids, "x", "y"), (*pedigree.litters, Litter((size, size + 1))))
    found = fit(both, [*looks, [], []], errors=0.01)
    assert found.left_out
    assert set(found.left_out) <= set(range(size))


@pytest.mark.parametrize("values", [{"frequency": 0.0}, {"genes": 0}, {"animals": -1}])
def test_it_refuses_a_prior_that_cannot_be(values):
    with pytest.raises(ValueError, match="a prior has"):
        Prior(**values)


@pytest.mark.parametrize(("day", "spread"), [(0, 1), (1, 0), (1, math.inf), (1, math.nan)])
def test_it_refuses_ages_that_cannot_be(day, spread):
    with pytest.raises(ValueError, match="median age"):
        CURVES.with_ages([day, 1, 1, 1, 1], "odd", [spread, 1, 1, 1, 1])


# ------------------------------------------------------------------------------------ climbing


def test_a_step_on_a_hill_reaches_its_top():
    top = np.array([1.0, -0.5])
    there = climb(lambda x: float(-((x - top) ** 2).sum()), np.zeros(2))
    np.testing.assert_allclose(there, top, atol=1e-9)


def test_a_step_leaves_a_saddle():
    def saddle(x):
        return float(x[0] ** 2 - x[1] ** 2)

    assert saddle(climb(saddle, np.zeros(2))) > 0


def test_there_is_no_step_from_the_top():
    assert climb(lambda x: float(-(x**2).sum()), np.zeros(2)).tolist() == [0, 0]


def test_a_step_is_no_longer_than_one():
    assert climb(lambda x: float(-(x**2).sum()), np.array([5.0])) == pytest.approx([4], abs=1e-6)


def test_a_step_that_leads_past_the_top_and_down_is_halved():
    def ridge(x):  # Newton's step from 0.2 leads to -0.8
        return float(-np.sqrt(1 + 100 * x[0] ** 2))

    assert ridge(climb(ridge, np.array([0.2]))) > ridge(np.array([0.2]))
