"""Who else may be the parent: against each possibility worked out by itself."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.penetrance.group_counts import SeenTogether
from genetics.core.posterior.dose import dose_posterior, solve_problem
from genetics.core.record_errors.alternative_parents import (
    FROM_THE_HERD,
    dam_suspects,
    sire_suspects,
    with_other_dams,
)
from tests.examples import examples
from tests.genetics.core.chances import tally_of

FREQUENCY, ERRORS, RATE = 0.3, 0.02, 0.05
IDS = ("grandsire", "dam", "written", "brother", "stranger", "nurse", "pup", "second")
rows = st.lists(st.sampled_from([0.05, 0.3, 1.0]), min_size=3, max_size=3)


def herd(sires, dams):
    """Two brothers among the boars, so that the written sire and an other share their evidence."""
    return Pedigree(IDS, (Litter((2, 3), sires=(0,)), Litter((6, 7), sires=sires, dams=dams)))


def case(likelihood):
    return PosteriorProblem.of(herd((2,), (1,)), likelihood, FREQUENCY, ERRORS, None, BUDGET)


def with_slip(likelihood, sires, dams):
    """The other litter's own sire may be wrong too, whoever sired this one: its two ways."""
    plain = [Litter((2, 3), sires=(0,)), Litter((2, 3))]
    chances = [1 - ERRORS, ERRORS]
    found = 0.0
    for first, weight in zip(plain, chances, strict=True):
        pedigree = Pedigree(IDS, (first, Litter((6, 7), sires=sires, dams=dams)))
        dose = dose_posterior(pedigree, likelihood, frequency=FREQUENCY, errors=0.0)
        found += weight * np.exp(dose.log_likelihood)
    return found


@settings(max_examples=examples(40), deadline=None)
@given(st.lists(rows, min_size=8, max_size=8))
def test_it_works(table):
    likelihood = np.array(table)
    found = sire_suspects([case(likelihood)], 1, (3, 4), RATE)
    fits = [with_slip(likelihood, sires, (1,)) for sires in ((2,), (3,), (4,), ())]
    each = RATE * FROM_THE_HERD / 2
    odds = np.array(fits) * [1 - RATE, each, each, RATE * (1 - FROM_THE_HERD)]
    odds /= odds.sum()
    np.testing.assert_allclose([*found.others, found.unknown], odds[1:], atol=1e-12)
    assert found.wrong == pytest.approx(1 - odds[0])


def fits_of_dams(likelihood):
    """Of the written dam, the nurse, and a sow that nobody knows: each for certain."""
    fits = np.zeros(3)
    for slip, weight in (((2,), 1 - ERRORS), ((), ERRORS)):
        fits += [weight * with_slip(likelihood, slip, dams) for dams in ((1,), (5,), ())]
    return fits


@settings(max_examples=examples(40), deadline=None)
@given(st.lists(rows, min_size=8, max_size=8))
def test_a_dam_is_weighed_against_the_sows_that_littered_beside_her(table):
    likelihood = np.array(table)
    found = dam_suspects([case(likelihood)], 1, (5,), RATE)
    odds = fits_of_dams(likelihood)
    odds *= [1 - RATE, RATE * FROM_THE_HERD, RATE * (1 - FROM_THE_HERD)]
    odds /= odds.sum()
    assert [*found.others, found.unknown] == pytest.approx(odds[1:], abs=1e-12)
    assert found.wrong == pytest.approx(1 - odds[0], abs=1e-12)


def test_a_dam_may_be_a_sow_altogether_else():
    likelihood = np.array([[1.0, 0.3, 0.05]] * 8)
    likelihood[1] = 0.05, 0.3, 1.0
    found = dam_suspects([case(likelihood)], 1, (), RATE)
    odds = fits_of_dams(likelihood)[[0, 2]] * [1 - RATE, RATE]
    assert found.others == ()
    assert found.wrong == found.unknown == pytest.approx(odds[1] / odds.sum(), abs=1e-12)


