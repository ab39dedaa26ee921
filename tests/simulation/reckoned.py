"""A simulated herd put through the calculation, as the book would."""

import numpy as np

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.likelihood import founder_shares, likelihood_of_rows
from genetics.core.penetrance.observation import Observation
from genetics.core.posterior.dose import dose_posterior
from genetics.core.record_errors.error_posterior import doubts

from .herd import Habits, Herd, make_herd

FREQUENCY = 0.25
ERRORS = 0.01


def as_pedigree(herd: Herd) -> Pedigree:
    """The litters as written."""
    ids = tuple(str(row) for row in range(len(herd.doses)))
    litters = tuple(Litter(pups, sires=sires, dams=(dam,)) for pups, sires, dam in herd.litters)
    return Pedigree(ids, litters)


def as_seen(herd: Herd) -> list[list[Observation]]:
    """The looks of each animal."""
    return [[Observation(*look) for look in looks] for looks in herd.looks]


def reckon(herd: Herd, frequency: float = FREQUENCY, errors: float = ERRORS):
    """The doses of a herd, with the rates that the book takes for granted."""
    likelihood = likelihood_of_rows(as_seen(herd))
    bought = np.array([founder_shares(word or "unknown") for word in herd.bought_as])
    return dose_posterior(
        as_pedigree(herd), likelihood, frequency=frequency, errors=errors, founder_prior=bought
    )


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


def doubted(habits: Habits, herds: int, seed: int, errors: float = ERRORS):
    """Of every sire and every look: whether it is a sire, the chance said that it is wrong, whether
    it was, and the herd's number (n, 4)."""
    random = np.random.default_rng(seed)
    rows = []
    for number in range(herds):
        herd = make_herd(habits, random)
        dose = reckon(herd, errors=errors)
        for kind, of, look, chance in doubts(as_pedigree(herd), dose, as_seen(herd)):
            wrong = herd.sire_wrong[of] if kind == "sire" else herd.misread[of][look]
            rows.append((kind == "sire", chance, wrong, number))
    return np.array(rows, float)
