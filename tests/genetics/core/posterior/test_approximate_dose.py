"""Families too tangled to be exact: labelled, near the truth, plain where they do not settle."""

from itertools import product
from math import lgamma

import numpy as np
import pytest
from hypothesis import given, settings

from genetics.core.large_pedigree import solver
from genetics.core.pedigree.group_records import LabelSwap
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.dose import InconsistentEvidenceError, dose_posterior
from tests.benchmarks.gibbs import mendel, sampled_doses
from tests.benchmarks.herds import FREQUENCY, Habits, bred
from tests.genetics.core.posterior.test_dose import SELF, TWO, UNSEEN, cases, tangle

CHEAP = 500


def test_it_works():
    herd = bred(np.random.default_rng(4), Habits(110, unseen=0.4, certain=0.0))
    exact = dose_posterior(herd.pedigree, herd.likelihood, frequency=FREQUENCY)
    dose = dose_posterior(
        herd.pedigree, herd.likelihood, frequency=FREQUENCY, budget=1e4, approximate=True
    )
    assert max(exact.prices) > 1e4
    assert dose.tangled == ()
    assert "refined" in dose.method
    off = np.abs(dose.chances - exact.chances).max(axis=1)
    assert 1e-9 < off.max() < 0.02
    assert np.mean(off <= dose.error) >= 0.95


def shares_of_alike(boars, sows, look, frequency):
    """Exact shares of a boar where all boars, all sows and all pairs' one pup each are alike.

    Only how many boars and sows have each dose matters, so the sum runs over counts.
    """
    founder = np.array([(1 - frequency) ** 2, 2 * frequency * (1 - frequency), frequency**2])
    pup = np.log(mendel() @ np.array(look))

    def counts(of):
        rows = [(a, b, of - a - b) for a in range(of + 1) for b in range(of + 1 - a)]
        ways = [
            lgamma(of + 1) - sum(lgamma(one + 1) for one in row) + np.array(row) @ np.log(founder)
            for row in rows
        ]
        return np.array(rows), np.array(ways)

    (left, left_ways), (right, right_ways) = counts(boars), counts(sows)
    logs = left_ways[:, None] + right_ways + left @ pup @ right.T
    weight = np.exp(logs - logs.max()).sum(axis=1)
    return weight @ left / boars / weight.sum()


def test_the_sum_over_counts_meets_the_exact_engine():
    pedigree, rows = tangle(5, 4)
    exact = dose_posterior(pedigree, rows, frequency=0.25)
    assert exact.chances[0] == pytest.approx(shares_of_alike(5, 4, (0.2, 1, 0.5), 0.25), abs=1e-10)


@pytest.mark.parametrize("size", [6, 14])
def test_where_belief_propagation_errs_most_the_estimate_says_so(size):
    """Every boar to every sow and all alike: no herd is bred so, and loops are everywhere."""
    pedigree, rows = tangle(size, size)
    truth = shares_of_alike(size, size, (0.2, 1, 0.5), 0.25)
    dose = dose_posterior(
        pedigree, rows, frequency=0.25, budget=1e4, approximate=True, asked=range(4)
    )
    if dose.method[0]:
        assert np.abs(dose.chances[0] - truth).max() <= dose.error[0]
    else:
        assert 0 in dose.tangled[0].animals
        assert np.isnan(dose.error[0])


def test_a_family_that_may_be_either_way_round_gets_no_figure():
    # boars all selfs and sows all two-dose, or the other way: messages settle on one of the two
    truth = shares_of_alike(14, 14, (0.2, 1, 0.5), 0.25)
    assert truth == pytest.approx([0.494, 0.009, 0.497], abs=0.001)
    pedigree, rows = tangle(14, 14)
    dose = dose_posterior(
        pedigree, rows, frequency=0.25, budget=1e4, approximate=True, asked=range(4)
    )
    assert dose.method[0] == ""
    assert np.isnan(dose.chances[0]).all()


