"""Which records move a dose, and how far."""

import math
from itertools import permutations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from genetics.core.explanation.evidence_weights import evidence_weights
from genetics.core.explanation.shapley import MINUTE
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET
from genetics.core.posterior.dose import InconsistentEvidenceError, dose_posterior
from tests.benchmarks.dose import HOBBY, herds, reckoned
from tests.benchmarks.herds import FREQUENCY, Habits, bred
from tests.examples import examples
from tests.genetics.core.small_pedigrees import evidence, pedigrees

SELF, ONE, TWO, UNSEEN = (1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1)
MARKED = (0.02, 1, 0.06)
OVERMARKED_BOUGHT = (0.005, 0.045, 0.95)


def by_group(reasons):
    return {(reason.kind, reason.litter): reason for reason in reasons.reasons}


def odds(chances, dose):
    return chances[dose] / (sum(chances) - chances[dose])


def product(reasons):
    """The odds before, times every factor."""
    factors = math.prod(reason.odds for reason in reasons.reasons)
    return odds(reasons.prior, reasons.dose) * factors * reasons.together


def test_it_works():
    # six marked pups from self sows and none unmarked: 64 times likelier with two doses than
    # with one, and ruled out with none
    pedigree = Pedigree(("boar", "sow", *"abcdef"), (Litter(tuple(range(2, 8)), (0,), (), (1,)),))
    rows = np.array([UNSEEN, SELF, *[ONE] * 6], float)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.5, founder_prior=None)
    (litter,) = reasons.reasons
    assert (litter.kind, litter.litter, litter.animals) == ("litter", 0, (1, 2, 3, 4, 5, 6, 7))
    assert litter.ratios == pytest.approx([0, 1 / 64, 1])
    assert reasons.dose == 2
    assert odds(reasons.prior, 2) == pytest.approx(1 / 3)
    assert odds(reasons.posterior, 2) == pytest.approx(32)  # 1/4 to 1/2 * 1/64
    assert litter.odds == pytest.approx(96)
    assert (reasons.together, reasons.error) == (1, 0)


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
    reasons = evidence_weights(pedigree, rows, 2, frequency=0.3)
    assert {group: reason.animals for group, reason in by_group(reasons).items()} == {
        ("own", -1): (2,),
        ("sire", -1): (0,),
        ("dam", -1): (1,),
        ("littermates", -1): (3,),
        ("litter", 1): (5,),
        ("litter", 2): (6, 7, 8, 9),
    }


def two_litters(mates=2, first_seen=SELF):
    """A founder boar and two litters of three marked pups from unrelated sows, or from one."""
    if mates == 2:
        litters = Litter((3, 4, 5), (0,), (), (1,)), Litter((6, 7, 8), (0,), (), (2,))
    else:
        litters = Litter((3, 4, 5), (0,), (), (1,)), Litter((6, 7, 8), (0,), (), (1,))
    rows = np.array([UNSEEN, first_seen, first_seen, *[MARKED] * 6], float)
    return Pedigree(tuple("boar123456")[:9], litters), rows


def test_litters_that_share_nobody_multiply_to_the_whole_though_doses_are_three():
    pedigree, rows = two_litters()
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.25)
    first, second = reasons.reasons
    chance_marked = [rows[3][0], rows[3][:2].sum() / 2, rows[3][1]]  # of the looks, by dose
    expected = np.array(chance_marked) ** 3
    for reason in (first, second):
        assert reason.ratios == pytest.approx(expected / expected.max())
    assert first.odds == pytest.approx(second.odds)
    assert product(reasons) == pytest.approx(odds(reasons.posterior, 2))
    assert reasons.together == 1
    # the factors that each has by itself would not do: both rule out none, which counts once
    alone = rows.copy()
    alone[6:] = 1
    alone[2] = 1
    (once,) = evidence_weights(pedigree, alone, 0, frequency=0.25).reasons
    assert odds(reasons.prior, 2) * once.odds**2 > 2 * odds(reasons.posterior, 2)


