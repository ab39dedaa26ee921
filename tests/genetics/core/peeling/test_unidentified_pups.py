"""Pups counted together: the engine meets the sum over who they may have been."""

from itertools import permutations, product
from math import prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.exceptions import PedigreeError
from genetics.core.explanation.evidence_weights import evidence_weights
from genetics.core.inheritance.mendel import transmission
from genetics.core.pedigree.group_records import GroupCount, Member
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.group_counts import SeenTogether, count_of_litter
from genetics.core.penetrance.likelihood import observation_likelihood
from genetics.core.penetrance.observation import STAGES, Observation
from genetics.core.posterior.dose import InconsistentEvidenceError, dose_posterior
from tests.benchmarks.herds import Habits, bred, counted_together
from tests.examples import examples
from tests.genetics.core.chances import log_stage_chances, tally_of
from tests.genetics.core.litters import FREQUENCY, UNSEEN, by_definition, litter_of

MISJUDGED = 0.01
SELF, ONE, TWO = (1, 0, 0), (0, 1, 0), (0, 0, 1)
soft = st.tuples(*[st.integers(1, 100).map(lambda share: share / 100)] * 3)


def stage_chances(age, warmth=""):
    """(dose, stage)"""
    looks = [[Observation(stage, age, warmth)] for stage in STAGES]
    return np.exp([log_stage_chances(look, misjudged=MISJUDGED) for look in looks]).T


def test_it_works():
    # a self boar to a sow of one dose: two coming and two with nothing at seven weeks; by hand, a
    # pup has one dose with chance 1/2 each way, and the four are alike
    count = SeenTogether((2, 3, 4, 5), 0, (2, 2, 0, 0), 49, "mild")
    tally, dropped = tally_of([count], {})
    pedigree, rows = litter_of(4, parents=(SELF, ONE), tally=tally)
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY)
    none, one = (stage_chances(49, "mild")[d, :2] for d in (0, 1))
    # of a self 'coming' is a slip; so each dose is weighed by who may be among the two
    weights = np.zeros(5)
    for marked in range(5):
        ways = [
            prod([one, none][pup >= marked][stage] for pup, stage in enumerate(stages))
            for stages in set(permutations([0, 0, 1, 1]))
        ]
        weights[marked] = sum(ways) * [1, 4, 6, 4, 1][marked]
    expected = weights @ np.arange(5) / 4 / weights.sum()
    assert dropped == 0
    assert dose.chances[2:, 1] == pytest.approx([expected] * 4, abs=1e-12)
    assert dose.method == ("exact",) * 6


@settings(max_examples=examples(40), deadline=None)
@given(st.data())
def test_a_count_meets_the_sum_over_who_they_were(data):
    count = data.draw(st.integers(0, 3), label="pups with a name")
    nameless = data.draw(st.integers(0 if count else 1, 3 - count))
    numbers = data.draw(
        st.lists(st.integers(0, 3), min_size=4, max_size=4).filter(
            lambda numbers: 0 < sum(numbers) <= count + nameless
        )
    )
    parents = data.draw(st.tuples(soft, soft))
    own = data.draw(st.lists(soft, min_size=count, max_size=count))
    pups = tuple(range(2, 2 + count))
    tally, _ = tally_of([SeenTogether(pups, nameless, tuple(numbers), 40)], {})
    pedigree, rows = litter_of(count, parents=parents, tally=tally)
    rows[2:] = np.array(own).reshape(count, 3)
    chances = stage_chances(40)
    left_out = count + nameless - sum(numbers)
    shown = [stage for stage in range(4) for _ in range(numbers[stage])] + [None] * left_out

    def seen(doses):
        named = prod(row[dose] for row, dose in zip(own, doses, strict=False))
        return named * sum(
            prod(1 if s is None else chances[d, s] for d, s in zip(doses, stages, strict=True))
            for stages in set(permutations(shown))
        )

    expected = by_definition(rows, seen, count, nameless)
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY)
    assert dose.chances == pytest.approx(expected, abs=1e-12)


def test_counts_and_looks_at_one_pup_share_its_pace():
    # two pups, counted twice, one of them looked at by name besides
    counts = [SeenTogether((2, 3), 0, (1, 1, 0, 0), 24), SeenTogether((2, 3), 0, (0, 2, 0, 0), 45)]
    looks = {2: [Observation("coming", 30)], 3: []}
    tally, _ = tally_of(counts, looks)
    pedigree, rows = litter_of(2, tally=tally)
    rows[2] = observation_likelihood(looks[2], mixed_up=0)

    def seen(doses):
        total = 0.0
        for first, second in ((("none", "coming")), ("coming", "none")):
            whole = [
                [*looks[2], Observation(first, 24), Observation("coming", 45)],
                [Observation(second, 24), Observation("coming", 45)],
            ]
            total += prod(
                np.exp(log_stage_chances(one, misjudged=MISJUDGED)[dose])
                for one, dose in zip(whole, doses, strict=True)
            )
        return total

    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY)
    assert dose.chances == pytest.approx(by_definition(rows, seen, 2), abs=1e-12)


