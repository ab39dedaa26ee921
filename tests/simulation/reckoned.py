"""A simulated herd put through the reckoning, as the book would."""

import numpy as np

from genetics.core.dose import reckon_dose
from genetics.core.evidence import looks_likelihood
from genetics.core.pedigree import Litter, Pedigree
from genetics.core.seen import SeenLook

from .herd import Habits, Herd, make_herd

FREQUENCY = 0.25
ERRORS = 0.01


def as_pedigree(herd: Herd) -> Pedigree:
    """The litters as written."""
    ids = tuple(str(row) for row in range(len(herd.doses)))
    litters = tuple(Litter(pups, sires=(sire,), dams=(dam,)) for pups, sire, dam in herd.litters)
    return Pedigree(ids, litters)


def as_seen(herd: Herd) -> list[list[SeenLook]]:
    """The looks of each animal: the weather of a simulated herd is mild all year."""
    return [[SeenLook(stage, age, "mild") for stage, age in looks] for looks in herd.looks]


def reckon(herd: Herd, frequency: float = FREQUENCY, errors: float = ERRORS):
    """The doses of a herd, with the rates that the book takes for granted."""
    likelihood = np.array([looks_likelihood(looks) for looks in as_seen(herd)])
    return reckon_dose(as_pedigree(herd), likelihood, frequency=frequency, errors=errors)


def scored(habits: Habits, herds: int, seed: int):
    """Chances and true doses, herd by herd, of the animals that have a figure; and how many have
    none."""
    random = np.random.default_rng(seed)
    pairs, left_out = [], 0
    for _ in range(herds):
        herd = make_herd(habits, random)
        chances = reckon(herd).chances
        made = ~np.isnan(chances[:, 0])
        left_out += int((~made).sum())
        pairs.append((chances[made], np.array(herd.doses)[made]))
    return pairs, left_out