def test_shares_are_what_falls_to_each_little_by_little():
    # by its definition, in ten thousand small steps at one pace
    pedigree, rows = two_litters()
    rows[0], rows[2] = (0.2, 0.9, 1), (0.3, 1, 0.4)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.25)
    logs = np.log([reason.ratios for reason in reasons.reasons])
    shares = np.zeros(len(logs))
    steps = 10_000
    others = [dose for dose in range(3) if dose != reasons.dose]
    for step in range(steps):
        weights = reasons.prior * np.exp((step + 0.5) / steps * logs.sum(axis=0))
        rest = weights[others] / weights[others].sum()
        shares += (logs[:, reasons.dose] - logs[:, others] @ rest) / steps
    assert [reason.odds for reason in reasons.reasons] == pytest.approx(np.exp(shares), rel=1e-6)


def test_independent_records_multiply_to_the_whole_at_each_dose():
    # one parent's side, own look, two litters from unrelated sows
    pedigree = Pedigree(
        tuple("abcdefg"),
        (Litter((1,), (0,)), Litter((3, 4), (1,), (), (2,)), Litter((6,), (1,), (), (5,))),
    )
    rows = np.array([TWO, (0.2, 1, 0.8), SELF, ONE, ONE, SELF, ONE], float)
    reasons = evidence_weights(pedigree, rows, 1, frequency=0.3)
    chances = reasons.prior.copy()
    for reason in reasons.reasons:
        chances *= reason.ratios
    assert chances / chances.sum() == pytest.approx(reasons.posterior)
    assert by_group(reasons)["own", -1].ratios == pytest.approx([0.2, 1, 0.8])


def test_two_litters_of_one_sow_say_each_half_of_what_they_say():
    # whether the sow is a self is settled by either litter: together they say less than twice
    pedigree, rows = two_litters(mates=1, first_seen=UNSEEN)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.2)
    first, second = reasons.reasons
    assert first.odds == pytest.approx(second.odds)
    assert product(reasons) == pytest.approx(odds(reasons.posterior, reasons.dose))
    chances = reasons.prior * first.ratios * second.ratios
    assert chances / chances.sum() == pytest.approx(reasons.posterior)


def test_in_a_dear_family_what_groups_say_together_alone_is_told_by_itself(monkeypatch):
    monkeypatch.setattr("genetics.core.explanation.evidence_weights.QUICK", 0.0)
    # three litters of one sow that nobody looked at: more than two groups that meet
    litters = [Litter((2 + n, 5 + n), (0,), (), (1,)) for n in range(3)]
    pedigree = Pedigree(tuple("abcdefgh"), tuple(litters))
    rows = np.array([UNSEEN, UNSEEN, *[SELF] * 3, *[MARKED] * 3], float)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.25)
    assert not 1 / MINUTE < reasons.together < MINUTE
    assert product(reasons) == pytest.approx(odds(reasons.posterior, reasons.dose))


@settings(max_examples=examples(40))
@given(pedigrees(most=7), st.data())
def test_lines_multiply_to_the_change_and_records_are_named_once(pedigree, data):
    rows = data.draw(evidence(len(pedigree)))
    animal = data.draw(st.integers(0, len(pedigree) - 1))
    try:
        posterior = dose_posterior(pedigree, rows, frequency=0.3, errors=0.05).chances[animal]
    except InconsistentEvidenceError:
        assume(False)
    reasons = evidence_weights(pedigree, rows, animal, frequency=0.3, errors=0.05)
    assert reasons.posterior == pytest.approx(posterior, abs=1e-12)
    assert reasons.dose in np.flatnonzero(posterior > posterior.max() - 1e-12)
    if posterior.max() < 1 - 1e-12:
        assert product(reasons) == pytest.approx(odds(posterior, reasons.dose), rel=1e-6)
    family = next(family for family in pedigree.families() if animal in family)
    telling = {member for member in family if len(set(rows[member])) > 1}
    named = [member for reason in reasons.reasons for member in reason.animals]
    assert sorted(named) == sorted(telling)