@pytest.mark.slow
@pytest.mark.parametrize("nameless", [(1, 2), (2, 1)])
def test_of_pups_without_a_name_more_may_be_there_at_one_count_than_at_another(nameless):
    # one with a line, and one or two without: whoever was there once is one of those there twice
    numbers = {1: (1, 1, 0, 0), 2: (1, 2, 0, 0)}
    ages = (24, 45)
    counts = [
        SeenTogether((2,), others, numbers[others], age)
        for others, age in zip(nameless, ages, strict=True)
    ]
    tally, dropped = tally_of(counts, {})
    pedigree, rows = litter_of(1, tally=tally)

    def ways(others):
        """Who showed what at a count: None for a pup that was not there."""
        shown = [stage for stage in range(4) for _ in range(numbers[others][stage])]
        return {(*stages, *[None] * (2 - others)) for stages in permutations(shown)}

    def chance(dose, stages):
        looks = [
            Observation(STAGES[stage], age)
            for stage, age in zip(stages, ages, strict=True)
            if stage is not None
        ]
        return np.exp(log_stage_chances(looks, misjudged=MISJUDGED)[dose])

    def seen(doses):
        return sum(
            prod(map(chance, doses, zip(*both, strict=True)))
            for both in product(*map(ways, nameless))
        )

    assert dropped == 0
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY)
    assert dose.chances == pytest.approx(by_definition(rows, seen, 1, 2), abs=1e-12)


def test_a_count_of_all_in_one_stage_is_a_look_at_each():
    tally, _ = tally_of([SeenTogether((2, 3, 4), 0, (0, 0, 3, 0), 130)], {})
    pedigree, rows = litter_of(3, tally=tally)
    counted = dose_posterior(pedigree, rows, frequency=FREQUENCY)
    pedigree, rows = litter_of(3)
    rows[2:] = observation_likelihood([("full", 130)], mixed_up=0)
    looked_at = dose_posterior(pedigree, rows, frequency=FREQUENCY)
    assert counted.chances == pytest.approx(looked_at.chances, abs=1e-12)


def test_two_pups_sold_unnamed_speak_of_their_parents():
    # two more that were unmarked at five months: a sow of one dose is the less likely
    litter = Litter((2,), sires=(0,), dams=(1,))
    before = Pedigree(("boar", "sow", "pup"), (litter,))
    rows = np.array([SELF, UNSEEN, UNSEEN], float)
    tally, _ = tally_of([SeenTogether((), 2, (2, 0, 0, 0), 150)], {})
    after = Pedigree(before.ids, (Litter((2,), (0,), (), (1,), (), tally),))
    alone = Pedigree(before.ids, (Litter((), (0,), (), (1,), (), tally), litter))
    at_first, then, in_a_litter_of_their_own = (
        dose_posterior(one, rows, frequency=FREQUENCY).chances[1] for one in (before, after, alone)
    )
    unmarked = observation_likelihood([("none", 150)], mixed_up=0)
    expected = at_first * (transmission()[0] @ unmarked) ** 2
    assert then == pytest.approx(expected / expected.sum(), abs=1e-12)
    assert in_a_litter_of_their_own == pytest.approx(then, abs=1e-12)


def test_pups_without_a_name_of_whom_nothing_was_seen_change_nobody():
    counts = [SeenTogether((2, 3), 3, (1, 1, 0, 0), 40)]
    tally, _ = tally_of(counts, {})
    fewer, _ = tally_of([SeenTogether((2, 3), 0, (1, 1, 0, 0), 40)], {})
    pedigree, rows = litter_of(2, tally=tally)
    with_more = dose_posterior(pedigree, rows, frequency=FREQUENCY).chances
    pedigree, rows = litter_of(2, tally=fewer)
    assert with_more[2:, 0].sum() != pytest.approx(
        dose_posterior(pedigree, rows, frequency=FREQUENCY).chances[2:, 0].sum(), abs=1e-3
    )  # two of five says less of these two than two of two
    assert tally_of([SeenTogether((2, 3), 3, (0, 0, 0, 0), 40)], {}) == (None, 0)


def test_pups_without_a_name_speak_of_parents_whose_named_pup_says_nothing():
    # too dear with the pup of whom nothing was seen: it is left out, what was counted is not
    tally, _ = tally_of([SeenTogether((), 1, (0, 1, 0, 0), 45)], {})
    litter = Litter((3,), sires=(0, 2), dams=(1,), tally=tally)
    pedigree = Pedigree(tuple("abcd"), (litter,))
    rows = np.array([SELF, UNSEEN, UNSEEN, UNSEEN], float)
    whole = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=0.01)
    cheap = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=0.01, budget=81)
    assert np.isnan(cheap.chances[3]).all()
    assert cheap.chances[:3] == pytest.approx(whole.chances[:3], abs=1e-12)


