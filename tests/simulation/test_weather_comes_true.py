"""Looks after heat and cold, several of them in one spell, say as much as comes true.

Seeded, so it passes or fails once for all; the bounds are four standard errors, herd by herd.
"""

from dataclasses import replace

import numpy as np
import pytest

from genetics.core.estimation.calibration import brier
from genetics.core.inheritance.mendel import hardy_weinberg
from genetics.core.penetrance.likelihood import SPELL_DAYS, likelihood_of_rows

from .herd import GROWN, Habits, make_herd
from .reckoned import FREQUENCY, as_seen
from .test_calibration import ROOM, faults

# Three looks within six days, at founders and their young alike.
OFTEN = Habits(animals=80, looks=(GROWN, GROWN + 3, GROWN + 6), looked_at=1.0, weather=True)


@pytest.fixture(scope="module")
def herds():
    random = np.random.default_rng(5)
    return [make_herd(OFTEN, random) for _ in range(100)]


def said(herds, days_between):
    """Chances and true doses by an animal's own looks alone, taken for ones that lie further
    apart by so many days."""
    prior = hardy_weinberg(np.array([1 - FREQUENCY, FREQUENCY]))
    pairs = []
    for herd in herds:
        rows = {row: looks for row, looks in enumerate(as_seen(herd)) if len(looks) == 3}
        apart = [
            [replace(look, age_days=look.age_days + n * days_between) for n, look in enumerate(row)]
            for row in rows.values()
        ]
        joint = prior * likelihood_of_rows(apart)
        pairs.append((joint / joint.sum(axis=1, keepdims=True), np.array(herd.doses)[[*rows]]))
    return pairs


def test_it_works(herds):
    together = said(herds, 0)
    assert faults(together) == []
    score, hoped, error = brier(together)
    assert abs(score - hoped) < ROOM * error


def test_who_takes_each_look_for_a_spell_of_its_own_says_too_much(herds):
    overdone = said(herds, 2 * SPELL_DAYS)
    assert faults(overdone)
    score, hoped, error = brier(overdone)
    assert score - hoped > ROOM * error
