"""How many more pups prove an animal's dose.

Checked against the published tables of test matings and carrier risks (tests/reference, each with
its source), against every order of verdicts by brute force, and against the whole calculation with
the pups written into the pedigree.
"""

import csv
import json
from fractions import Fraction
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.decisions.progeny_test import Trial, judging, prove
from genetics.core.inheritance.mendel import hardy_weinberg, transmission
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.dose import dose_posterior
from tests.genetics.core.chances import look_likelihood

REFERENCE = Path(__file__).parents[3] / "reference"
MATINGS = list(csv.DictReader((REFERENCE / "test_matings.csv").open()))
RISKS = {
    case["name"]: case
    for case in json.loads((REFERENCE / "carrier_risk.json").read_text())["carrier_risk"]
}

SELF, ONE, TWO = np.eye(3)
HALF_A_CARRIER = np.array([0.5, 0.5, 0])
# A recessive condition: two doses are affected, a normal pup has none or one.
NORMAL_OR_NOT = np.array([[1.0, 0], [1, 0], [0, 1]])
AS_IT_IS = np.eye(3)
POOL = hardy_weinberg(np.array([0.75, 0.25]))


def trial(chances, mate, judged=AS_IT_IS, *, errors=0.0, pool=POOL, as_sire=True):
    """Pups of one litter by one mate, whose sire is with chance `errors` a boar of the pool."""
    joint = np.outer(chances, mate)
    weights, doses, verdicts = [], [], []
    for own, other, sire in product(range(3), repeat=3):
        written = own if as_sire else other
        weight = joint[own, other] * ((1 - errors) * (sire == written) + errors * pool[sire])
        if weight > 0:
            weights.append(weight)
            doses.append(own)
            verdicts.append(transmission()[sire, other if as_sire else own] @ judged)
    return Trial(np.array(weights) / sum(weights), np.array(doses), np.array(verdicts))


def test_it_works():
    # One or two doses, even odds, to self sows: each marked pup doubles the odds on two doses,
    # and 2^7 is the first power above 99 to 1.
    proof = prove(trial([0, 0.5, 0.5], SELF), 2, 0.99)
    assert (proof.fewest, proof.counts, proof.found) == (7, (0, 7, 0), 1)
    assert proof.proved[1, 7] == pytest.approx(2**-7, rel=1e-12)
    assert proof.pups_for(1) == 7
    # One self pup proves one dose; half of one-dose boars' pups by selfs are selfs.
    proof = prove(trial([0, 0.5, 0.5], SELF), 1, 0.99)
    assert (proof.fewest, proof.counts) == (1, (1, 0, 0))
    assert proof.proved[1, :5] == pytest.approx([0, 1 / 2, 3 / 4, 7 / 8, 15 / 16], rel=1e-12)
    assert proof.pups_for(0.9) == 4
    assert not proof.proved[2].any()


def clearing(mates):
    if mates == "own_daughters":
        # A carrier's daughters by clear dams are carriers half the time; a clear boar's never.
        daughters = np.array([SELF, HALF_A_CARRIER, ONE])
        return Trial.with_many_litters(HALF_A_CARRIER, daughters, NORMAL_OR_NOT)
    return trial(HALF_A_CARRIER, {"recessive": TWO, "known_carrier": ONE}[mates], NORMAL_OR_NOT)


@pytest.mark.parametrize("row", MATINGS, ids=lambda row: f"{row['mates']} {row['alpha']}")
def test_it_needs_as_many_as_the_published_test_matings(row):
    # Christensen, Population Genetics (KVL), the strict numbers: 17 and 25 where 16 and 24 stand
    # in print. From even odds, alpha is the odds on a carrier that may be left.
    alpha, strict = float(row["alpha"]), int(row["n_strict_p^n<=alpha"])
    proof = prove(clearing(row["mates"]), 0, 1 / (1 + alpha), most=60)
    assert (proof.fewest, proof.counts) == (strict, (strict, 0))
    missed = float(Fraction(row["p_normal_if_carrier"]) ** strict)
    assert proof.proved[1, strict] == pytest.approx(missed, rel=1e-12)
    assert missed == pytest.approx(float(row["p^n_at_strict"]), abs=6e-8)


@pytest.mark.parametrize("count", [1, 2, 3, 5, 7, 10])
def test_it_gives_the_textbook_risk_after_normal_pups_from_a_recessive_mate(count):
    case = RISKS[f"sib_of_recessive_testcrossed_n{count}"]
    left = trial([1 / 3, 2 / 3, 0], TWO, NORMAL_OR_NOT).after((count, 0))
    assert left[1] == pytest.approx(float(Fraction(case["posterior"][0])), abs=1e-14)


chances_of_three = st.tuples(*[st.integers(1, 30)] * 3).map(lambda row: np.array(row) / sum(row))


