"""Counts of pups that nobody could tell apart have their say in a fit."""

import math
from dataclasses import replace
from functools import cache
from itertools import permutations, product
from math import prod

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from genetics.core.estimation import likelihood
from genetics.core.estimation.ecm import Prior, fit
from genetics.core.estimation.likelihood import Evidence, Parameters
from genetics.core.inheritance.mendel import hardy_weinberg, transmission
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling import problem
from genetics.core.penetrance.group_counts import SeenTogether, count_of_litter, tallies_under
from genetics.core.penetrance.likelihood import MISJUDGED, MIXED_UP
from genetics.core.penetrance.observation import STAGES, Observation
from genetics.core.penetrance.onset_parameters import CURVES
from genetics.core.posterior.dose import dose_posterior
from tests.genetics.core.chances import log_stage_chances
from tests.simulation.herd import Habits, make_herd
from tests.simulation.not_told_apart import allowing_for_mix_ups, counted_until, nameless

FAMILY = Pedigree(
    ("boar", "sow", "one", "two", "three"), (Litter((2, 3, 4), sires=(0,), dams=(1,)),)
)
MOVED = CURVES.with_ages([50, 110, 30, 35, 60], "moved", [0.3, 0.2, 0.5, 0.1, 0.3])


def counted_of(*counts, looks=None, silent=()):
    found, left_out = count_of_litter(
        [SeenTogether(*count) for count in counts], looks or {}, silent=silent
    )
    assert left_out == 0
    return {0: found}


def evidence_of(pedigree, looks, counted, errors=0.0):
    return Evidence.of(pedigree, looks, errors, None, None, counted, frequency=0.25)


def height(evidence, frequency, curves):
    return evidence.log_likelihood(Parameters(frequency, curves))


def slopes_differ_by(evidence, frequency, curves, step=1e-5):
    """The slopes by Fisher's identity less those of the likelihood itself, which is differenced,
    and the largest of these."""
    weights = evidence.weights(Parameters(frequency, curves))
    off, largest = [], 0.0
    for place, moved in product(range(5), (0, 1)):
        sides = []
        for side in (1, -1):
            ages = np.array([line[2:4] for line in curves.milestones])
            ages[place, moved] *= math.exp(side * step)
            there = curves.with_ages(ages[:, 0], "moved", ages[:, 1])
            dose = curves.milestones[place].dose
            expected = evidence.expected_log_chance(there, dose, weights[:, dose])
            sides.append((expected, height(evidence, frequency, there)))
        by_identity, exact = np.subtract(*sides) / (2 * step)
        off.append(abs(by_identity - exact))
        largest = max(largest, abs(exact))
    return max(off), largest


def simulated(seed, share, **habits):
    """A herd with so many of its litters counted at eight weeks and not told apart."""
    random = np.random.default_rng(seed)
    return nameless(make_herd(Habits(looks=(56,), **habits), random), share, random)


def test_it_works():
    # A count at eight weeks, all that was seen of a litter: four of a boar of two doses are not
    # coming yet, so points come late in this herd.
    pedigree = Pedigree(("boar", "sow"), (Litter((), sires=(0,), dams=(1,)),))
    given = np.array([[0, 0, 1.0], [1, 0, 0]])
    late = counted_of(((), 4, (4, 0, 0, 0), 56, "mild"))
    early = counted_of(((), 4, (0, 4, 0, 0), 30, "mild"))
    medians, rests = [], []
    for counted in (late, {}, early):
        found = fit(pedigree, [[], []], errors=0.0, given=given, counted=counted)
        medians.append(found.parameters.curves.milestones[0].median_days)
        rests.append(found.looks[0])
    assert medians[0] > 44
    assert medians[1] == pytest.approx(42)
    assert medians[2] < 40
    assert rests == pytest.approx([4, 0, 4])


# ------------------------------------------------------------------------- against definitions


