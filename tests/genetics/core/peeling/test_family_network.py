"""How much memory the network of a large family holds."""

import numpy as np

from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from tests.benchmarks.herds import FREQUENCY, Habits, bred


def held_bytes(tables):
    """The bytes of the arrays behind some tables, each array counted once."""
    behind = (table if table.base is None else table.base for table in tables)
    return sum({id(one): one.nbytes for one in behind}.values())


def test_the_evidence_is_held_once_whatever_the_number_of_litters():
    herd = bred(np.random.default_rng(1), Habits(600))
    case = PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.01, None, BUDGET)
    network = case.network(range(len(herd.pedigree))).network
    of_one = [factor.table for factor in network.factors if len(factor.scope) == 1]
    assert len(of_one) > 300
    evidence = 3 * case.evidence.records.nbytes
    assert held_bytes(of_one) < 3 * evidence


def test_the_rows_of_evidence_are_those_of_looks_and_of_the_animal_itself():
    herd = bred(np.random.default_rng(2), Habits(40, certain=0.0))
    case = PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.0, None, BUDGET)
    held = case.holding(3, 1)
    np.testing.assert_array_equal(held.evidence.by_animal[3, [0, 2]], 0)
    np.testing.assert_array_equal(case.evidence.by_animal, herd.likelihood)