@given(
    chances_of_three,
    chances_of_three,
    st.sampled_from([0, 1, 2]),
    st.sampled_from([0.6, 0.8, 0.95]),
    st.sampled_from([0.0, 0.1]),
    st.booleans(),
)
def test_it_is_what_every_order_of_verdicts_adds_up_to(own, mate, dose, level, errors, as_sire):
    pups = trial(
        own,
        mate,
        judging(0.06, 0.01),
        errors=errors,
        as_sire=as_sire,
    )
    most = 4
    expected = np.zeros((3, most + 1))
    for order in product(range(3), repeat=most):
        shares = pups.by_dose(pups.weights * pups.verdicts[:, order].prod(axis=1)) / own
        for judged in range(most + 1):
            counts = np.bincount(order[:judged], minlength=3).astype(float)
            if pups.after(counts)[dose] >= level:
                expected[:, judged:] += shares[:, None]
                break
    proof = prove(pups, dose, level, most)
    np.testing.assert_allclose(proof.proved, expected, atol=1e-12)


@given(chances_of_three, st.sampled_from([SELF, ONE, TWO]), st.sampled_from([0, 1, 2]))
def test_those_who_are_proved_have_the_dose_as_often_as_the_level_says(own, mate, dose):
    proof = prove(trial(own, mate, judging(), errors=0.01), dose, 0.95, 12)
    by_then = own[:, None] * proof.proved
    assert (by_then[dose] >= (0.95 - 1e-9) * by_then.sum(axis=0)).all()
    assert (np.diff(proof.proved, axis=1) >= -1e-15).all()


@pytest.mark.parametrize("as_sire", [True, False])
@pytest.mark.parametrize("counts", [(0, 4, 0), (1, 2, 0), (2, 0, 1), (0, 1, 3)])
def test_it_agrees_with_the_calculation_when_the_pups_are_written_down(as_sire, counts):
    own, mate = np.array([0.1, 0.5, 0.4]), np.array([0.7, 0.2, 0.1])
    judged = judging(0.02, 0.01)
    animals = trial(own, mate, judged, errors=0.05, as_sire=as_sire)
    pups = [kind for kind, count in enumerate(counts) for _ in range(count)]
    boar, sow = (0, 1) if as_sire else (1, 0)
    litter = Litter(tuple(range(2, 2 + len(pups))), sires=(boar,), dams=(sow,))
    pedigree = Pedigree(tuple(map(str, range(2 + len(pups)))), (litter,))
    evidence = np.vstack([np.ones((2, 3)), judged.T[pups]])
    prior = np.full((len(pedigree), 3), np.nan)
    prior[:2] = own, mate
    dose = dose_posterior(pedigree, evidence, frequency=0.25, errors=0.05, founder_prior=prior)
    np.testing.assert_allclose(animals.after(counts), dose.chances[0], atol=1e-13)


@pytest.mark.parametrize("as_sire", [True, False])
def test_pups_of_many_litters_agree_with_the_calculation_too(as_sire):
    own, mate = np.array([0.1, 0.5, 0.4]), np.array([0.7, 0.2, 0.1])
    judged = judging(0.02, 0.01)
    pups = [1, 1, 0, 2]
    litters = tuple(
        Litter(
            (5 + row,), **dict(zip(("sires", "dams"), pair if as_sire else pair[::-1], strict=True))
        )
        for row, pair in enumerate([((0,), (1 + row,)) for row in range(4)])
    )
    pedigree = Pedigree(tuple(map(str, range(9))), litters)
    evidence = np.vstack([np.ones((5, 3)), judged.T[pups]])
    prior = np.full((9, 3), np.nan)
    prior[:5] = own, *[mate] * 4
    dose = dose_posterior(pedigree, evidence, frequency=0.25, errors=0.05, founder_prior=prior)
    found = Trial.with_many_litters(
        own, np.tile(mate, (3, 1)), judged, errors=0.05, pool=POOL, as_sire=as_sire
    ).after(np.bincount(pups, minlength=3))
    np.testing.assert_allclose(found, dose.chances[0], atol=1e-13)


def test_one_who_is_proved_already_needs_no_more():
    proof = prove(trial([0.001, 0.004, 0.995], SELF), 2, 0.99)
    assert (proof.fewest, proof.counts, proof.found) == (0, (0, 0, 0), 1)


def test_a_mate_that_hides_the_difference_proves_nothing():
    # A self and a one-dose animal alike never give two doses to a self; here the pups are judged
    # only as overmarked or not.
    judged = np.array([[1.0, 0], [1, 0], [0, 1]])
    proof = prove(trial([0.5, 0.5, 0], SELF, judged), 1, 0.95)
    assert (proof.fewest, proof.counts, proof.found, proof.pups_for(0.5)) == (None, None, 0, None)


def test_verdicts_slip_as_looks_do():
    slips = judging()
    np.testing.assert_allclose(slips.sum(axis=1), 1, rtol=1e-15)
    for verdict, stage in ((0, "none"), (2, "overmarked")):
        looked = look_likelihood(stage, 1000, "mild")
        np.testing.assert_allclose(slips[:, verdict] / slips[:, verdict].max(), looked, rtol=1e-3)


def test_it_refuses_what_cannot_be():
    pups = trial([0, 0.5, 0.5], SELF)
    with pytest.raises(ValueError, match="never proved"):
        prove(pups, 0, 0.95)
    with pytest.raises(ValueError, match="level"):
        prove(pups, 2, 1.0)
    with pytest.raises(ValueError, match="no dose of the animal"):
        trial([0, 0, 1], SELF).after((1, 0, 0))
    with pytest.raises(ValueError, match="pool"):
        Trial.with_many_litters(HALF_A_CARRIER, AS_IT_IS, AS_IT_IS, errors=0.01)