@settings(max_examples=15, deadline=None, phases=[Phase.generate])
@given(data=st.data())
def test_the_likelihood_is_the_sum_over_everybody(data):
    frequency = data.draw(st.integers(1, 9)) / 10
    curves = data.draw(st.sampled_from([CURVES, MOVED]))
    named = data.draw(st.integers(0, 3), label="pups with a line")
    others = data.draw(st.integers(0 if named else 1, 3 - named))
    silent = [2] if named and data.draw(st.booleans()) else []
    stage = st.sampled_from([None, 0, 1, 2, 3])
    shown = [data.draw(st.integers(0, 3)), *(data.draw(stage) for _ in range(named + others - 1))]
    pups = tuple(range(2, 2 + named))
    pedigree = Pedigree(FAMILY.ids[: 2 + named], (Litter(pups, sires=(0,), dams=(1,)),))
    looks = [[]] * 2 + [
        data.draw(st.sampled_from([[], [Observation("coming", 60)], [Observation("none", 25)]]))
        for _ in pups
    ]
    count = (pups, others, tuple(shown.count(number) for number in range(4)), 40)
    counted = counted_of(count, looks=dict(enumerate(looks)), silent=silent)
    pool, law = hardy_weinberg(np.array([1 - frequency, frequency])), transmission()

    def chances(pup, more):
        """(3,) of a pup's looks by name and of one more, at each dose"""
        own = looks[pup] if pup < len(looks) else []
        return np.exp(log_stage_chances([*own, *more], misjudged=MISJUDGED, curves=curves))

    @cache
    def of_pup(pup, dose, stage):
        by_name = chances(pup, [])
        more = [] if stage is None else [Observation(STAGES[stage], 40)]
        place = chances(pup, more) / by_name
        weight = (1 - MIXED_UP) * by_name[dose] + MIXED_UP * by_name.mean()
        return weight * (place.mean() if pup in silent else place[dose])

    total = 0.0
    everybody = range(2, 2 + named + others)
    for sire, dam, *doses in product(range(3), repeat=2 + len(everybody)):
        weight = pool[sire] * pool[dam] * prod(law[sire, dam, dose] for dose in doses)
        total += weight * sum(
            prod(map(of_pup, everybody, doses, stages)) for stages in set(permutations(shown))
        )
    found = height(evidence_of(pedigree, looks, counted), frequency, curves)
    assert found == pytest.approx(math.log(total), abs=1e-10)


@pytest.mark.parametrize("silent", [(), (3,)])
def test_slopes_are_those_of_the_likelihood(silent):
    looks = [
        [],
        [],
        [Observation("none", 30), Observation("full", 130)],
        [Observation("coming", 45)],
        [],
    ]
    counted = counted_of(
        ((2, 3, 4), 1, (1, 2, 0, 0), 40, "mild"),
        ((2, 4), 1, (0, 1, 1, 0), 95, "hot"),
        looks=dict(enumerate(looks)),
        silent=silent,
    )
    evidence = evidence_of(FAMILY, looks, counted, errors=0.01)
    for curves in (CURVES, MOVED):
        off, largest = slopes_differ_by(evidence, 0.3, curves)
        assert off < 1e-5
        assert largest > 0.5


def test_slopes_are_those_of_the_likelihood_of_a_herd():
    pedigree, looks, counted = simulated(3, 0.6, animals=30, looked_at=0.9)
    assert len(counted) > 4
    off, largest = slopes_differ_by(evidence_of(pedigree, looks, counted, 0.01), 0.3, MOVED)
    assert off < 1e-4
    assert largest > 1


def mixed_up_herd():
    """A herd where in each litter two may have been taken for each other, and some were counted."""
    random = np.random.default_rng(3)
    herd = make_herd(Habits(animals=30, looked_at=0.8), random)
    looks, counted = counted_until(herd, 60, 0.4, random)
    assert len(counted) > 2
    return allowing_for_mix_ups(herd, 0.2), looks, counted


@pytest.mark.parametrize(("dearest", "errors"), [(1e6, 0.01), (0, 0.01), (1e6, 0.0)])
def test_a_fit_goes_by_the_chance_that_doses_are_worked_out_by(monkeypatch, dearest, errors):
    # with the exchange of two littermates a choice of the litter, or weighed pup by pup
    monkeypatch.setattr(problem, "DEAREST_MIX_UPS", dearest)
    pedigree, looks, counted = mixed_up_herd()
    tallies = tallies_under(counted, curves=MOVED)
    litters = (
        replace(litter, tally=tallies.get(number)) for number, litter in enumerate(pedigree.litters)
    )
    chances = np.exp([log_stage_chances(row, misjudged=MISJUDGED, curves=MOVED) for row in looks])
    rows = (1 - MIXED_UP) * chances + MIXED_UP * chances.mean(axis=1, keepdims=True)
    whole = Pedigree(pedigree.ids, tuple(litters))
    dose = dose_posterior(whole, rows, frequency=0.3, errors=errors)
    assert bool(dose.behind) == (dearest > 0 and errors > 0)
    evidence = evidence_of(pedigree, looks, counted, errors)
    assert height(evidence, 0.3, MOVED) == pytest.approx(dose.log_likelihood, abs=1e-9)
    off, largest = slopes_differ_by(evidence, 0.3, MOVED)
    assert off < 1e-4
    assert largest > 1