def test_a_coat_that_hides_points_says_nothing_of_its_dose():
    count = SeenTogether((2, 3), 0, (1, 1, 0, 0), 40)
    tally, _ = tally_of([count], {}, silent=[2])
    pedigree, rows = litter_of(2, tally=tally)
    pup = dose_posterior(pedigree, rows, frequency=FREQUENCY).chances
    rows[2] = TWO
    other = dose_posterior(pedigree, rows, frequency=FREQUENCY).chances
    # only by its parents does the one speak of the other: as if nothing had been counted of it
    alone, _ = litter_of(2)
    assert pup[2] != pytest.approx(
        dose_posterior(alone, np.ones((4, 3)), frequency=0.25).chances[2]
    )
    assert tally.members[0].weights[0].tolist() == tally.members[0].weights[2].tolist()
    assert other[3, 0] != pytest.approx(pup[3, 0])


def test_the_largest_litter_is_affordable():
    count = SeenTogether(tuple(range(2, 10)), 0, (2, 2, 2, 2), 45)
    tally, dropped = tally_of([count], {})
    pedigree, rows = litter_of(8, tally=tally)
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY)
    assert dropped == 0
    assert count_of_litter([count], {})[0].price < 1e4
    assert sum(dose.prices) < 1e5


def test_counts_too_dear_together_leave_out_the_oldest_and_say_how_many():
    counts = [SeenTogether(tuple(range(8)), 0, (2, 2, 2, 2), age) for age in (40, 45, 50)]
    tally, dropped = tally_of(counts, {})
    newest, none = tally_of(counts[2:], {})
    assert (dropped, none) == (2, 0)
    assert all(
        (one.weights == other.weights).all()
        for one, other in zip(tally.members, newest.members, strict=True)
    )


def counted_herd(seed):
    """A simulated herd in which three litters in ten were counted at some age."""
    chance = np.random.default_rng(seed)
    herd = bred(chance, Habits(130, boars=5, unseen=0.4, certain=0.0))
    herd = counted_together(chance, herd, 0.3)
    return herd.pedigree, herd.likelihood


@pytest.mark.slow
def test_errors_of_approximate_doses_lie_below_their_estimates_with_counts_too():
    below = []
    for seed in (11, 12, 13):
        pedigree, rows = counted_herd(seed)
        told = {"frequency": FREQUENCY, "errors": 0.01}
        exact = dose_posterior(pedigree, rows, **told)
        near = dose_posterior(pedigree, rows, budget=1e4, approximate=True, asked=range(30), **told)
        compared = np.array([method in ("refined", "approximate") for method in near.method])
        compared &= np.array(exact.method) == "exact"
        off = np.abs(near.chances - exact.chances).max(axis=1)
        below += (off <= near.error)[compared].tolist()
    assert len(below) > 60
    assert np.mean(below) > 0.93


def test_it_refuses_counts_that_cannot_be():
    with pytest.raises(ValueError, match="more pups were counted"):
        SeenTogether((2, 3), 0, (1, 2, 0, 0), 40)
    with pytest.raises(ValueError, match="once each"):
        SeenTogether((2, 2), 0, (1, 1, 0, 0), 40)
    with pytest.raises(ValueError, match="age at a look"):
        SeenTogether((2,), 0, (1, 0, 0, 0), -1)
    one_way = Member(2, np.ones((3, 1)), np.array([[1]]))
    with pytest.raises(ValueError, match="no ways"):
        GroupCount((one_way,), (2,))
    with pytest.raises(PedigreeError, match="not of that litter: 0"):
        litter_of(1, tally=GroupCount((Member(0, np.ones((3, 1)), np.array([[1]])),), (1,)))


def test_what_contradicts_a_count_that_allows_no_slip_is_impossible():
    tally, _ = tally_of([SeenTogether((2,), 0, (0, 0, 0, 1), 90)], {}, misjudged=0)
    pedigree, rows = litter_of(1, parents=(SELF, SELF), tally=tally)
    with pytest.raises(InconsistentEvidenceError):
        dose_posterior(pedigree, rows, frequency=FREQUENCY)


def test_reasons_name_a_count_of_the_animals_own_litter_and_of_its_young():
    count, _ = tally_of([SeenTogether((2, 3), 0, (1, 1, 0, 0), 60)], {})
    young, _ = tally_of([SeenTogether((), 4, (0, 4, 0, 0), 60)], {})
    litters = (
        Litter((2, 3), sires=(0,), dams=(1,), tally=count),
        Litter((), sires=(2,), dams=(4,), tally=young),
    )
    pedigree = Pedigree(tuple("abcde"), litters)
    rows = np.array([UNSEEN, UNSEEN, UNSEEN, UNSEEN, SELF], float)
    found = evidence_weights(pedigree, rows, 2, frequency=FREQUENCY)
    by_kind = {(reason.kind, reason.litter): reason for reason in found.reasons}
    assert by_kind.keys() == {("count", 0), ("litter", 1)}
    assert by_kind["litter", 1].tallies == (1,)
    assert by_kind["litter", 1].animals == (4,)
    none, one, two = by_kind["litter", 1].ratios
    assert two > 3 * one > 9 * none  # four marked pups of a self sow, and no self
    of_the_sire = evidence_weights(pedigree, rows, 0, frequency=FREQUENCY)
    assert {reason.kind for reason in of_the_sire.reasons} == {"litter"}
    assert of_the_sire.reasons[0].tallies == (0, 1)