def test_the_doses_with_other_dams_weighed_give_the_same_shares():
    likelihood = np.random.default_rng(5).random((8, 3))
    found = dam_suspects([case(likelihood), case(likelihood[::-1])], 1, (5,), RATE)
    wider = with_other_dams(case(likelihood), {1: ((5,), found.weights)})
    dose = solve_problem(wider)
    assert dose.dam_shares[1] == pytest.approx([1 - found.wrong, *found.others, found.unknown])


def test_the_sire_of_pups_that_were_counted_and_have_no_line_is_weighed():
    # five pups, all overmarked, of a boar and a sow of one dose at most
    tally, _ = tally_of([SeenTogether((), 5, (0, 0, 0, 5), 140)], {})
    likelihood = np.array([(0, 0, 1), (0.1, 1, 0.01), (1, 1, 0)] + [(1, 1, 1)] * 2, float)

    def fit(sires):
        counted = Litter((), sires=sires, dams=(1,), tally=tally)
        pedigree = Pedigree(IDS[:5], (Litter((2,), sires=(0,)), counted))
        return PosteriorProblem.of(pedigree, likelihood, FREQUENCY, ERRORS, None, BUDGET)

    found = sire_suspects([fit((2,))], 1, (0, 3), RATE)
    each = RATE * FROM_THE_HERD / 2
    odds = np.array([1 - RATE, each, each, RATE * (1 - FROM_THE_HERD)])
    for number, sires in enumerate([(2,), (0,), (3,), ()]):
        case = fit(sires)
        # of several, each for certain: a slip of this litter's own is the last of the four
        certain = replace(case, locus=replace(case.locus, errors=0.0))
        slip = [1 - ERRORS, ERRORS]
        without = Pedigree(IDS[:5], (Litter((2,)), case.pedigree.litters[1]))
        both = [certain, replace(certain, pedigree=without)]
        odds[number] *= sum(
            weight * np.exp(solve_problem(one).log_likelihood)
            for weight, one in zip(slip, both, strict=True)
        )
    odds /= odds.sum()
    assert found.others == pytest.approx(odds[1:3], abs=1e-12)
    assert found.unknown == pytest.approx(odds[3], abs=1e-12)


def test_nobody_else_leaves_it_to_a_boar_from_elsewhere():
    likelihood = np.ones((8, 3))
    found = sire_suspects([case(likelihood)], 1, (), RATE)
    assert found.others == ()
    assert found.wrong == found.unknown == pytest.approx(RATE)


def test_more_boars_make_no_sire_likelier_wrong_by_themselves():
    """A fair prior: without evidence the chance is the rate, however many might have been there."""
    few, many = (
        sire_suspects([case(np.ones((8, 3)))], 1, others, RATE).wrong
        for others in ((3,), (0, 3, 4))
    )
    assert few == pytest.approx(RATE)
    assert many == pytest.approx(RATE)


def test_it_refuses_a_litter_without_a_written_sire():
    unwritten = PosteriorProblem.of(
        herd((), (1,)), np.ones((8, 3)), FREQUENCY, ERRORS, None, BUDGET
    )
    with pytest.raises(ValueError, match="written sire"):
        sire_suspects([unwritten], 1, (3,), RATE)


@settings(max_examples=20, deadline=None)
@given(st.lists(rows, min_size=8, max_size=8), st.lists(rows, min_size=8, max_size=8))
def test_two_genes_that_are_not_linked_multiply(first, second):
    cases = [case(np.array(first)), case(np.array(second))]
    apart = [sire_suspects([one], 1, (3, 4), RATE) for one in cases]
    both = sire_suspects(cases, 1, (3, 4), RATE)
    each = RATE * FROM_THE_HERD / 2
    prior = np.array([1 - RATE, each, each, RATE * (1 - FROM_THE_HERD)])
    odds = prior.copy()
    for one in apart:
        odds *= np.array([1 - one.wrong, *one.others, one.unknown]) / prior
    np.testing.assert_allclose([*both.others, both.unknown], (odds / odds.sum())[1:], atol=1e-12)