def test_a_count_of_all_in_one_stage_is_a_look_at_each(monkeypatch):
    monkeypatch.setattr(likelihood, "MIXED_UP", 0.0)
    counted = counted_of(((2, 3, 4), 0, (3, 0, 0, 0), 60, "mild"))
    given = np.tile([0, 1.0, 0], (5, 1))
    together = fit(FAMILY, [[]] * 5, errors=0.0, given=given, counted=counted)
    each = [[], [], *[[Observation("none", 60, "mild")]] * 3]
    apart = fit(FAMILY, each, errors=0.0, given=given)
    for one, other in zip(
        together.parameters.curves.milestones, apart.parameters.curves.milestones, strict=True
    ):
        assert one[2:4] == pytest.approx(other[2:4], rel=1e-9)
    assert together.spread_errors == pytest.approx(apart.spread_errors, rel=1e-6)
    assert together.looks == pytest.approx(apart.looks)
    assert together.founders == apart.founders


# -------------------------------------------------------------------------- what it may not do


@settings(max_examples=3, deadline=None, phases=[Phase.generate])
@given(st.integers(0, 10**6), st.sampled_from([Prior(), Prior(0.6, 2.0, MOVED, 1.0)]))
def test_no_round_lowers_the_posterior(seed, prior):
    pedigree, looks, counted = simulated(seed, 0.6, animals=14, looked_at=0.9)
    found = fit(pedigree, looks, errors=0.01, counted=counted, prior=prior)
    assert (np.diff(found.rounds) >= -1e-9).all()
    assert found.settled


def test_one_litter_counted_cannot_overrule_the_prior():
    counted = counted_of(((2, 3, 4), 3, (0, 0, 0, 6), 36, "mild"))
    found = fit(FAMILY, [[]] * 5, errors=0.01, counted=counted)
    assert 0.25 < found.parameters.frequency < 0.35
    for one, known in zip(found.parameters.curves.milestones, CURVES.milestones, strict=True):
        assert 0.8 < one.median_days / known.median_days < 1.05
        assert 0.8 < one.spread / known.spread < 1.3


def test_a_count_of_a_family_that_is_left_out_is_left_out_with_it():
    both = Pedigree(
        ("x", "y", "z", *FAMILY.ids),
        (
            Litter((2,), sires=(0,), dams=(1,)),
            Litter((5, 6, 7), sires=(3,), dams=(4,)),
        ),
    )
    odd = np.ones((8, 3))
    # Two sure selfs have a pup with two doses: not even another sire explains it.
    odd[:3] = [(1, 0, 0), (1, 0, 0), (0, 0, 1)]
    count = (0, (1, 2, 0, 0), 40, "mild")
    counted = {
        0: counted_of(((2,), 1, (1, 1, 0, 0), 40, "mild"))[0],
        1: counted_of(((5, 6, 7), *count))[0],
    }
    found = fit(both, [[]] * 8, errors=0.01, given=odd, counted=counted)
    assert found.left_out == (0, 1, 2)
    alone = fit(FAMILY, [[]] * 5, errors=0.01, counted=counted_of(((2, 3, 4), *count)))
    assert found.parameters.frequency == pytest.approx(alone.parameters.frequency, rel=1e-9)
    assert found.spread_errors == pytest.approx(alone.spread_errors, rel=1e-6)


def test_a_litter_of_which_the_book_has_no_animal_has_no_say():
    strays = Pedigree((*FAMILY.ids,), (*FAMILY.litters, Litter(())))
    counted = {1: counted_of(((), 3, (0, 3, 0, 0), 30, "mild"))[0]}
    found = fit(strays, [[]] * 5, errors=0.01, counted=counted)
    assert found.parameters.frequency == pytest.approx(0.25, abs=1e-9)
    assert found.looks == (0.0,) * 5


def test_a_parent_nobody_knows_of_pups_without_a_line_is_one_of_the_founders():
    alone = Pedigree(("sow",), (Litter((), dams=(0,)),))
    found = fit(alone, [[]], errors=0.01, counted=counted_of(((), 3, (0, 3, 0, 0), 30, "mild")))
    assert found.founders == 2