def test_it_is_asked_for_and_otherwise_refused():
    pedigree, rows = tangle()
    dose = dose_posterior(pedigree, rows, frequency=0.25, budget=CHEAP)
    assert set(dose.method) == {""}
    assert np.isnan(dose.error).all()


def test_what_is_exact_stays_exact_beside_it():
    pedigree, rows = tangle()
    pedigree = Pedigree((*pedigree.ids, "other", "pup"), (*pedigree.litters, Litter((49,), (48,))))
    rows = np.vstack([rows, TWO, UNSEEN])
    dose = dose_posterior(pedigree, rows, frequency=0.25, budget=CHEAP, approximate=True)
    assert dose.method[48:] == ("exact", "exact")
    assert dose.error[48:].tolist() == [0, 0]
    assert np.isnan(dose.log_likelihood)


def test_those_not_asked_for_are_approximate_and_less_sure():
    herd = bred(np.random.default_rng(5), Habits(150, unseen=0.5, certain=0.0))
    told = {"frequency": FREQUENCY, "budget": 3e3, "approximate": True}
    dose = dose_posterior(herd.pedigree, herd.likelihood, asked=[100], **told)
    assert dose.method[100] == "refined"
    others = np.array([method == "approximate" for method in dose.method])
    assert others.sum() > 50
    assert dose.error[100] < dose.error[others].min()


@settings(max_examples=60, deadline=None)
@given(cases())
def test_a_family_with_no_loop_is_worked_out_exactly_by_its_messages(case):
    """Of one litter and its candidates, belief propagation leaves no loop."""
    _, likelihood, frequency, errors = case
    count = len(likelihood)
    if count < 3:
        return
    litter = Litter(tuple(range(2, count)), sires=(0,), dams=(1,))
    pedigree = Pedigree(tuple(map(str, range(count))), (litter,))
    rows = likelihood * 0.9 + 0.1
    dose = dose_posterior(pedigree, rows, frequency=frequency, errors=errors)
    near = dose_posterior(
        pedigree, rows, frequency=frequency, errors=errors, budget=1.0, approximate=True, asked=()
    )
    assert near.chances == pytest.approx(dose.chances, abs=1e-6)


def test_the_order_of_animals_and_silent_young_change_little():
    herd = bred(np.random.default_rng(6), Habits(120, unseen=0.5, certain=0.0))
    count = len(herd.pedigree)
    told = {"frequency": FREQUENCY, "budget": 3e3, "approximate": True, "asked": [60]}
    before = dose_posterior(herd.pedigree, herd.likelihood, **told)
    litters = (*herd.pedigree.litters, Litter((count,), sires=(count - 1,), dams=(count - 2,)))
    more = Pedigree((*herd.pedigree.ids, "silent"), litters)
    after = dose_posterior(more, np.vstack([herd.likelihood, UNSEEN]), **told)
    assert after.chances[:-1] == pytest.approx(before.chances, abs=1e-6)


def test_what_does_not_settle_gets_no_figure_and_says_so(monkeypatch):
    monkeypatch.setattr(solver, "DAMPINGS", ((0.2, 3),))
    pedigree, rows = tangle()
    dose = dose_posterior(pedigree, rows, frequency=0.25, budget=CHEAP, approximate=True)
    (tangled,) = dose.tangled
    assert tangled.rounds == 3
    assert tangled.change > solver.LEAST
    assert set(dose.method) == {""}
    assert np.isnan(dose.chances).all()
    assert np.isnan(dose.error).all()


def test_pups_taken_for_each_other_are_weighed_one_by_one():
    """Exactly, whom a record is of is a choice of the litter; the clusters have none."""
    litters, rows = [], [UNSEEN] * 8
    for boar, sow in product(range(4), range(4, 8)):
        first, second = len(rows), len(rows) + 1
        rows += [(0.9, 0.4, 0.1), (0.1, 0.8, 0.5)]
        swap = LabelSwap(first, second, 0.05)
        litters.append(Litter((first, second), sires=(boar,), dams=(sow,), mix_ups=(swap,)))
    pedigree = Pedigree(tuple(map(str, range(len(rows)))), tuple(litters))
    told = {"frequency": 0.25, "errors": 0.01}
    exact = dose_posterior(pedigree, np.array(rows), **told)
    near = dose_posterior(pedigree, np.array(rows), budget=CHEAP, approximate=True, **told)
    assert set(exact.mix_ups) == set(range(16))
    assert near.mix_ups == {}
    assert set(near.method) <= {"refined", "approximate"}
    assert near.chances == pytest.approx(exact.chances, abs=0.03)


