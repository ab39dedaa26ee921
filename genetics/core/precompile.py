"""Compiles beforehand what a tangled herd may need, so that no page waits for the compiler.

    python -m genetics.core.precompile

by itself, beside a server that has just begun: the machine code is then there for it to load.
"""

from __future__ import annotations

import os

import numpy as np

from genetics.core.inference.elimination_order import Plan
from genetics.core.inference.factor_graph import Factor
from genetics.core.inference.large_exact import large_exact_marginals
from genetics.core.inference.order_annealing import EliminationTreeSearch
from genetics.core.numerics.kernels import installed


def warm() -> bool:
    """Call each kernel of `dear` once, on three variables; False where nothing can be compiled."""
    if not installed():
        return False
    states, neighbours, order = (2, 2, 2), (0b110, 0b101, 0b011), (0, 1, 2)
    EliminationTreeSearch(states, neighbours, order).better(steps=1)
    pairs = ((0, 1), (1, 2), (0, 2))
    factors = [Factor(pair, np.ones((2, 2))) for pair in pairs]
    return large_exact_marginals(states, factors, Plan(order, 8.0), budget=8.0) is not None


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(10)  # what a keeper does goes first
    warm()
