"""Chances that are said of a dose come true as often as they say, on simulated herds.

Seeded, so it passes or fails once for all; the bounds are four standard errors, herd by herd.
The full tables stand in tests/benchmarks/calibration.md.
"""

import subprocess
import sys

import numpy as np
import pytest

from genetics.core.estimation.calibration import between, brier, reliability

from .herd import GROWN, Habits, make_herd
from .reckoned import scored

pytestmark = pytest.mark.slow

ROOM = 4


@pytest.fixture(scope="module")
def as_assumed():
    # One look at eight weeks, at half the pups: most chances lie in between.
    little_seen = Habits(animals=40, looks=(56,), founders_looked_at=0.2)
    pairs, left_out = scored(little_seen, 120, seed=7)
    assert left_out == 0
    return pairs


def faults(pairs):
    """The bands, with enough said in them to judge, whose share lies too far from what was said."""
    return [
        band
        for band in reliability(pairs)
        if band.said >= 50 and abs(band.came_true - band.mean) > ROOM * max(band.error, 0.002)
    ]


def sharpened(pairs):
    """The same chances, said with too much confidence."""
    return [
        (chances**2 / (chances**2).sum(axis=1, keepdims=True), doses) for chances, doses in pairs
    ]


def test_it_works(as_assumed):
    assert faults(as_assumed) == []
    said, mean, right, error = between(as_assumed, 0.8, 0.9)
    assert said >= 200
    assert abs(right - mean) < ROOM * error


def test_it_is_as_good_as_its_own_chances_promise(as_assumed):
    score, hoped, error = brier(as_assumed)
    assert abs(score - hoped) < ROOM * error
    # Who knows only the founders' shares scores far worse.
    founders = np.array([0.5625, 0.375, 0.0625])
    ignorant, _, _ = brier([(np.tile(founders, (len(doses), 1)), doses) for _, doses in as_assumed])
    assert score < ignorant / 2


def test_too_much_confidence_is_found_out(as_assumed):
    overdone = sharpened(as_assumed)
    assert faults(overdone)
    score, hoped, error = brier(overdone)
    assert score - hoped > ROOM * error


def test_a_broken_assumption_is_seen_in_the_score():
    pairs, _ = scored(Habits(animals=40, misread=0.1, delayer=0.4), 80, seed=7)
    score, hoped, error = brier(pairs)
    assert score - hoped > ROOM * error


def test_the_simulator_imports_nothing_of_the_calculation():
    asked = (
        "import sys, tests.simulation.herd as h; print([m for m in sys.modules if 'genetics' in m])"
    )
    said = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"


def test_the_simulator_keeps_to_mendel_and_to_its_ages():
    random = np.random.default_rng(3)
    habits = Habits(animals=60, misread=0, mixed_up=0, wrong_sires=0, looks=(1, GROWN), looked_at=1)
    herds = [make_herd(habits, random) for _ in range(40)]
    young = {}
    for herd in herds:
        for pups, (sire,), dam in herd.litters:
            pair = tuple(sorted((herd.doses[sire], herd.doses[dam])))
            young.setdefault(pair, []).extend(herd.doses[pup] for pup in pups)
            for pup in pups:
                grown = ("none", "full", "overmarked")[herd.doses[pup]]
                assert herd.looks[pup] == [("none", 1, "mild"), (grown, GROWN, "mild")]
    for (one, other), doses in young.items():
        mean, variance = (one + other) / 2, ((one == 1) + (other == 1)) / 4
        assert abs(np.mean(doses) - mean) <= ROOM * np.sqrt(variance / len(doses))
    assert len(young[1, 1]) > 50


def test_slips_are_as_frequent_as_they_are_said_to_be():
    random = np.random.default_rng(5)
    habits = Habits(misread=0.1, mixed_up=0.0, wrong_sires=0.2, looked_at=1.0)
    herds = [make_herd(habits, random) for _ in range(20)]
    slips = [slip for herd in herds for row in herd.misread for slip in row]
    wrong = [slip for herd in herds for slip in herd.sire_wrong]
    for found, rate in ((slips, 0.1), (wrong, 0.2)):
        assert abs(np.mean(found) - rate) < ROOM * np.sqrt(rate * (1 - rate) / len(found))
