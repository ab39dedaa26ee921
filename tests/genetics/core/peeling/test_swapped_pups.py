"""Pups taken for each other: the engine meets the mean over whom a record is of."""

from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.estimation.likelihood import Evidence, Parameters
from genetics.core.inheritance.mendel import hardy_weinberg, transmission
from genetics.core.pedigree.group_records import MIX_UPS, LabelSwap
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling import problem
from genetics.core.peeling.unidentified_pups import exchange_chances
from genetics.core.penetrance.likelihood import MISJUDGED, MIXED_UP, observation_likelihood
from genetics.core.penetrance.observation import STAGES, Observation
from genetics.core.posterior.dose import dose_posterior, joint_doses
from genetics.core.record_errors.error_posterior import doubts, mix_up_rates
from tests.genetics.core.litters import FREQUENCY, by_definition, litter_of
from tests.genetics.core.slips import chance_and_slips

SELF, ONE, TWO = (1, 0, 0), (0, 1, 0), (0, 0, 1)
soft = st.tuples(*[st.integers(1, 100).map(lambda share: share / 100)] * 3)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_a_mix_up_meets_the_mean_over_who_was_taken_for_whom(data):
    count = data.draw(st.integers(2, 3))
    own = data.draw(st.lists(soft, min_size=count, max_size=count))
    pairs = [(a, b) for a in range(count) for b in range(a)]
    chances = data.draw(
        st.lists(st.sampled_from([0.0, 0.02, 0.2]), min_size=len(pairs), max_size=len(pairs))
    )
    mix_ups = tuple(
        LabelSwap(2 + a, 2 + b, chance) for (a, b), chance in zip(pairs, chances, strict=True)
    )
    pedigree, rows = litter_of(count, mix_ups=mix_ups)
    rows[2:] = own

    def seen(doses):
        def exchanged(a, b):
            whose = list(range(count))
            whose[a], whose[b] = b, a
            return prod(own[whose[pup]][dose] for pup, dose in enumerate(doses))

        total = (1 - sum(chances)) * exchanged(0, 0)
        return total + sum(
            chance * exchanged(*pair) for pair, chance in zip(pairs, chances, strict=True)
        )

    # errors above nought allow for mix-ups, and so small that no other boar is worth a thought
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=1e-15)
    assert dose.chances == pytest.approx(by_definition(rows, seen, count), abs=1e-12)


def test_the_posterior_tells_which_two_were_taken_for_each_other():
    # the sire gave each pup one dose; of a self son and an overmarked one only... by their own
    # young: pup 2 has two doses by its young, pup 3 none
    pedigree, rows = litter_of(3, mix_ups=(LabelSwap(2, 3, 0.02), LabelSwap(3, 4, 0.02)))
    young = tuple(Litter((place,), sires=(pup,)) for pup, place in ((2, 5), (3, 6)))
    pedigree = Pedigree(tuple("abcdefg"), (*pedigree.litters, *young))
    rows = np.vstack([rows, SELF, TWO])  # so pup 2 has not two doses, and pup 3 not none
    rows[[2, 3]] = (1e-6, 0.01, 1), (1, 0.01, 1e-6)
    found = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=0.01)
    (first, second) = found.mix_ups[0]
    assert first[:2] == (2, 3)
    assert first.chance > 0.9 > 0.1 > second.chance
    assert dose_posterior(pedigree, rows, frequency=FREQUENCY).mix_ups == {}


@settings(max_examples=20, deadline=None)
@given(st.data())
def test_joint_doses_hold_the_animal_and_not_its_record(data):
    pedigree, rows = litter_of(2, mix_ups=(LabelSwap(2, 3, 0.3),))
    rows[2:] = data.draw(st.tuples(soft, soft))
    joint = joint_doses(pedigree, rows, 2, frequency=FREQUENCY, errors=0.01)
    alone = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=0.01).chances
    assert joint.sum(axis=1) == pytest.approx(alone, abs=1e-12)
    assert joint.sum(axis=2) == pytest.approx(np.tile(alone[2], (4, 1)), abs=1e-12)
    turned = joint_doses(pedigree, rows, 3, frequency=FREQUENCY, errors=0.01)
    assert joint[3] == pytest.approx(turned[2].T, abs=1e-12)


