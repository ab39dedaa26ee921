"""Doses drawn together: as the slow definition has them, and as the exact engine has them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.inference.factor_graph import Factor
from genetics.core.inference.junction_tree import draw
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.penetrance.group_counts import SeenTogether
from genetics.core.posterior.dose import InconsistentEvidenceError, solve_problem
from genetics.core.posterior.sampling import draw_doses, drawn
from tests.genetics.core.chances import tally_of
from tests.genetics.core.small_pedigrees import definition_of_dose, evidence, pedigrees

DRAWS = 6000
FAR = 5 * np.sqrt(0.25 / DRAWS)  # five standard errors of the widest share


def case_of(pedigree, likelihood=None, errors=0.0, budget=BUDGET):
    likelihood = np.ones((len(pedigree), 3)) if likelihood is None else likelihood
    return PosteriorProblem.of(pedigree, likelihood, 0.3, errors, None, budget)


def joint_of(doses):
    seen = np.eye(3)[doses]
    return np.einsum("tia,tjb->ijab", seen, seen) / len(doses)


def test_it_works():
    # a boar of two doses to a sow of none: all young of one dose, in every draw
    pedigree = Pedigree.from_parents("abcd", [-1, -1, 0, 0], [-1, -1, 1, 1])
    likelihood = np.ones((4, 3))
    likelihood[0], likelihood[1] = (0, 0, 1), (1, 0, 0)
    found = draw_doses(case_of(pedigree, likelihood), 50, np.random.default_rng(1))
    assert (found.doses == [2, 0, 1, 1]).all()
    assert found.together.all()


@pytest.mark.slow
@settings(max_examples=30)
@given(pedigrees(most=5), st.data())
def test_they_are_drawn_together_as_the_definition_has_them(pedigree, data):
    likelihood = data.draw(evidence(len(pedigree)))
    errors = data.draw(st.sampled_from([0.0, 0.2]))
    expected = definition_of_dose(pedigree, likelihood, 0.3, errors)
    case = case_of(pedigree, likelihood, errors)
    if expected is None:
        with pytest.raises(InconsistentEvidenceError):
            draw_doses(case, 10, np.random.default_rng(2))
        return
    found = draw_doses(case, DRAWS, np.random.default_rng(2))
    assert found.together.all()
    assert joint_of(found.doses) == pytest.approx(expected[1], abs=FAR)


def test_a_pup_follows_what_was_counted_of_its_nameless_littermates():
    # the sire is one of two or another: three nameless pups, all overmarked, tell of him
    tally, _ = tally_of([SeenTogether((), 3, (0, 0, 0, 3), 140)], {})
    litters = (Litter((3, 4), sires=(0, 1), dams=(2,), tally=tally), Litter((5,), sires=(3,)))
    pedigree = Pedigree(tuple("abcdef"), litters)
    likelihood = np.ones((6, 3))
    likelihood[0] = (1, 0, 0)
    whole = case_of(pedigree, likelihood, errors=0.01)
    dear = case_of(pedigree, likelihood, errors=0.01, budget=200)
    exact = solve_problem(whole).chances
    found = draw_doses(dear, DRAWS, np.random.default_rng(4))
    assert found.together.all()
    assert np.eye(3)[found.doses].mean(axis=0) == pytest.approx(exact, abs=FAR)


def test_a_family_that_is_too_dear_is_drawn_one_by_one_and_says_so():
    pedigree = Pedigree.from_parents("abcde", [-1, -1, 0, 0, 2], [-1, -1, 1, 1, 3])
    likelihood = np.ones((5, 3))
    likelihood[4] = (0.1, 0.2, 0.7)
    case = case_of(pedigree, likelihood, budget=10)
    found = draw_doses(case, DRAWS, np.random.default_rng(4))
    assert not found.together.any()
    own = solve_problem(case, asked=range(5)).chances
    assert np.eye(3)[found.doses].mean(axis=0) == pytest.approx(own, abs=FAR)


def test_the_silent_follow_mendel_where_the_rest_is_exact():
    # twelve full sibs bred among themselves say nothing; two looked-at founders do
    sires = [-1, -1] + [0] * 6 + [2, 2, 4, 4]
    dams = [-1, -1] + [1] * 6 + [3, 5, 5, 7]
    pedigree = Pedigree.from_parents([str(row) for row in range(12)], sires, dams)
    likelihood = np.ones((12, 3))
    likelihood[0] = (0.001, 0.001, 1)
    exact = solve_problem(case_of(pedigree, likelihood, 0.1)).chances
    case = case_of(pedigree, likelihood, 0.1, budget=40)
    assert np.isnan(solve_problem(case).chances).any(), "the whole is too dear"
    found = draw_doses(case, DRAWS, np.random.default_rng(5))
    assert found.together.all()
    assert np.eye(3)[found.doses].mean(axis=0) == pytest.approx(exact, abs=FAR)
    parents = found.doses[:, [2, 3]]
    for pair in np.unique(parents, axis=0):
        here = found.doses[(parents == pair).all(axis=1), 8]
        assert here.mean() == pytest.approx(pair.sum() / 2, abs=5 * np.sqrt(0.5 / len(here)))


def test_weights_too_faint_for_plain_numbers_are_drawn_in_logarithms():
    # 0 and 0 together weigh 1e-200; every other pair is ruled out
    factors = [Factor((0, 1), np.array([[1e-200, 0], [1, 1]])), Factor((0,), np.array([1.0, 0]))]
    assert (draw([2, 2], [0, 1], factors, 1000, np.random.default_rng(6)) == 0).all()


@given(st.floats(0, 1, exclude_max=True))
def test_a_number_stands_for_one_dose(at):
    chances = np.array([0.25, 0.0, 0.75])
    assert drawn(chances, np.array(at)) == (0 if at < 0.25 else 2)
