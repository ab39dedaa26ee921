"""Simulated herds whose keeper mixes littermates up or counts them together, and their calculation.

The herds of the simulator, with the looks at some litters exchanged or their names forgotten.
"""

from dataclasses import replace

import numpy as np

from genetics.core.pedigree.group_records import LabelSwap
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.group_counts import SeenTogether, count_of_litter, tallies_under
from genetics.core.penetrance.likelihood import likelihood_of_rows
from genetics.core.penetrance.observation import STAGES, Observation
from genetics.core.posterior.dose import dose_posterior
from genetics.core.record_errors.error_posterior import doubts

from .herd import Habits, make_herd
from .reckoned import ERRORS, FREQUENCY, as_pedigree, as_seen

EIGHT_WEEKS = 56
SEEN_OFTEN = Habits(animals=40, founders_looked_at=0.2, looks=(56, 90, 150), looked_at=0.8)
SEEN_ONCE = Habits(animals=40, looks=(EIGHT_WEEKS,), founders_looked_at=0.2, looked_at=0.8)


def exchanged(herd, rate, random):
    """The herd where, in so many litters of several pups, the looks at two went to each other."""
    return _turned(herd, exchanges(herd, rate, random))


def _turned(herd, pairs):
    looks, misread = list(herd.looks), list(herd.misread)
    for one, other in pairs:
        looks[one], looks[other] = looks[other], looks[one]
        misread[one], misread[other] = misread[other], misread[one]
    return replace(herd, looks=looks, misread=misread)


def exchanges(herd, rate, random):
    """Two pups of so many litters of several."""
    for pups, _, _ in herd.litters:
        if len(pups) > 1 and random.random() < rate:
            yield tuple(sorted(random.choice(pups, 2, replace=False).tolist()))


def allowing_for_mix_ups(herd, rate):
    litters = []
    for litter in as_pedigree(herd).litters:
        pairs = [(one, other) for one in litter.pups for other in litter.pups if one < other]
        shared = tuple(LabelSwap(*pair, rate / len(pairs)) for pair in pairs)
        litters.append(replace(litter, mix_ups=shared))
    return Pedigree(as_pedigree(herd).ids, tuple(litters))


def nameless(herd, share, random):
    """The pedigree of a herd whose looks at eight weeks were, in so many litters, of pups that
    nobody could tell apart, the looks that are left by name, and by litter what was counted."""
    looks = [list(row) for row in as_seen(herd)]
    counted = {}
    for number, litter in enumerate(as_pedigree(herd).litters):
        if random.random() < share:
            shown = [look.stage for pup in litter.pups for look in looks[pup]]
            stages = tuple(shown.count(stage) for stage in STAGES)
            for pup in litter.pups:
                looks[pup] = []
            seen = SeenTogether(litter.pups, 0, stages, EIGHT_WEEKS, "mild")
            together, _ = count_of_litter([seen], {})
            if together is not None:
                counted[number] = together
    tallies = tallies_under(counted)
    litters = (
        replace(litter, tally=tallies.get(number))
        for number, litter in enumerate(as_pedigree(herd).litters)
    )
    return Pedigree(as_pedigree(herd).ids, tuple(litters)), looks, counted


def doubted(herds, seed, rate=0.2):
    """Of every record that may be of a littermate, and every look: whether it is the former, the
    chance said that it is wrong, whether it was, and the herd's number."""
    random = np.random.default_rng(seed)
    rows = []
    for number in range(herds):
        herd = make_herd(SEEN_OFTEN, random)
        mixed = list(exchanges(herd, rate, random))
        herd = _turned(herd, mixed)
        looks, pedigree = as_seen(herd), allowing_for_mix_ups(herd, rate)
        likelihood = likelihood_of_rows(looks)
        dose = dose_posterior(pedigree, likelihood, frequency=FREQUENCY, errors=ERRORS)
        for kind, one, other, chance in doubts(pedigree, dose, looks):
            if kind == "mix-up":
                rows.append((True, chance, (one, other) in mixed, number))
            elif kind == "look":
                rows.append((False, chance, herd.misread[one][other], number))
    return np.array(rows, float)


def counted_until(herd, days, share, random):
    """The looks of a herd that are left by name and, by litter, what was counted where in so many
    litters the pups looked at on a day were counted together until such an age."""
    looks = [list(row) for row in as_seen(herd)]
    counted = {}
    for number, (pups, _, _) in enumerate(herd.litters):
        if random.random() < share:
            early = [(pup, look) for pup in pups for look in looks[pup] if look.age_days <= days]
            seen = [
                _together([one for one in early if one[1].age_days == age])
                for age in sorted({look.age_days for _, look in early})
            ]
            for pup in pups:
                looks[pup] = [look for look in looks[pup] if look.age_days > days]
            together, _ = count_of_litter(seen, {pup: looks[pup] for pup in pups})
            if together is not None:
                counted[number] = together
    return looks, counted


def _together(seen):
    """Looks at pups on one day, their names forgotten."""
    stages = [look.stage for _, look in seen]
    shown = tuple(stages.count(stage) for stage in STAGES)
    return SeenTogether(tuple(pup for pup, _ in seen), 0, shown, seen[0][1].age_days, "mild")


def said(pedigree, looks: list[list[Observation]], **rates):
    rows = likelihood_of_rows(looks, **rates)
    return dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=ERRORS).chances


def counted_together(herds, seed, share=0.5):
    """Chances and true doses where such a share of the litters was counted together: as they are
    worked out, as they would be by name, and with those looks forgotten."""
    random = np.random.default_rng(seed)
    counted, by_name, forgotten = [], [], []
    for _ in range(herds):
        herd = make_herd(SEEN_ONCE, random)
        pedigree, looks, _ = nameless(herd, share, random)
        doses = np.array(herd.doses)
        counted.append((said(pedigree, looks), doses))
        by_name.append((said(as_pedigree(herd), as_seen(herd)), doses))
        forgotten.append((said(as_pedigree(herd), looks), doses))
    return counted, by_name, forgotten


def taken_for_each_other(herds, seed, rate=0.2):
    """Chances and true doses where at such a rate two of a litter were taken for each other:
    allowed for, and with every name believed."""
    random = np.random.default_rng(seed)
    allowed, believed = [], []
    for _ in range(herds):
        herd = exchanged(make_herd(SEEN_OFTEN, random), rate, random)
        doses = np.array(herd.doses)
        allowed.append((said(allowing_for_mix_ups(herd, rate), as_seen(herd)), doses))
        believed.append((said(as_pedigree(herd), as_seen(herd)), doses))
    return allowed, believed