@settings(max_examples=examples(25))
@given(pedigrees(most=6), st.data())
def test_a_group_weighs_what_it_adds_on_the_mean_of_all_orders(pedigree, data):
    """Against calculations of all animals; a look at the animal itself weighs what it is."""
    rows = data.draw(evidence(len(pedigree)))
    animal = data.draw(st.integers(0, len(pedigree) - 1))

    def logs(kept):
        said = np.ones_like(rows)
        said[kept] = rows[kept]
        return np.log(dose_posterior(pedigree, said, frequency=0.3, errors=0.05).chances[animal])

    try:
        reasons = evidence_weights(pedigree, rows, animal, frequency=0.3, errors=0.05)
    except InconsistentEvidenceError:
        assume(False)
    assume((reasons.posterior > 0).all())
    groups = [reason.animals for reason in reasons.reasons if reason.kind != "own"]
    assume(0 < len(groups) <= 4)
    for reason in reasons.reasons:
        if reason.kind == "own":
            expected = np.log(rows[animal])
        else:
            orders = list(permutations(groups))
            steps = [order[: order.index(reason.animals)] for order in orders]
            before = [[one for group in step for one in group] for step in steps]
            adds = [logs([*first, *reason.animals]) - logs(first) for first in before]
            expected = np.mean(adds, axis=0)
        assert reason.ratios == pytest.approx(np.exp(expected - expected.max()), rel=1e-6)


def test_more_groups_than_all_orders_are_taken_of_multiply_to_the_whole_too():
    # seven litters of one unseen sow, all alike: as many shares, nearly alike
    litters = [Litter((2 + n,), (0,), (), (1,)) for n in range(7)]
    pedigree = Pedigree(tuple("abcdefghi"), tuple(litters))
    rows = np.array([UNSEEN, UNSEEN, *[MARKED] * 7], float)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.25)
    assert product(reasons) == pytest.approx(odds(reasons.posterior, reasons.dose))
    assert reasons.together == 1
    first, *others = [reason.odds for reason in reasons.reasons]
    assert others == pytest.approx([first] * 6)
    # each by itself would say otherwise, and that is told
    marginal_only, whole = (
        odds(row, reasons.dose) for row in (reasons.marginal_only, reasons.posterior)
    )
    assert not 0.8 < marginal_only / whole < 1.25


def test_in_a_dear_family_a_group_weighs_what_it_says_alone_and_with_all_else(monkeypatch):
    monkeypatch.setattr("genetics.core.explanation.evidence_weights.QUICK", 0.0)
    pedigree, rows = two_litters(mates=1, first_seen=UNSEEN)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.2)
    first, second = (reason.ratios for reason in reasons.reasons)
    chances = reasons.prior * first * second
    assert chances / chances.sum() == pytest.approx(reasons.posterior)


def test_single_pups_have_a_factor_of_their_own():
    pedigree, rows = two_litters()
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.25, errors=0.01)
    pups = {one.animal: one for one in reasons.reasons[0].members}
    # the sow, a self beyond doubt, and three pups alike
    assert len(pups) == 4
    first, *others = [one for one in pups.values() if one.animal >= 3]
    for one in others:
        assert one.odds == pytest.approx(first.odds)
    assert 1.5 < first.odds < reasons.reasons[0].odds


def test_a_single_pup_weighs_as_if_it_were_left_out():
    """Against calculations with the one look alone and without it, with pups that may have been
    taken for each other."""
    from genetics.core.pedigree.group_records import LabelSwap

    litter = Litter((2, 3, 4), (0,), (), (1,), mix_ups=(LabelSwap(2, 3, 0.1),))
    pedigree = Pedigree(tuple("abcde"), (litter,))
    rows = np.array([(0.3, 1, 1), (1, 0.2, 0.1), MARKED, (1, 0.3, 0.1), MARKED], float)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.25, errors=0.01)

    def chances(kept):
        said = np.ones_like(rows)
        said[kept] = rows[kept]
        return dose_posterior(pedigree, said, frequency=0.25, errors=0.01).chances[0]

    prior, posterior = chances([]), chances([0, 1, 2, 3, 4])
    members = [one for reason in reasons.reasons for one in reason.members]
    assert {one.animal for one in members} == {1, 2, 3, 4}
    for one in members:
        without = chances([other for other in range(5) if other != one.animal])
        expected = np.sqrt(chances([one.animal]) / prior * posterior / without)
        assert one.ratios == pytest.approx(expected / expected.max(), rel=1e-9)


def test_what_it_was_bought_as_is_a_reason_and_no_part_of_the_prior():
    prior = np.array([OVERMARKED_BOUGHT])
    reasons = evidence_weights(
        Pedigree(("a",), ()), np.ones((1, 3)), 0, frequency=0.25, founder_prior=prior
    )
    (bought,) = reasons.reasons
    assert bought.kind == "bought"
    assert reasons.prior == pytest.approx([0.5625, 0.375, 0.0625])
    assert reasons.posterior == pytest.approx(OVERMARKED_BOUGHT)
    assert bought.odds == pytest.approx(19 * 15)  # from 1 to 15 to 19 to 1


