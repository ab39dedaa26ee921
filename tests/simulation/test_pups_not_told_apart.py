"""Herds whose keeper mixes littermates up or counts them together: what is said still comes true.

The herds of the simulator, with the looks at some litters exchanged or their names forgotten.
Seeded, so it passes or fails once for all; the bounds are four standard errors, herd by herd.
"""

from dataclasses import replace

import numpy as np
import pytest

from genetics.core.dose import reckon_dose
from genetics.core.evidence import looks_likelihood
from genetics.core.littermates import MixUp
from genetics.core.pedigree import Pedigree
from genetics.core.scoring import brier
from genetics.core.seen import STAGES, SeenLook
from genetics.core.tallies import SeenTogether, tally_of

from .herd import Habits, make_herd
from .reckoned import ERRORS, FREQUENCY, as_pedigree, as_seen
from .test_calibration import ROOM, faults

pytestmark = pytest.mark.slow

EIGHT_WEEKS = 56
SEEN_OFTEN = Habits(animals=40, founders_looked_at=0.2, looks=(56, 90, 150), looked_at=0.8)
SEEN_ONCE = Habits(animals=40, looks=(EIGHT_WEEKS,), founders_looked_at=0.2, looked_at=0.8)


def exchanged(herd, rate, random):
    """The herd where, in so many litters of several pups, the looks at two went to each other."""
    looks = list(herd.looks)
    for pups, _, _ in herd.litters:
        if len(pups) > 1 and random.random() < rate:
            one, other = random.choice(pups, 2, replace=False)
            looks[one], looks[other] = looks[other], looks[one]
    return replace(herd, looks=looks)


def allowing_for_mix_ups(herd, rate):
    litters = []
    for litter in as_pedigree(herd).litters:
        pairs = [(one, other) for one in litter.pups for other in litter.pups if one < other]
        shared = tuple(MixUp(*pair, rate / len(pairs)) for pair in pairs)
        litters.append(replace(litter, mix_ups=shared))
    return Pedigree(as_pedigree(herd).ids, tuple(litters))


def nameless(herd, share, random):
    """The pedigree of a herd whose looks at eight weeks were, in so many litters, of pups that
    nobody could tell apart, and the looks that are left by name."""
    looks = [list(row) for row in as_seen(herd)]
    litters = []
    for litter in as_pedigree(herd).litters:
        tally = None
        if random.random() < share:
            shown = [look.stage for pup in litter.pups for look in looks[pup]]
            counted = tuple(shown.count(stage) for stage in STAGES)
            for pup in litter.pups:
                looks[pup] = []
            seen = SeenTogether(litter.pups, 0, counted, EIGHT_WEEKS, "mild")
            tally, _ = tally_of([seen], {})
        litters.append(replace(litter, tally=tally))
    return Pedigree(as_pedigree(herd).ids, tuple(litters)), looks


def said(pedigree, looks: list[list[SeenLook]], **rates):
    rows = np.array([looks_likelihood(row, **rates) for row in looks])
    return reckon_dose(pedigree, rows, frequency=FREQUENCY, errors=ERRORS).chances


def test_it_works():
    """Half the litters were counted together: the chances are less sharp, and still right."""
    random = np.random.default_rng(21)
    counted, by_name, forgotten = [], [], []
    for _ in range(120):
        herd = make_herd(SEEN_ONCE, random)
        pedigree, looks = nameless(herd, 0.5, random)
        doses = np.array(herd.doses)
        counted.append((said(pedigree, looks), doses))
        by_name.append((said(as_pedigree(herd), as_seen(herd)), doses))
        forgotten.append((said(as_pedigree(herd), looks), doses))
    assert faults(counted) == []
    score, hoped, error = brier(counted)
    assert abs(score - hoped) < ROOM * error
    # A count says less than names would, and more than nothing.
    assert brier(by_name)[0] < score < brier(forgotten)[0]


def test_pups_taken_for_each_other_are_allowed_for():
    random = np.random.default_rng(12)
    allowed, trusted = [], []
    for _ in range(80):
        herd = exchanged(make_herd(SEEN_OFTEN, random), 0.2, random)
        doses = np.array(herd.doses)
        chances = said(allowing_for_mix_ups(herd, 0.2), as_seen(herd), mixed_up=0.002)
        allowed.append((chances, doses))
        trusted.append((said(as_pedigree(herd), as_seen(herd)), doses))
    assert faults(allowed) == []
    score, hoped, error = brier(allowed)
    assert abs(score - hoped) < ROOM * error
    # Who believes every name says more than is true.
    overdone, promised, error = brier(trusted)
    assert overdone - promised > ROOM * error
    assert score < overdone
