"""The exact engine meets its definition, refuses plainly, and keeps its invariants."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from genetics.core.inference.factor_graph import Factor
from genetics.core.inference.junction_tree import possible
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.dose import (
    InconsistentEvidenceError,
    dose_posterior,
    joint_dose,
    joint_doses,
)
from tests.examples import examples
from tests.genetics.core.small_pedigrees import definition_of_dose, evidence, pedigrees

SELF, ONE, TWO, UNSEEN = (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1)
rates = st.sampled_from([0.0, 0.02, 0.3])
frequencies = st.sampled_from([0.05, 0.25, 0.6])


@st.composite
def cases(draw, most=5):
    pedigree = draw(pedigrees(most=most))
    return pedigree, draw(evidence(len(pedigree))), draw(frequencies), draw(rates)


def trio(sire=UNSEEN, dam=UNSEEN, *pups):
    """boar 0, sow 1 and their litter"""
    rows = np.array([sire, dam, *pups], float)
    litter = Litter(tuple(range(2, len(rows))), sires=(0,), dams=(1,))
    return Pedigree(("boar", "sow", *(f"pup {n}" for n in range(len(pups)))), (litter,)), rows


def test_it_works():
    # overmarked boar to a self sow: a whole litter of one dose, and no doubt left
    pedigree, rows = trio(TWO, SELF, UNSEEN, UNSEEN)
    dose = dose_posterior(pedigree, rows, frequency=0.25)
    assert dose.chances.tolist() == [[0, 0, 1], [1, 0, 0], [0, 1, 0], [0, 1, 0]]
    assert dose.method == ("exact",) * 4
    assert dose.tangled == ()


@settings(max_examples=examples(150), deadline=None)
@given(cases())
def test_it_meets_the_definition(case):
    pedigree, likelihood, frequency, errors = case
    expected = definition_of_dose(pedigree, likelihood, frequency, errors)
    if expected is None:
        with pytest.raises(InconsistentEvidenceError):
            dose_posterior(pedigree, likelihood, frequency=frequency, errors=errors)
        return
    dose = dose_posterior(pedigree, likelihood, frequency=frequency, errors=errors)
    assert dose.chances == pytest.approx(expected[0], abs=1e-12)


@settings(max_examples=examples(40), deadline=None)
@given(cases(most=4), st.data())
def test_the_joint_posterior_meets_the_definition(case, data):
    pedigree, likelihood, frequency, errors = case
    expected = definition_of_dose(pedigree, likelihood, frequency, errors)
    assume(expected is not None)
    animal = data.draw(st.integers(0, len(pedigree) - 1))
    joint = joint_doses(pedigree, likelihood, animal, frequency=frequency, errors=errors)
    assert joint == pytest.approx(expected[1][animal], abs=1e-12)


def test_a_pair_in_one_call():
    pedigree, rows = trio(UNSEEN, UNSEEN, ONE)
    joint = joint_dose(pedigree, rows, (0, 1), frequency=0.5)
    # weights of (sire, dam) times the chance of a one-dose pup, in sixteenths
    prior = np.outer([1, 2, 1], [1, 2, 1]) * [[0, 0.5, 1], [0.5, 0.5, 0.5], [1, 0.5, 0]]
    assert joint == pytest.approx(prior / prior.sum(), abs=1e-15)
    with pytest.raises(ValueError, match="two different"):
        joint_dose(pedigree, rows, (1, 1), frequency=0.5)


@settings(max_examples=examples(40), deadline=None)
@given(cases(most=4), st.data())
def test_founders_may_have_a_prior_of_their_own(case, data):
    pedigree, likelihood, frequency, errors = case
    row = st.sampled_from([(1, 2, 1), (0.9, 0.1, 0), (0, 0, 1)])
    prior = np.full((len(pedigree), 3), np.nan)
    for animal in np.flatnonzero(pedigree.litter_of == -1):
        prior[animal] = data.draw(row)
    shares = prior / prior.sum(axis=1, keepdims=True)
    expected = definition_of_dose(pedigree, likelihood, frequency, errors, shares)
    assume(expected is not None)
    dose = dose_posterior(
        pedigree, likelihood, frequency=frequency, errors=errors, founder_prior=prior
    )
    assert dose.chances == pytest.approx(expected[0], abs=1e-12)


@settings(max_examples=examples(60), deadline=None)
@given(cases(most=10), st.data())
def test_chances_sum_to_one_and_neither_rows_nor_scale_matter(case, data):
    pedigree, likelihood, frequency, errors = case
    try:
        dose = dose_posterior(pedigree, likelihood, frequency=frequency, errors=errors)
    except InconsistentEvidenceError:
        assume(False)
    assert dose.chances.sum(axis=1) == pytest.approx(1, abs=1e-12)

    new = np.array(data.draw(st.permutations(range(len(pedigree)))))
    moved = Pedigree(
        pedigree.ids,
        tuple(
            Litter(
                tuple(new[list(litter.pups)].tolist()),
                tuple(new[list(litter.sires)].tolist()),
                litter.sire_weights,
                tuple(new[list(litter.dams)].tolist()),
                litter.dam_weights,
            )
            for litter in reversed(pedigree.litters)
        ),
    )
    scale = np.array(data.draw(st.lists(st.sampled_from([1e-250, 3.0, 1e200]), min_size=1)))
    rows = np.empty_like(likelihood)
    rows[new] = likelihood * np.resize(scale, len(pedigree))[:, None]
    again = dose_posterior(moved, rows, frequency=frequency, errors=errors)
    assert again.chances[new] == pytest.approx(dose.chances, abs=1e-12)


@settings(max_examples=examples(60), deadline=None)
@given(cases(most=8), st.data())
def test_an_animal_without_data_changes_nobody(case, data):
    pedigree, likelihood, frequency, errors = case
    try:
        dose = dose_posterior(pedigree, likelihood, frequency=frequency, errors=errors)
    except InconsistentEvidenceError:
        assume(False)
    count = len(pedigree)
    parents = data.draw(st.permutations(range(count)))
    more = Pedigree(
        (*pedigree.ids, "new", "newer"),
        (
            *pedigree.litters,
            Litter((count, count + 1), sires=(parents[0],), dams=tuple(parents[1:2])),
        ),
    )
    rows = np.vstack([likelihood, np.ones((2, 3))])
    again = dose_posterior(more, rows, frequency=frequency, errors=errors)
    assert again.chances[:count] == pytest.approx(dose.chances, abs=1e-12)


def test_littermates_share_the_slip_of_a_wrong_sire():
    # three selfs from a two-dose boar are one slip, not three
    pedigree, rows = trio(TWO, SELF, SELF, SELF, SELF)
    dose = dose_posterior(pedigree, rows, frequency=0.25, errors=0.01)
    assert dose.sire_shares[0].tolist() == [0, 1]
    pedigree, rows = trio((0, 1, 1000), SELF, SELF, SELF, SELF)
    dose = dose_posterior(pedigree, rows, frequency=0.25, errors=0.01)
    # by hand: recorded sire 0.99 of one dose 6/16 * 1/8; another 0.01 of all 3 selfs
    one, two = 2 * 0.25 * 0.75, 0.25**2 * 1000
    other = 0.01 * (0.75**2 + one / 8) * (one + two)
    recorded = 0.99 * one / 8
    assert dose.sire_shares[0][1] == pytest.approx(other / (other + recorded), rel=1e-12)


def test_each_boar_gets_his_share():
    # a self boar and a two-dose boar ran with a self sow; the pup is marked
    pedigree = Pedigree(
        ("self", "over", "sow", "pup"),
        (Litter((3,), sires=(0, 1), sire_weights=(9, 1), dams=(2,)),),
    )
    rows = np.array([SELF, TWO, SELF, (1, 99, 0)], float)
    shares = dose_posterior(pedigree, rows, frequency=0.2).sire_shares[0]
    assert shares == pytest.approx([9 / 108, 99 / 108], abs=1e-15)


def test_every_selector_share_sums_to_one():
    pedigree = Pedigree(tuple("abcde"), (Litter((4,), sires=(0, 1), dams=(2, 3)),))
    dose = dose_posterior(pedigree, np.ones((5, 3)), frequency=0.3, errors=0.1)
    assert dose.sire_shares[0] == pytest.approx([0.45, 0.45, 0.1])
    assert dose.dam_shares[0] == pytest.approx([0.5, 0.5])


def named(pedigree, rows, **rates):
    with pytest.raises(InconsistentEvidenceError) as caught:
        dose_posterior(pedigree, rows, frequency=0.25, **rates)
    return dict(zip(caught.value.animals, caught.value.single, strict=True))


def test_it_names_each_row_whose_evidence_alone_is_to_blame():
    assert named(*trio(SELF, UNSEEN, ONE, TWO)) == {0: True, 3: True}


def test_it_names_all_the_evidence_of_the_family_where_no_single_row_is_to_blame():
    # two impossible pups: neither alone, nor the boar's own row with a self sow beside it
    pedigree, rows = trio(SELF, SELF, TWO, TWO, UNSEEN)
    assert named(pedigree, rows) == {0: False, 1: False, 2: False, 3: False}


def test_it_names_over_all_families_and_only_those_that_are_impossible():
    pedigree = Pedigree.from_parents(
        ("a", "pup a", "b", "pup b", "c", "pup c"), (-1, 0, -1, 2, -1, 4), (-1,) * 6
    )
    rows = np.array([SELF, TWO, SELF, ONE, TWO, SELF], float)
    assert named(pedigree, rows) == {0: True, 1: True, 4: True, 5: True}
    assert dose_posterior(pedigree, rows, frequency=0.25, errors=0.01).method == ("exact",) * 6


def definition_of_blame(pedigree, rows, frequency, errors):
    """By leaving one row out at a time, family by family."""
    named = []
    for family in pedigree.families():

        def explained(without, family=family):
            kept = np.ones_like(rows)
            kept[family] = rows[family]
            kept[without] = 1
            return definition_of_dose(pedigree, kept, frequency, errors) is not None

        telling = [a for a in family if len(set(rows[a])) > 1]
        if not explained([]):
            named += [a for a in telling if explained([a])] or telling
    return tuple(sorted(named))


@settings(max_examples=examples(40), deadline=None)
@given(pedigrees(most=4, choices=1), st.data())
def test_the_names_meet_the_definition(pedigree, data):
    hard = st.sampled_from([SELF, ONE, TWO, (0, 1, 1), (0.2, 1, 0.5)])
    rows = np.array([data.draw(hard) for _ in pedigree.ids], float)
    expected = definition_of_blame(pedigree, rows, 0.25, 0.0)
    if expected:
        with pytest.raises(InconsistentEvidenceError) as caught:
            dose_posterior(pedigree, rows, frequency=0.25)
        assert caught.value.animals == expected
    else:
        dose_posterior(pedigree, rows, frequency=0.25)


def test_evidence_fainter_than_a_computer_holds_is_still_weighed():
    # 25 pups that look 1e12 times likelier selfs than marked, of a boar who looks 1e292 times
    # likelier of two doses than of one: two doses 1e-300, one dose 1e-292 / 2^25
    pedigree, rows = trio((0, 1e-292, 1), SELF, *[(1, 1e-12, 1e-24)] * 25)
    dose = dose_posterior(pedigree, rows, frequency=0.5)
    odds = 2 * 1e8 * ((1 + 1e-12) / 2) ** 25
    assert dose.chances[0, 1] / dose.chances[0, 2] == pytest.approx(odds, rel=1e-10)
    # and 50 pups, 1e-600, against what only another pup allows
    pedigree, rows = trio((0, 1e-292, 1), SELF, *[(1, 1e-12, 1e-24)] * 50, (1e-300, 1, 0))
    dose = dose_posterior(pedigree, rows, frequency=0.5)
    assert dose.chances[0, :2].tolist() == [0, 1]
    assert dose.chances[0, 2] == pytest.approx(2**50 * 1e-308, rel=1e-6)
    by_hand = np.log(2 / 4 * 1e-292 / 2) + 50 * np.log((1 + 1e-12) / 2)
    assert dose.log_likelihood == pytest.approx(by_hand + np.log(1 / 4), rel=1e-12)


def alike_along_a_line(steps, faint=1e-28):
    """A boar, his son, his grandson ... by founders: none of one dose, so that all have as many.

    The first half of the line speaks for none, the second for two, and each as much as the other
    but for the last one, who is three times likelier of two: odds of 3 to 1 at even frequencies.
    """
    rows, litters = [(1, 0, faint)], []
    for step in range(1, 2 * steps):
        dam, young = len(rows), len(rows) + 1
        rows += [(1, 0, 1), (1, 0, faint) if step < steps else (faint, 0, 1)]
        litters.append(Litter((young,), sires=(max(0, dam - 1),), dams=(dam,)))
    rows[-1] = (faint, 0, 3)
    return Pedigree(tuple(map(str, range(len(rows)))), tuple(litters)), np.array(rows, float)


@pytest.mark.parametrize("steps", [5, 11, 12, 30])
def test_a_state_that_looks_hopeless_half_way_is_not_lost(steps):
    # no table's largest entry is small, but from 12 steps on the state of two falls below 1e-308
    pedigree, rows = alike_along_a_line(steps)
    dose = dose_posterior(pedigree, rows, frequency=0.5)
    assert set(dose.method) == {"exact"}
    assert dose.chances == pytest.approx(np.tile([0.25, 0, 0.75], (len(rows), 1)), abs=1e-9)


def test_what_is_fainter_than_a_computer_holds_is_possible():
    factors = [Factor((0,), np.array([1e-200, 0])), Factor((0,), np.array([1e-200, 1]))]
    assert possible([2], [0], factors)


def tangle(boars=6, sows=6):
    """Every boar with every sow, all unseen, and a marked pup of each pair."""
    count = boars + sows
    litters, pup = [], count
    for boar in range(boars):
        for sow in range(boars, count):
            litters.append(Litter((pup,), sires=(boar,), dams=(sow,)))
            pup += 1
    rows = np.ones((pup, 3))
    rows[count:] = (0.2, 1, 0.5)
    return Pedigree(tuple(f"a{n}" for n in range(pup)), tuple(litters)), rows


def test_it_refuses_what_is_too_tangled_and_makes_no_figure_up():
    pedigree, rows = tangle()
    pedigree = Pedigree((*pedigree.ids, "other", "pup"), (*pedigree.litters, Litter((49,), (48,))))
    rows = np.vstack([rows, ONE, UNSEEN])
    dose = dose_posterior(pedigree, rows, frequency=0.25, budget=500)
    (tangled,) = dose.tangled
    assert tangled.animals == tuple(range(48))
    assert tangled.price > 500
    assert np.isnan(dose.chances[:48]).all()
    assert dose.method == ("",) * 48 + ("exact",) * 2
    assert dose.chances[49] == pytest.approx([0.375, 0.5, 0.125])
    assert np.isnan(dose.log_likelihood)
    assert dose_posterior(pedigree, rows, frequency=0.25).tangled == ()


def test_animals_that_say_nothing_do_not_tangle_the_others():
    pedigree, rows = tangle(4, 4)
    rows[:] = 1
    rows[0] = rows[8] = (0.1, 1, 0.3)
    dear = dose_posterior(pedigree, rows, frequency=0.25)
    assert max(dear.prices) > 200
    cheap = dose_posterior(pedigree, rows, frequency=0.25, budget=200)
    assert cheap.tangled == ()
    assert cheap.chances == pytest.approx(dear.chances, abs=1e-12)
    assert cheap.log_likelihood == pytest.approx(dear.log_likelihood)


def test_hard_evidence_cuts_the_price():
    pedigree, rows = tangle()
    soft = dose_posterior(pedigree, rows, frequency=0.25)
    rows[12:] = (1, 0, 0)
    hard = dose_posterior(pedigree, rows, frequency=0.25)
    assert max(hard.prices) < 10 < max(soft.prices)


def test_the_likelihood_of_all_evidence():
    # Hardy-Weinberg by hand: a marked pup of unknown parents, on a scale of 3
    pedigree = Pedigree(("a", "b"), (Litter((1,)),))
    dose = dose_posterior(pedigree, np.array([UNSEEN, (0, 3, 0)]), frequency=0.3)
    assert dose.log_likelihood == pytest.approx(np.log(3 * 2 * 0.3 * 0.7))


@pytest.mark.parametrize(
    ("row", "words"),
    [((0, 0, 0), "b"), ((1, -1, 1), "b"), ((1, np.nan, 1), "b"), ((1, np.inf, 1), "b")],
)
def test_it_refuses_evidence_that_is_none_and_names_the_animal(row, words):
    pedigree = Pedigree(("a", "b"), ())
    with pytest.raises(ValueError, match=f"not all zero: {words}$"):
        dose_posterior(pedigree, np.array([UNSEEN, row]), frequency=0.2)


def test_a_prior_for_littermates_of_unknown_parents_counts_once_for_each():
    prior = np.array([(0.9, 0.1, 0), (np.nan,) * 3, (0.2, 0.3, 0.5)])
    pedigree = Pedigree(tuple("abc"), (Litter((0, 1)), Litter((2,))))
    dose = dose_posterior(pedigree, np.ones((3, 3)), frequency=0.3, founder_prior=prior)
    assert dose.chances[[0, 2]] == pytest.approx(prior[[0, 2]], abs=1e-15)
    # one parent's allele shared with chance 1/2 on either side
    worth = np.ones((3, 3))
    worth[0] = prior[0] / [0.49, 0.42, 0.09]
    expected, _ = definition_of_dose(pedigree, worth, 0.3, 0.0)
    assert dose.chances[1] == pytest.approx(expected[1], abs=1e-12)


def test_it_refuses_a_prior_for_an_animal_with_a_known_parent():
    pedigree, rows = trio(UNSEEN, UNSEEN, UNSEEN)
    prior = np.full((3, 3), np.nan)
    prior[2] = 1
    with pytest.raises(ValueError, match="have a known parent: pup 0"):
        dose_posterior(pedigree, rows, frequency=0.2, founder_prior=prior)


@pytest.mark.parametrize("rates", [{"frequency": 1.1}, {"frequency": 0.2, "errors": -0.1}])
def test_it_refuses_rates_that_are_none(rates):
    with pytest.raises(ValueError, match="from 0 to 1"):
        dose_posterior(Pedigree((), ()), np.empty((0, 3)), **rates)


def test_an_empty_herd_has_no_figures():
    dose = dose_posterior(Pedigree((), ()), np.empty((0, 3)), frequency=0.2)
    assert dose.chances.shape == (0, 3)
    assert dose.log_likelihood == 0
