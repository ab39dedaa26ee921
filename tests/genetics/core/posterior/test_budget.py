"""What is too dear is not tried for ever: bounds on attempts, counted and not timed."""

import numpy as np
import pytest

from genetics.core.posterior import dose
from genetics.core.posterior.dose import (
    ATTEMPT,
    MOST_UNTOLD,
    UNINFORMATIVE_BUDGET,
    InconsistentEvidenceError,
    dose_posterior,
)
from tests.benchmarks.herds import FREQUENCY, Habits, bred


@pytest.fixture
def spent(monkeypatch):
    """The prices of every solution, a list for each."""
    prices = []
    solve = dose.solve

    def noted(network, budget, *once):
        solution = solve(network, budget, *once)
        prices.append(solution.prices)
        return solution

    monkeypatch.setattr(dose, "solve", noted)
    return prices


def herd(**habits):
    return bred(np.random.default_rng(4), Habits(160, **habits))


def reckoned(one, likelihood, budget):
    return dose_posterior(one.pedigree, likelihood, frequency=FREQUENCY, budget=budget)


def test_litters_that_say_nothing_are_worked_out_several_at_once(spent):
    one = herd(unseen=0.9, certain=0.0)
    exact = reckoned(one, one.likelihood, 1e8)
    budget = max(map(max, spent)) / 5
    spent.clear()
    cheap = reckoned(one, one.likelihood, budget)
    np.testing.assert_allclose(cheap.chances, exact.chances, atol=1e-12)
    assert len(spent) < 12 < len(one.pedigree.litters) / 4


@pytest.mark.parametrize("share", [0.1, 0.05])
def test_patience_with_them_ends(spent, share):
    one = herd(unseen=0.9, certain=0.0)
    reckoned(one, one.likelihood, 1e8)
    budget = max(map(max, spent)) * share
    spent.clear()
    cheap = reckoned(one, one.likelihood, budget)
    assert np.isnan(cheap.chances[:, 0]).any()
    attempts = spent[2:]  # after the whole, and those that say something
    assert len(attempts) <= UNINFORMATIVE_BUDGET / ATTEMPT
    cost = [sum(min(price / budget, 1) for price in prices) for prices in attempts]
    assert UNINFORMATIVE_BUDGET / 2 < sum(cost) < UNINFORMATIVE_BUDGET + 1


def test_who_is_to_blame_is_not_asked_for_ever(monkeypatch):
    one = herd(unseen=0.7, certain=0.2)
    likelihood = one.likelihood.copy()
    hard = np.flatnonzero((likelihood == 0).any(axis=1))
    likelihood[hard] = np.roll(likelihood[hard], 1, axis=0)
    asked = []
    monkeypatch.setattr(dose, "can_be", lambda network, budget: asked.append(budget))
    with pytest.raises(InconsistentEvidenceError) as raised:
        reckoned(one, likelihood, 1e6)
    assert len(asked) == MOST_UNTOLD
    # nobody is singled out: all that was seen is named
    assert not any(raised.value.single)
    assert len(raised.value.animals) > len(hard)
