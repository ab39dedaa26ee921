"""The slow definition of what looks at one animal say, and of which of them is misread."""

from itertools import pairwise
from math import log
from statistics import NormalDist

import numpy as np

from genetics.core.penetrance.likelihood import AHEAD, SPELL_DAYS, TURNS, WEEKS, shown_by
from genetics.core.penetrance.observation import STAGES
from genetics.core.penetrance.onset_parameters import CURVES
from genetics.core.penetrance.pattern_details import details_likelihood


def chance_and_slips(dose, looks, misjudged):
    """The chance of all these looks at an animal of a dose, summed over its paces, how its
    milestones are apart from them and the shifts of every spell, and of it the part (k,) in which
    each of them was misread."""
    whole, slips = 0.0, np.zeros(len(looks))
    apart = CURVES.apart(dose)
    for medians in apart.medians:
        milestones = list(zip(apart.stages, medians, apart.spreads, strict=True))
        edges = sorted(
            reached(milestone, age)
            for look in looks
            for milestone in milestones
            for age in {look.age_days, look.age_days * 1.1}
        )
        below = [0.0, *map(NormalDist().cdf, edges), 1.0]
        middles = [(a + b) / 2 for a, b in pairwise(edges)]
        paces = [edges[0] - 1, *middles, edges[-1] + 1] if edges else [0.0]
        for cell, pace in enumerate(paces):
            weight = (below[cell + 1] - below[cell]) / len(apart.medians)
            chance, parts = at_a_pace(milestones, pace, looks, misjudged)
            whole += weight * chance
            slips += weight * parts
    details = details_likelihood(looks)[dose]
    return details * whole, details * slips


def at_a_pace(milestones, pace, looks, misjudged):
    """Chance of all looks of an animal that is this slow, and that with each of them misread."""
    whole, misread = 1.0, np.ones(len(looks))
    for spell in spells_of(looks):
        chance, parts = 0.0, np.zeros(len(looks))
        for share, warmth, dark in shifts_of(looks[spell[0]].warmth):
            read, slip = {}, {}
            for place in spell:
                stage = stage_at(milestones, pace, looks[place].age_days, warmth)
                as_shown = shown_at(stage, looks[place], warmth, dark)
                slip[place] = misjudged / 3 * (1 - as_shown)
                read[place] = (1 - misjudged) * as_shown + slip[place]
            weight = share * np.prod(list(read.values()))
            chance += weight
            for place in spell:
                parts[place] += weight * slip[place] / read[place] if slip[place] else 0
        whole *= chance
        for place in range(len(looks)):
            misread[place] *= parts[place] if place in spell else chance
    return whole, misread


def spells_of(looks):
    """The numbers of the looks of each spell."""
    left = sorted(range(len(looks)), key=lambda place: looks[place].age_days)
    while left:
        first = looks[left[0]]
        spell = [
            place
            for place in left
            if looks[place].warmth == first.warmth
            and looks[place].age_days - first.age_days <= SPELL_DAYS
        ]
        left = [place for place in left if place not in spell]
        yield spell


def shifts_of(warmth):
    """Every way that a spell may be: its share, its warmth, and how dark, from 0 to 1, it leaves
    an animal."""
    for one, share in ({warmth: 1.0} if warmth else WEEKS).items():
        edges = sorted({0.0, *shown_by(one).cumsum(axis=1).round(12).ravel().tolist()})
        for low, high in pairwise(edges):
            yield share * (high - low), one, (low + high) / 2


def shown_at(stage, look, warmth, dark):
    """The chance that an animal shows what was written of it, in its spell's weather or, if that
    has turned, in any that brings points on as far."""
    written = STAGES.index(look.stage)
    as_ever = float(np.searchsorted(shown_by(warmth)[stage].cumsum(), dark) == written)
    alike = [one for one in WEEKS if AHEAD[one] == AHEAD[warmth]] if not look.warmth else [warmth]
    turned = np.average(
        [shown_by(one)[stage, written] for one in alike], weights=[WEEKS[one] for one in alike]
    )
    turns = TURNS[look.warmth]
    return (1 - turns) * as_ever + turns * turned


def stage_at(milestones, pace, age_days, warmth):
    """The stage reached by an animal of that pace."""
    return max(
        (
            milestone[0]
            for milestone in milestones
            if pace <= reached(milestone, age_days * (AHEAD[warmth] if milestone[0] == 1 else 1))
        ),
        default=0,
    )


def reached(milestone, age):
    """The pace from which on an animal has not reached it by an age: slow is high."""
    _, median_days, spread = milestone
    return log(age / median_days) / spread if age else -40.0
