"""Doses by sampling: an independent check where the exact engine can't reach.

A blocked Gibbs sampler, sharing no code with the engine. Animals with young are drawn in turn
given their parents, mates and young; all animals without young form blocks with them that are
summed over rather than drawn, so the draws move freely and their own shares are averages of exact
conditional chances (Rao-Blackwell). Many chains run side by side; the noise is the spread of the
chains' means. Geman S, Geman D 1984, Stochastic relaxation, Gibbs distributions, and the Bayesian
restoration of images, IEEE Trans Pattern Anal 6:721-741 (cited from memory). Sires and dams are
certain or unknown; there are no wrong records.
"""

from itertools import product

import numpy as np


def mendel():
    """Chance of a pup's dose (last axis) given its sire's and its dam's, from gametes."""
    table = np.zeros((3, 3, 3))
    for sire, dam in product(range(3), repeat=2):
        for a, b in product((0, 1), repeat=2):
            chance = (sire / 2 if a else 1 - sire / 2) * (dam / 2 if b else 1 - dam / 2)
            table[sire, dam, a + b] += chance
    return table


def sampled_doses(pedigree, likelihood, frequency, chance, *, sweeps=300, burn_in=60, chains=200):
    """Shares (n, 3) of each animal's dose and the standard error of each, from many chains.

    Every litter has one known sire and one known dam.
    """
    table = mendel()
    founder = np.array([(1 - frequency) ** 2, 2 * frequency * (1 - frequency), frequency**2])
    parents, young = {}, {animal: [] for animal in range(len(pedigree))}
    for litter in pedigree.litters:
        (sire,), (dam,) = litter.sires, litter.dams
        for pup in litter.pups:
            parents[pup] = sire, dam
            young[sire].append((pup, dam))
            young[dam].append((pup, sire))
    drawn = [animal for animal in range(len(pedigree)) if young[animal]]
    # what an animal without young says of its parents, summed over its own dose
    leaf = {a: table @ likelihood[a] for a in range(len(pedigree)) if not young[a]}
    doses = np.zeros((len(pedigree), chains), dtype=int)
    for animal in pedigree.order:  # a start that Mendel allows: genes dropped from the founders
        if animal in parents:
            sire, dam = parents[animal]
            doses[animal] = (chance.random(chains) < doses[sire] / 2).astype(int)
            doses[animal] += chance.random(chains) < doses[dam] / 2
        else:
            doses[animal] = chance.binomial(2, frequency, chains)

    def conditional(animal):
        """Chances (chains, 3) of its dose given all other drawn doses."""
        if animal in parents:
            sire, dam = parents[animal]
            weight = table[doses[sire], doses[dam]] * likelihood[animal]
        else:
            weight = np.tile(founder * likelihood[animal], (chains, 1))
        for pup, mate in young[animal]:
            if pup in leaf:
                weight = weight * leaf[pup][:, doses[mate]].T
            else:
                weight = weight * table[:, doses[mate], doses[pup]].T
            weight = weight / weight.max(axis=1, keepdims=True)
        return weight / weight.sum(axis=1, keepdims=True)

    total = np.zeros((len(pedigree), chains, 3))
    for sweep in range(burn_in + sweeps):
        for animal in drawn:
            shares = conditional(animal)
            luck = chance.random((chains, 1))
            doses[animal] = (luck > np.cumsum(shares[:, :2], axis=1)).sum(axis=1)
            if sweep >= burn_in:
                total[animal] += shares
        if sweep >= burn_in:
            for animal in leaf:
                total[animal] += conditional(animal)
    means = total / sweeps
    return means.mean(axis=1), means.std(axis=1, ddof=1) / np.sqrt(chains)
