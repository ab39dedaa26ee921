"""Networks solved exactly, component by component."""

import math

import numpy as np

from genetics.core.inference import exact
from genetics.core.inference.exact import solve
from genetics.core.inference.factor_graph import Network


def chain(length):
    """Variables of two states, each like the one before."""
    network = Network()
    variables = [network.variable(2) for _ in range(length)]
    network.factor((variables[0],), np.array([0.25, 0.75]))
    for one, other in zip(variables[:-1], variables[1:], strict=True):
        network.factor((one, other), np.array([[0.9, 0.1], [0.1, 0.9]]))
    return network


def test_it_works():
    found = solve(chain(5), 1000)
    assert found.tangled == []
    np.testing.assert_allclose(found.shares[0], [0.25, 0.75])


def test_no_order_is_searched_for_a_component_that_is_too_large(monkeypatch):
    monkeypatch.setattr(exact, "MOST_ORDERED", 4)
    found = solve(chain(5), 1000)
    assert found.shares == [None] * 5
    assert found.prices == [math.inf]
    assert solve(chain(4), 1000).tangled == []
