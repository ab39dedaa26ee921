"""Which records move a dose, and how far."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from genetics.core.dose import Impossible, reckon_dose
from genetics.core.pedigree import Litter, Pedigree
from genetics.core.reasons import reasons_for
from tests.genetics.core.small_pedigrees import evidence, pedigrees

SELF, ONE, TWO, UNSEEN = (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1)


def by_group(reasons):
    return {(reason.kind, reason.litter): reason for reason in reasons.reasons}


def test_it_works():
    # six marked pups from self sows and none unmarked: 64 times likelier with two doses than
    # with one, and ruled out with none
    pedigree = Pedigree(("boar", "sow", *"abcdef"), (Litter(tuple(range(2, 8)), (0,), (), (1,)),))
    rows = np.array([UNSEEN, SELF, *[ONE] * 6], float)
    reasons = reasons_for(pedigree, rows, 0, frequency=0.5, founder_prior=None)
    (litter,) = reasons.reasons
    assert (litter.kind, litter.litter, litter.animals) == ("litter", 0, (1, 2, 3, 4, 5, 6, 7))
    assert litter.ratios == pytest.approx([0, 1 / 64, 1])
    assert reasons.prior_odds == pytest.approx(1 / 3)
    assert reasons.posterior_odds == pytest.approx(32)  # 1/4 to 1/2 * 1/64
    assert litter.two_doses == pytest.approx(96)
    assert reasons.overlap == pytest.approx(1)


def test_each_door_is_a_group():
    # 0 x 1 -> 2 and its mate 3; 2 x 4 -> 5; 2 x 6 -> 7, whose pup by 8 is 9
    pedigree = Pedigree(
        tuple("abcdefghij"),
        (
            Litter((2, 3), (0,), (), (1,)),
            Litter((5,), (2,), (), (4,)),
            Litter((7,), (2,), (), (6,)),
            Litter((9,), (8,), (), (7,)),
        ),
    )
    rows = np.full((10, 3), (0.3, 1, 0.6))
    rows[4] = 1
    reasons = reasons_for(pedigree, rows, 2, frequency=0.3)
    assert {group: reason.animals for group, reason in by_group(reasons).items()} == {
        ("own", -1): (2,),
        ("sire", -1): (0,),
        ("dam", -1): (1,),
        ("littermates", -1): (3,),
        ("litter", 1): (5,),
        ("litter", 2): (6, 7, 8, 9),
    }


def test_independent_records_multiply_to_the_whole():
    # one parent's side, own look, two litters from unrelated sows
    pedigree = Pedigree(
        tuple("abcdefg"),
        (Litter((1,), (0,)), Litter((3, 4), (1,), (), (2,)), Litter((6,), (1,), (), (5,))),
    )
    rows = np.array([TWO, (0.2, 1, 0.8), SELF, ONE, ONE, SELF, ONE], float)
    reasons = reasons_for(pedigree, rows, 1, frequency=0.3)
    chances = reasons.prior.copy()
    for reason in reasons.reasons:
        chances *= reason.ratios
    # a two-dose sire rules none out beforehand: the other groups say nothing of that dose
    assert np.isnan(by_group(reasons)["litter", 1].ratios[0])
    marked = chances[1:] / chances[1:].sum()
    assert marked == pytest.approx(reasons.posterior[1:])


def test_two_litters_with_one_sow_overlap_and_it_is_said():
    # whether the sow is a self is settled by either litter: together they say less than twice
    pedigree = Pedigree(tuple("abcd"), (Litter((2,), (0,), (), (1,)), Litter((3,), (0,), (), (1,))))
    rows = np.array([UNSEEN, UNSEEN, TWO, TWO], float)
    reasons = reasons_for(pedigree, rows, 0, frequency=0.2)
    assert reasons.overlap != pytest.approx(1, rel=0.05)
    assert {reason.kind for reason in reasons.reasons} == {"litter"}


@settings(max_examples=40, deadline=None)
@given(pedigrees(most=7), st.data())
def test_reasons_agree_with_leaving_records_out(pedigree, data):
    rows = data.draw(evidence(len(pedigree)))
    animal = data.draw(st.integers(0, len(pedigree) - 1))
    try:
        posterior = reckon_dose(pedigree, rows, frequency=0.3, errors=0.05).chances[animal]
    except Impossible:
        assume(False)
    reasons = reasons_for(pedigree, rows, animal, frequency=0.3, errors=0.05)
    assert reasons.posterior == pytest.approx(posterior, abs=1e-12)
    family = next(family for family in pedigree.families() if animal in family)
    telling = {member for member in family if len(set(rows[member])) > 1}
    named = [member for reason in reasons.reasons for member in reason.animals]
    assert sorted(named) == sorted(telling)
    for reason in reasons.reasons:
        kept = rows.copy()
        kept[list(reason.animals)] = 1
        without = reckon_dose(pedigree, kept, frequency=0.3, errors=0.05).chances[animal]
        known = without > 0
        assert np.isnan(reason.ratios[~known]).all()
        expected = posterior[known] / without[known]
        assert reason.ratios[known] == pytest.approx(expected / expected.max(), abs=1e-10)


def test_the_strongest_comes_first():
    pedigree = Pedigree(tuple("abc"), (Litter((1,), (0,)), Litter((2,), (1,))))
    rows = np.array([(0.9, 1, 1), UNSEEN, SELF], float)
    reasons = reasons_for(pedigree, rows, 1, frequency=0.3)
    assert [reason.kind for reason in reasons.reasons] == ["litter", "sire"]
    assert reasons.reasons[0].two_doses == 0


def test_an_animal_with_no_records_has_no_reasons():
    reasons = reasons_for(Pedigree(("a",), ()), np.ones((1, 3)), 0, frequency=0.3)
    assert reasons.reasons == ()
    assert reasons.prior == pytest.approx([0.49, 0.42, 0.09])
    assert reasons.posterior_odds == pytest.approx(0.09 / 0.91)
    assert reasons.overlap == pytest.approx(1)


def test_too_tangled_gives_no_reasons():
    pedigree = Pedigree(tuple("abc"), (Litter((2,), (0,), (), (1,)),))
    rows = np.array([UNSEEN, UNSEEN, (0.1, 1, 0.2)])
    assert reasons_for(pedigree, rows, 0, frequency=0.3, budget=5) is None


def test_certainty_is_infinite_odds():
    reasons = reasons_for(Pedigree(("a",), ()), np.array([TWO], float), 0, frequency=0.3)
    assert math.isinf(reasons.posterior_odds)
    assert math.isinf(reasons.reasons[0].two_doses)