def test_what_a_parent_was_bought_as_is_told_by_itself():
    pedigree = Pedigree(tuple("abc"), (Litter((2,), (0,), (), (1,)),))
    prior = np.array([OVERMARKED_BOUGHT, [np.nan] * 3, [np.nan] * 3])
    rows = np.array([(0.5, 1, 1), UNSEEN, UNSEEN], float)
    reasons = evidence_weights(pedigree, rows, 2, frequency=0.25, founder_prior=prior)
    (sire,) = reasons.reasons
    assert (sire.kind, sire.animals) == ("sire", (0,))
    assert {(one.animal, one.kind) for one in sire.members} == {(0, "seen"), (0, "bought")}
    bought = next(one for one in sire.members if one.kind == "bought")
    assert bought.odds > 1.5
    assert reasons.prior == pytest.approx([0.5625, 0.375, 0.0625])


def test_the_odds_are_those_on_the_likeliest_dose():
    reasons = evidence_weights(
        Pedigree(("a",), ()), np.array([(0.01, 1, 0.2)], float), 0, frequency=0.3
    )
    assert reasons.dose == 1
    assert reasons.reasons[0].odds > 1


def test_the_strongest_comes_first():
    pedigree = Pedigree(tuple("abc"), (Litter((1,), (0,)), Litter((2,), (1,))))
    rows = np.array([(0.9, 1, 1), UNSEEN, SELF], float)
    reasons = evidence_weights(pedigree, rows, 1, frequency=0.3)
    assert [reason.kind for reason in reasons.reasons] == ["litter", "sire"]
    assert reasons.reasons[0].ratios[2] == 0


def test_an_animal_with_no_records_has_no_reasons():
    reasons = evidence_weights(Pedigree(("a",), ()), np.ones((1, 3)), 0, frequency=0.3)
    assert reasons.reasons == ()
    assert reasons.prior == pytest.approx([0.49, 0.42, 0.09])
    assert reasons.posterior == pytest.approx(reasons.prior)


def test_a_tangled_family_has_approximate_reasons():
    herd = bred(np.random.default_rng(5), Habits(70, boars=4, certain=0.0))
    told = {"frequency": FREQUENCY, "errors": 0.01}
    exact = evidence_weights(herd.pedigree, herd.likelihood, 40, **told)
    near = evidence_weights(herd.pedigree, herd.likelihood, 40, budget=300, **told)
    assert exact.error == 0 < near.error < 0.25
    assert near.dose == exact.dose
    assert product(near) == pytest.approx(odds(near.posterior, near.dose))
    sure, about = by_group(exact), by_group(near)
    assert sure.keys() == about.keys()
    for door in sure:
        assert abs(math.log(about[door].odds / sure[door].odds)) < math.log(1.5)


@pytest.mark.slow
def test_a_family_beyond_the_budget_of_many_has_exact_reasons():
    # the larger budget of what is asked for once: genetics/core/inference/large_exact.py
    kind = next(kind for kind, boars in HOBBY.items() if boars == 4)
    herd = herds(kind)[1]
    dose = reckoned(herd, errors=0.01, approximate=True, asked=())
    assert max(dose.prices) > BUDGET
    assert dose.method[100] == "exact"
    reasons = evidence_weights(
        herd.pedigree, herd.likelihood, 100, frequency=FREQUENCY, errors=0.01
    )
    assert reasons.error == 0
    assert reasons.posterior == pytest.approx(dose.chances[100], abs=1e-9)
    assert product(reasons) == pytest.approx(odds(reasons.posterior, reasons.dose))
    assert any(reason.members for reason in reasons.reasons)


def test_the_figure_of_the_book_is_where_the_odds_end():
    pedigree, rows = two_litters()
    figure = (0.01, 0.09, 0.9)
    reasons = evidence_weights(pedigree, rows, 0, frequency=0.25, figure=figure)
    assert reasons.posterior == pytest.approx(figure)
    assert product(reasons) == pytest.approx(9)


def test_certainty_is_beyond_all_odds():
    reasons = evidence_weights(Pedigree(("a",), ()), np.array([TWO], float), 0, frequency=0.3)
    assert reasons.posterior.tolist() == [0, 0, 1]
    assert reasons.reasons[0].odds > 1e30
