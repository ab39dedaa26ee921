"""Orders of elimination: every variable once, the price as stated, and cheap where it can be."""

import math
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.inference.elimination_order import plan


def definition_of_price(states, scopes, order):
    """Eliminate in order, joining neighbours; add up the tables' entries."""
    joined = [set(scope) for scope in scopes]
    price = 0
    for variable in order:
        met = [scope for scope in joined if variable in scope]
        table = set().union({variable}, *met)
        price += math.prod(states[other] for other in table)
        joined = [scope for scope in joined if variable not in scope] + [table - {variable}]
    return price


@st.composite
def networks(draw, most):
    count = draw(st.integers(1, most))
    states = draw(st.lists(st.integers(2, 4), min_size=count, max_size=count))
    variables = st.integers(0, count - 1)
    scope = st.lists(variables, min_size=1, max_size=3, unique=True).map(tuple)
    return states, draw(st.lists(scope, max_size=2 * count))


@settings(deadline=None)
@given(networks(most=12))
def test_it_works(network):
    states, scopes = network
    found = plan(states, scopes)
    assert sorted(found.order) == list(range(len(states)))
    assert found.price == pytest.approx(definition_of_price(states, scopes, found.order))
    assert plan(states, scopes) == found


@settings(max_examples=50, deadline=None)
@given(networks(most=6))
def test_small_ones_are_near_the_cheapest_of_all_orders(network):
    states, scopes = network
    cheapest = min(
        definition_of_price(states, scopes, order) for order in permutations(range(len(states)))
    )
    assert cheapest * (1 - 1e-12) <= plan(states, scopes).price <= 2 * cheapest


def grid(side):
    """Neighbours on a board: tangled enough to be dear."""
    here = [(row * side + column, row, column) for row in range(side) for column in range(side)]
    return [(cell, cell + 1) for cell, _, column in here if column < side - 1] + [
        (cell, cell + side) for cell, row, _ in here if row < side - 1
    ]


def test_what_is_dear_is_tried_more_often():
    side = 9
    states, scopes = [3] * side**2, grid(side)
    dear = plan(states, scopes)
    assert dear.price == pytest.approx(definition_of_price(states, scopes, dear.order))
    assert plan(states, scopes, affordable=dear.price / 2).price <= dear.price