def test_without_errors_nobody_is_taken_for_another():
    pedigree, rows = litter_of(2, mix_ups=(LabelSwap(2, 3, 0.3),))
    rows[2] = ONE
    plain, _ = litter_of(2)
    assert dose_posterior(pedigree, rows, frequency=0.25).chances == pytest.approx(
        dose_posterior(plain, rows, frequency=0.25).chances, abs=1e-15
    )


def test_pups_that_are_told_apart_add_nothing_to_the_price():
    pedigree, rows = litter_of(4, mix_ups=(LabelSwap(2, 3, 0.02),))
    plain, _ = litter_of(4)
    rows[4:] = (1, 0.5, 0.1)  # of the two that may be mixed up nothing was seen
    prices = [
        dose_posterior(one, rows, frequency=0.25, errors=0.01).prices for one in (pedigree, plain)
    ]
    assert prices[0] == prices[1]
    assert exchange_chances({2: "tag", 3: "unsure"}, [(2, 3)]) == []


def test_a_pup_nobody_looked_at_matters_where_its_brother_may_be_it():
    # a family too dear to keep those that say nothing: the brother has to stay
    pedigree, rows = litter_of(3, mix_ups=(LabelSwap(2, 3, 0.4),))
    rows[2] = (0.1, 1, 0.1)
    whole = dose_posterior(pedigree, rows, frequency=0.25, errors=0.01)
    cheap = dose_posterior(
        pedigree, rows, frequency=0.25, errors=0.01, budget=max(whole.prices) - 1
    )
    told = ~np.isnan(cheap.chances[:, 0])
    assert told.any()
    assert cheap.chances[told] == pytest.approx(whole.chances[told], abs=1e-12)


def test_where_a_choice_would_be_dear_it_is_weighed_pup_by_pup(monkeypatch):
    pedigree, rows = litter_of(3, mix_ups=(LabelSwap(2, 3, 0.1), LabelSwap(3, 4, 0.2)))
    rows[2:] = (0.1, 1, 0.1), (1, 0.2, 0.1), (0.5, 0.5, 1)
    monkeypatch.setattr(problem, "DEAREST_MIX_UPS", 10)
    dose = dose_posterior(pedigree, rows, frequency=0.25, errors=0.01)
    plain, _ = litter_of(3)
    for pup, taken in ((2, 0.1), (3, 0.3), (4, 0.2)):
        rows[pup] = (1 - taken) * rows[pup] + taken * rows[pup].mean()
    assert dose.mix_ups == {}
    assert dose.chances == pytest.approx(
        dose_posterior(plain, rows, frequency=0.25, errors=0.01).chances, abs=1e-12
    )


def test_the_rate_is_the_litters_and_the_surer_sign_of_two_counts():
    signs = {2: "not yet", 3: "not yet", 4: "signs", 5: "tag"}
    pairs = [(2, 3), (2, 4), (3, 4), (2, 5), (3, 5), (4, 5)]
    found = {one[:2]: one.chance for one in exchange_chances(signs, pairs)}
    assert found.keys() == {(2, 3), (2, 4), (3, 4)}
    assert found[2, 3] == pytest.approx(MIX_UPS["not yet"] / 6)
    assert found[2, 4] == pytest.approx(MIX_UPS["signs"] / 6)


def test_where_it_is_weighed_pup_by_pup_those_of_whom_the_same_was_seen_are_as_they_are(
    monkeypatch,
):
    pedigree, rows = litter_of(3, mix_ups=(LabelSwap(2, 3, 0.1), LabelSwap(3, 4, 0.2)))
    rows[2:] = (0.1, 1, 0.1), (0.1, 1, 0.1), (0.5, 0.5, 1)
    monkeypatch.setattr(problem, "DEAREST_MIX_UPS", 10)
    dose = dose_posterior(pedigree, rows, frequency=0.25, errors=0.01)
    plain, _ = litter_of(3)
    for pup in (3, 4):
        rows[pup] = 0.8 * rows[pup] + 0.2 * rows[pup].mean()
    assert dose.chances == pytest.approx(
        dose_posterior(plain, rows, frequency=0.25, errors=0.01).chances, abs=1e-12
    )