def test_uncertain_sires_get_shares_too():
    habits = Habits(50, founders=8, litters=4, unseen=0.2, certain=0.0, doubtful=0.3)
    herd = bred(np.random.default_rng(7), habits)
    exact = dose_posterior(herd.pedigree, herd.likelihood, frequency=FREQUENCY)
    assert set(exact.method) == {"exact"}
    dose = dose_posterior(
        herd.pedigree, herd.likelihood, frequency=FREQUENCY, budget=CHEAP, approximate=True
    )
    assert "refined" in dose.method
    assert len(exact.sire_shares) > 2
    assert dose.sire_shares.keys() == exact.sire_shares.keys()
    for litter, shares in exact.sire_shares.items():
        assert dose.sire_shares[litter] == pytest.approx(shares, abs=0.05)


@pytest.mark.parametrize(("errors", "doubtful"), [(0.0, 0.0), (0.01, 0.1)])
def test_at_least_95_per_cent_of_errors_lie_below_their_estimate(errors, doubtful):
    """A small part of what `tests.benchmarks.errors` measures on 500 herds, with room."""
    below = []
    for seed in (11, 14):
        chance = np.random.default_rng(seed)
        herd = bred(chance, Habits(130, boars=5, unseen=0.4, certain=0.0, doubtful=doubtful))
        told = {"frequency": FREQUENCY, "errors": errors}
        exact = dose_posterior(herd.pedigree, herd.likelihood, **told)
        near = dose_posterior(
            herd.pedigree, herd.likelihood, budget=1e4, approximate=True, asked=range(30), **told
        )
        told_apart = np.array(exact.method) == "exact"
        told_apart &= np.array(near.method) != "exact"
        off = np.abs(near.chances - exact.chances).max(axis=1)
        below += (off <= near.error)[told_apart].tolist()
    assert len(below) > 60
    assert np.mean(below) > 0.93


@pytest.mark.slow
def test_a_sampler_agrees_where_exact_cannot_reach():
    herd = bred(np.random.default_rng(21), Habits(400, boars=12, unseen=0.4, certain=0.0))
    told = {"frequency": FREQUENCY, "errors": 0.0}
    near = dose_posterior(
        herd.pedigree, herd.likelihood, approximate=True, asked=range(100, 120), **told
    )
    refined = np.array([method == "refined" for method in near.method])
    assert refined.sum() >= 15
    shares, noise = sampled_doses(
        herd.pedigree, herd.likelihood, FREQUENCY, np.random.default_rng(22)
    )
    off = np.abs(near.chances - shares)[refined]
    room = near.error[refined, None] + 4 * noise[refined] + 1e-3
    assert (off <= room).mean() > 0.97


def test_the_sampler_meets_the_exact_engine():
    herd = bred(np.random.default_rng(31), Habits(40, founders=8, litters=4, certain=0.0))
    exact = dose_posterior(herd.pedigree, herd.likelihood, frequency=FREQUENCY)
    shares, noise = sampled_doses(
        herd.pedigree, herd.likelihood, FREQUENCY, np.random.default_rng(32), sweeps=400
    )
    off = np.abs(exact.chances - shares)
    assert (off <= 4 * noise + 1e-3).mean() > 0.98
    assert off.max() < 0.03


def test_a_contradiction_that_is_found_is_named():
    pedigree, rows = tangle()
    rows[12] = TWO
    rows[0] = SELF
    with pytest.raises(InconsistentEvidenceError):
        dose_posterior(pedigree, rows, frequency=0.25, budget=CHEAP, approximate=True)
