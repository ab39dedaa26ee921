"""Compiles beforehand what an intractable family may need, so that no page waits for the compiler.

    python -m genetics.core.precompile

by itself, beside a server that has just begun: the machine code is then there for it to load.
"""

from __future__ import annotations

import os

import numpy as np

from genetics.core.inference.contraction import contract
from genetics.core.inference.elimination_order import Plan
from genetics.core.inference.factor_graph import Factor
from genetics.core.inference.large_exact import large_exact_marginals
from genetics.core.inference.order_annealing import EliminationTreeSearch, anneal
from genetics.core.large_pedigree.messages import choices_of, run_schedule
from genetics.core.large_pedigree.neighbourhoods import refine_in_neighbourhood
from genetics.core.large_pedigree.solver import PLAIN_BELOW, Register
from genetics.core.numerics.kernels import installed, is_kept
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem

OUTERMOST = (
    run_schedule,
    refine_in_neighbourhood,
    choices_of,
    anneal,
    contract,
)  # those that call the others


def is_done() -> bool:
    """Whether no family waits for the compiler: its work is there, or it is not installed."""
    return not installed() or all(is_kept(kernel) for kernel in OUTERMOST)


def warm() -> bool:
    """Call each kernel once; False where nothing can be compiled."""
    if not installed():
        return False
    _approximate()
    return _exact()


def _approximate() -> None:
    """One litter of two possible sires, just too large to be done in plain Python."""
    litter = Litter(tuple(range(3, PLAIN_BELOW)), sires=(0, 1), dams=(2,))
    pedigree = Pedigree(tuple(map(str, range(PLAIN_BELOW))), (litter,))
    rows = np.ones((PLAIN_BELOW, 3))
    problem = PosteriorProblem.of(pedigree, rows, 0.25, 0.01, None, BUDGET)
    register = Register(problem, range(PLAIN_BELOW))
    register.choices(register.figures([0, 3]).told, dams=False)


def _exact() -> bool:
    """Three variables, each in a table with each other one."""
    states, neighbours, order = (2, 2, 2), (0b110, 0b101, 0b011), (0, 1, 2)
    EliminationTreeSearch(states, neighbours, order).better(steps=1)
    pairs = ((0, 1), (1, 2), (0, 2))
    factors = [Factor(pair, np.ones((2, 2))) for pair in pairs]
    return large_exact_marginals(states, factors, Plan(order, 8.0), budget=8.0) is not None


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(10)  # what a keeper does goes first
    warm()