@pytest.mark.parametrize("dearest", [problem.DEAREST_MIX_UPS, 10])
def test_a_fit_weighs_it_as_doses_are_worked_out(monkeypatch, dearest):
    monkeypatch.setattr(problem, "DEAREST_MIX_UPS", dearest)
    pedigree, rows = litter_of(3, mix_ups=(LabelSwap(2, 3, 0.1), LabelSwap(3, 4, 0.2)))
    seen = [[], [], [("none", 60)], [("coming", 60)], [("none", 60), ("coming", 90)]]
    rows[2:] = [observation_likelihood(looks) for looks in seen[2:]]
    book = Evidence.of(pedigree, seen, 0.01, None, None, frequency=0.25)
    by_fit = [book.log_likelihood(Parameters(frequency)) for frequency in (0.2, 0.4)]
    by_dose = [
        dose_posterior(pedigree, rows, frequency=frequency, errors=0.01).log_likelihood
        for frequency in (0.2, 0.4)
    ]
    assert by_fit[1] - by_fit[0] == pytest.approx(by_dose[1] - by_dose[0], abs=1e-12)


def test_a_record_may_be_a_littermates_or_any_other_animals():
    pedigree, _ = litter_of(3, mix_ups=(LabelSwap(2, 3, 0.2), LabelSwap(3, 4, 0.1)))
    looks = [[], [], [("none", 60)], [("coming", 60)], [("coming", 60)]]
    rates = mix_up_rates(pedigree, looks, 0.05)  # of the last two the same was seen
    assert rates == pytest.approx([0.05, 0.05, 1 - 0.95 * 0.8, 1 - 0.95 * 0.8, 0.05])


# ---------------------------------------------------- all that may be wrong, and the doubts of it


class WholeModel:
    """A litter's looks by definition: summed over everybody's dose, over which two pups were
    exchanged, and for each name over its being another animal's altogether and over every slip."""

    def __init__(self, seen, mix_ups):
        self.names, self.mix_ups = range(len(seen)), mix_ups
        self.chance = np.zeros((len(seen), 3))
        self.slips = [np.zeros((3, len(looks))) for looks in seen]
        for name, looks in enumerate(seen):
            for dose in range(3):
                whole, slips = chance_and_slips(dose, looks, MISJUDGED) if looks else (1.0, [])
                self.chance[name, dose], self.slips[name][dose] = whole, slips
        self.another = MIXED_UP * self.chance.mean(axis=1)
        self.seen = (1 - MIXED_UP) * self.chance + self.another[:, None]

    def choices(self):
        """The chance of each choice of two pups, none first, and whom each record is of then."""
        yield 1 - sum(one.chance for one in self.mix_ups), list(self.names)
        for first, second, chance in self.mix_ups:
            turned = {first - 2: second - 2, second - 2: first - 2}
            yield chance, [turned.get(name, name) for name in self.names]

    def by_choice(self, doses):
        """The chance of all that was written, and of it the part in which each look is wrong."""
        for chance, whose in self.choices():
            rows = [self.seen[name][doses[of]] for name, of in enumerate(whose)]
            wrong = []
            for name, of in enumerate(whose):
                others = chance * prod(rows[:name] + rows[name + 1 :])
                own = (1 - MIXED_UP) * self.slips[name][doses[of]] + self.another[name]
                wrong.append(others * own)
            yield chance * prod(rows), wrong

    def seen_of(self, doses):
        return sum(chance for chance, _ in self.by_choice(doses))

    def doubts(self):
        """The posterior chance of each exchange, and that each look of each name is wrong."""
        pool, law = hardy_weinberg(np.array([1 - FREQUENCY, FREQUENCY])), transmission()
        exchanges = np.zeros(1 + len(self.mix_ups))
        wrong = [np.zeros(slips.shape[1]) for slips in self.slips]
        for sire, dam, *pups in product(range(3), repeat=2 + len(self.names)):
            weight = pool[sire] * pool[dam] * prod(law[sire, dam, pup] for pup in pups)
            for state, (chance, parts) in enumerate(self.by_choice(pups)):
                exchanges[state] += weight * chance
                for name, part in enumerate(parts):
                    wrong[name] += weight * part
        whole = exchanges.sum()
        return exchanges[1:] / whole, [one / whole for one in wrong]


