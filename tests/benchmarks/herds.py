"""Simulated herds to measure the calculation on. Seeded; nothing here is a record of any herd.

A herd is bred season by season from founders, each boar put to several sows of the last few
seasons, and the animals are seen more or less plainly: a share of them not at all, a share beyond
doubt, and the rest with odds. Doses are drawn by Mendel's law from the frequency that is given to
the calculation, and looks from their own likelihoods, so that the calculation's model is true here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from genetics.core.inference.factor_graph import Table
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.group_counts import SeenTogether
from genetics.core.penetrance.likelihood import MISJUDGED
from genetics.core.penetrance.observation import STAGES, Observation
from tests.benchmarks.registers import Register
from tests.genetics.core.chances import log_stage_chances, tally_of

FREQUENCY = 0.25
LOOKS = np.array([[0.9, 0.25, 0.05], [0.08, 0.55, 0.3], [0.02, 0.2, 0.65]])  # stage given dose


@dataclass(frozen=True)
class Habits:
    """How a herd is bred and written down.

    `unseen` and `certain`: shares of animals without a look, and with one beyond doubt.
    `boars`: used in a season; `back`: seasons whose animals may be parents; `doubtful`: share of
    litters with two candidate sires.
    """

    animals: int
    boars: int = 6
    back: int = 3
    founders: int = 20
    litters: int = 12
    unseen: float = 0.3
    certain: float = 0.1
    doubtful: float = 0.0


@dataclass(frozen=True)
class Herd:
    """A pedigree, a likelihood row for each animal, and the doses they were drawn from."""

    pedigree: Pedigree
    likelihood: Table
    doses: list[int]


def bred(chance: np.random.Generator, habits: Habits) -> Herd:
    """A herd of about `habits.animals`."""
    doses = [int(chance.binomial(2, FREQUENCY)) for _ in range(habits.founders)]
    seasons = [list(range(habits.founders))]
    litters: list[Litter] = []
    while len(doses) < habits.animals:
        stock = [animal for season in seasons[-habits.back :] for animal in season]
        chance.shuffle(stock)
        boars = stock[: min(habits.boars, len(stock) // 2)]
        sows = stock[len(boars) :]
        born: list[int] = []
        for sow in sows[: habits.litters]:
            several = min(2, len(boars)) if chance.random() < habits.doubtful else 1
            sires = [int(one) for one in chance.choice(boars, several, replace=False)]
            pups = range(len(doses), len(doses) + 1 + int(chance.integers(4)))
            litters.append(Litter(tuple(pups), sires=tuple(sires), dams=(sow,)))
            chances = [doses[sires[0]] / 2, doses[sow] / 2]
            doses += [int((chance.random(2) < chances).sum()) for _ in pups]
            born += pups
        seasons.append(born)
    pedigree = Pedigree(tuple(f"a{number}" for number in range(len(doses))), tuple(litters))
    return Herd(pedigree, _seen(chance, habits, doses), doses)


def looked_at(chance: np.random.Generator, register: Register, unseen: float = 0.3) -> Herd:
    """A register's animals, with doses by Mendel's law and looks, none of them beyond doubt."""
    doses: list[int] = []
    for sire, dam in zip(register.sires.tolist(), register.dams.tolist(), strict=True):
        chances = [FREQUENCY if one == -1 else doses[one] / 2 for one in (sire, dam)]
        doses.append(int((chance.random(2) < chances).sum()))
    first = np.flatnonzero(np.diff(register.litters, prepend=-1) != 0)
    pups = np.split(np.arange(len(doses)), first)[1:]
    litters = tuple(
        Litter(tuple(young), sires=(sire,), dams=(dam,))
        for young, sire, dam in zip(
            [one.tolist() for one in pups],
            register.sires[first].tolist(),
            register.dams[first].tolist(),
            strict=True,
        )
    )
    pedigree = Pedigree(tuple(f"a{number}" for number in range(len(doses))), litters)
    seen = _seen(chance, Habits(len(doses), unseen=unseen, certain=0.0), doses)
    return Herd(pedigree, seen, doses)


def counted_together(chance: np.random.Generator, herd: Herd, share: float) -> Herd:
    """The herd where so many litters of several pups were besides counted together, at an age at
    which some have pointed."""
    litters = []
    for litter in herd.pedigree.litters:
        tally = None
        if len(litter.pups) > 1 and chance.random() < share:
            age_days = float(chance.choice([21, 35, 50, 70]))
            by_dose = np.exp(
                [
                    log_stage_chances([Observation(stage, age_days)], misjudged=MISJUDGED)
                    for stage in STAGES
                ]
            ).T
            shown = [
                chance.choice(4, p=row / row.sum())
                for row in by_dose[[herd.doses[pup] for pup in litter.pups]]
            ]
            counted = tuple(shown.count(stage) for stage in range(4))
            tally, _ = tally_of([SeenTogether(litter.pups, 0, counted, age_days)], {})
        litters.append(replace(litter, tally=tally))
    return replace(herd, pedigree=Pedigree(herd.pedigree.ids, tuple(litters)))


def _seen(chance: np.random.Generator, habits: Habits, doses: list[int]) -> Table:
    rows = np.ones((len(doses), 3))
    for animal, dose in enumerate(doses):
        luck = chance.random()
        if luck < habits.certain:
            rows[animal] = np.arange(3) == dose
        elif luck > habits.unseen + habits.certain:
            rows[animal] = LOOKS[chance.choice(3, p=LOOKS[:, dose])]
    return rows
