"""Orders of elimination searched for by rotations: no dearer than the first, at a price that is so.

Small networks are rotated by the kernel as plain Python; what compiles it is slow.
"""

from itertools import product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from genetics.core.inference import large_exact, order_annealing
from genetics.core.inference.elimination_order import Plan, plan
from genetics.core.inference.large_exact import better_plan
from genetics.core.inference.order_annealing import EliminationTreeSearch, anneal
from tests.genetics.core.inference.test_elimination_order import definition_of_price, grid, networks

by_hypothesis = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture
def plain(monkeypatch):
    """The kernel as Python: nobody waits for a compiler."""
    monkeypatch.setattr(order_annealing, "anneal", anneal.plain)


@given(networks(most=10), st.randoms(use_true_random=False))
def test_the_price_of_a_better_plan_is_that_of_all_its_order(network, chance):
    states, scopes = network
    first = plan(states, scopes, tries=0)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(order_annealing, "anneal", lambda tree, steps, best: 0.0)
        patch.setattr(large_exact, "SOON", 0)
        patch.setattr(EliminationTreeSearch, "better", lambda search: None)
        better = better_plan.__wrapped__(
            tuple(states), tuple(map(tuple, scopes)), first.order, first.sure, 1e9
        )
    assert better.order[: first.sure] == first.order[: first.sure]
    assert better.price == pytest.approx(definition_of_price(states, scopes, better.order))


def test_the_best_of_all_rounds_is_kept_and_the_search_begins_again(monkeypatch):
    states, scopes = [3] * 16, grid(4)
    first = plan(states, scopes, tries=0)
    found = [[30, 20, 25], [50, 10, 40]]  # prices, from each beginning on

    class Search(EliminationTreeSearch):
        def begin(self):
            super().begin()
            self.coming = found.pop(0) if hasattr(self, "coming") else []

        def better(self):
            self.found = Plan(self.order, float(self.coming.pop(0)))

    monkeypatch.setattr(large_exact, "EliminationTreeSearch", Search)
    monkeypatch.setattr(large_exact, "SOON", 0)
    task = (tuple(states), tuple(scopes), first.order, first.sure)
    better = better_plan.__wrapped__(*task, 1e9)
    assert better.price == 10 + definition_of_price(states, scopes, first.order[: first.sure])
    assert found == []


@settings(by_hypothesis, max_examples=30)
@given(networks(most=10), st.randoms(use_true_random=False))
def test_an_order_gets_no_dearer_and_its_price_is_as_stated(plain, network, chance):
    states, scopes = network
    neighbours = [0] * len(states)
    for scope in scopes:
        for one, other in product(scope, scope):
            neighbours[one] |= (one != other) << other
    first = list(range(len(states)))
    chance.shuffle(first)
    begun = EliminationTreeSearch(states, neighbours, first)
    assert begun.found.price == definition_of_price(states, scopes, first)
    begun.rounds = 1  # the round that `better` begins, and so its luck
    tree = begun.tree()
    begun.rounds = 0
    best = np.empty(len(states), dtype=np.int64)
    least = anneal.plain(tree, 40, best)
    costs = tree.figures[order_annealing.COST].sum()  # what rotations added up to
    begun.better(steps=40)
    found = begun.found
    assert sorted(found.order) == sorted(first)
    assert found.price == definition_of_price(states, scopes, found.order)
    assert found.price <= definition_of_price(states, scopes, first)
    assert found.price == pytest.approx(least, rel=2e-3) or found.price < least
    assert costs >= found.price * (1 - 1e-9)
    again = EliminationTreeSearch(states, neighbours, first)
    again.better(steps=40)
    assert again.found == found


@pytest.mark.slow
def test_compiled_rotations_are_the_same_and_find_what_greedy_orders_do_not(monkeypatch):
    states, scopes = [3] * 49, grid(7)
    neighbours = [0] * 49
    for one, other in scopes:
        neighbours[one] |= 1 << other
        neighbours[other] |= 1 << one
    first = plan(states, scopes, tries=0)
    trees = [EliminationTreeSearch(states, neighbours, first.order).tree() for _ in range(2)]
    best = np.empty((2, 49), dtype=np.int64)
    assert anneal.plain(trees[0], 500, best[0]) == pytest.approx(anneal(trees[1], 500, best[1]))
    assert best[0].tolist() == best[1].tolist()
    monkeypatch.setattr(large_exact, "SOON", 0)  # nothing is cheap enough
    better = better_plan(tuple(states), tuple(scopes), first.order, first.sure, first.price)
    assert better.price == pytest.approx(definition_of_price(states, scopes, better.order))
    assert better.price < first.price