looks_of_a_pup = st.lists(
    st.tuples(st.sampled_from(STAGES), st.sampled_from([20, 45, 80, 160])), max_size=2
).map(lambda rows: [Observation(*row, "mild") for row in sorted(rows, key=lambda row: row[1])])


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_all_that_may_be_wrong_meets_the_sum_over_everything(data):
    count = data.draw(st.integers(2, 3))
    seen = data.draw(st.lists(looks_of_a_pup, min_size=count, max_size=count))
    pairs = [(2 + a, 2 + b) for a in range(count) for b in range(a)]
    rates = data.draw(st.lists(st.sampled_from([0.01, 0.2]), min_size=1, max_size=len(pairs)))
    mix_ups = tuple(LabelSwap(*pair, rate) for pair, rate in zip(pairs, rates, strict=False))
    pedigree, rows = litter_of(count, mix_ups=mix_ups)
    rows[2:] = [observation_likelihood(looks) for looks in seen]
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=1e-15)
    model = WholeModel(seen, mix_ups)
    assert dose.chances == pytest.approx(by_definition(rows, model.seen_of, count), abs=1e-12)
    found = {one[:3]: one.chance for one in doubts(pedigree, dose, [[], [], *seen])}
    exchanges, wrong = model.doubts()
    for one, chance in zip(mix_ups, exchanges, strict=True):
        if seen[one.first - 2] != seen[one.second - 2]:
            assert found["mix-up", *one[:2]] == pytest.approx(chance, abs=1e-12)
    for name, chances in enumerate(wrong):
        for place, chance in enumerate(chances):
            assert found["look", 2 + name, place] == pytest.approx(chance, abs=1e-10)


def test_the_pup_behind_a_record_is_found_where_it_says_the_same_of_all_doses_that_are_left():
    # neither can have two doses, and of one and none the two records say the same
    pedigree, rows = litter_of(2, parents=(SELF, (1, 1, 0)), mix_ups=(LabelSwap(2, 3, 0.3),))
    rows[2], rows[3] = (0.5, 1, 0.1), (0.5, 1, 0.7)
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=0.0)
    assert dose.behind == {}
    young = (Litter((4,), sires=(2,)), Litter((5,), sires=(3,)))
    pedigree = Pedigree(tuple("abcdef"), (*pedigree.litters, *young))
    rows = np.vstack([rows, ONE, SELF])
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=1e-15)
    assert dose.mix_ups[0][0].chance == pytest.approx(0.3, abs=1e-12)
    whose = (0.7 * dose.chances[2] + 0.3 * dose.chances[3], 0.7 * dose.chances[3])
    assert dose.behind[2] == pytest.approx(whose[0], abs=1e-12)
    assert dose.behind[3] == pytest.approx(whose[1] + 0.3 * dose.chances[2], abs=1e-12)


def doubtful(*looks):
    """The doubts of two brothers who may be taken for each other, by what was seen of each; by
    the young of both, the first has two doses and the second none."""
    pedigree, rows = litter_of(2, mix_ups=(LabelSwap(2, 3, 0.2),))
    young = tuple(Litter((place, place + 1), sires=(pup,)) for pup, place in ((2, 4), (3, 6)))
    pedigree = Pedigree(tuple("abcdefgh"), (*pedigree.litters, *young))
    rows = np.vstack([rows, ONE, TWO, SELF, SELF]).astype(float)
    seen = [[], [], *looks, [], [], [], []]
    for pup in (2, 3):
        rows[pup] = observation_likelihood(seen[pup])
    dose = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=0.01)
    return [doubt[:3] for doubt in doubts(pedigree, dose, seen) if doubt.chance > 0.05]


def test_a_mix_up_is_doubted_and_not_the_looks_that_it_explains():
    grown = [Observation("none", days) for days in (200, 230, 260)]
    overmarked = [Observation("overmarked", days) for days in (200, 230, 260)]
    assert doubtful(grown, overmarked)[0] == ("mix-up", 2, 3)
    assert not [doubt for doubt in doubtful(grown, overmarked) if doubt[0] == "look"]
    assert not [doubt for doubt in doubtful(overmarked, grown) if doubt[0] != "sire"]


def test_pups_that_were_seen_to_be_the_same_raise_no_doubt():
    unmarked = [Observation("none", days) for days in (3, 8)]
    assert not [doubt for doubt in doubtful(unmarked, unmarked) if doubt[0] != "sire"]
