"""How large a herd is in effect: how fast its lines run together, set against an ideal herd.

An ideal herd of N mates at random, the young of one generation replacing the last, and its
inbreeding rises by 1/(2 N) of what is left a generation. A herd's effective size is the N that
would run together as fast. Wright S 1931, Evolution in Mendelian populations, Genetics 16:97-159
(cited from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from genetics.core.pedigree.pedigree import Pedigree

Figures = NDArray[np.float64]

ONE_GENERATION = 1.0  # pairs whose pedigrees go back less far say nothing of a rate


def size_by_parents(boars: int, sows: int) -> float:
    """4 Nm Nf / (Nm + Nf) for so many boars and sows with young (Wright 1931).

    Assumes that they are mated at random, that each of a sex has the same chance of young in the
    next generation, that generations do not overlap and that the parents are unrelated. Selection
    and favourites make the truth smaller. Raises ValueError where a sex is missing.
    """
    if boars < 1 or sows < 1:
        raise ValueError("an effective size needs a boar and a sow")
    return 4 * boars * sows / (boars + sows)


def equivalent_generations(pedigree: Pedigree) -> Figures:
    """How many whole generations each animal's known ancestors would fill: sum of (1/2)^n.

    The sum runs over every known ancestor, n generations back. Maignel L, Boichard D, Verrier E
    1996, Genetic variability of French dairy breeds, Interbull Bull 14:49-54 (cited from memory).
    """
    known = np.zeros(len(pedigree))
    for number in pedigree.litter_order():
        litter = pedigree.litters[number]
        sides = ((litter.sires, litter.sire_weights), (litter.dams, litter.dam_weights))
        known[list(litter.pups)] = sum(
            (1 + np.array(weights) @ known[list(candidates)]) / 2
            for candidates, weights in sides
            if candidates
        )
    return known


def size_by_kinship(kinship: Figures, generations: Figures) -> float:
    """The effective size by which kinship rose over the generations on record.

    `kinship` (k, k) of the animals that live, `generations` (k,) as `equivalent_generations` has
    them. For each pair with kinship c and t generations on the mean of both, the rise a
    generation is 1 - (1 - c)^(1/t); the size is 1 / (2 mean rise): Cervantes I, Goyache F, Molina
    A, Valera M, Gutierrez JP 2011, Estimation of effective population size from the rate of
    coancestry in pedigreed populations, J Anim Breed Genet 128:56-63 (cited from memory), after
    Gutierrez JP, Cervantes I, Molina A, Valera M, Goyache F 2008, Genet Sel Evol 40:359-378, who
    have the same of F (abstract seen). Pairs of less than `ONE_GENERATION` are left out. NaN where
    no pair is left or none is related: nothing can be said. Founders are taken for unrelated.
    """
    first, second = np.triu_indices(len(kinship), 1)
    mean = (generations[first] + generations[second]) / 2
    told = mean >= ONE_GENERATION
    if not told.any():
        return float("nan")
    shared = np.minimum(kinship[first[told], second[told]], 1.0)
    rise = float((1 - (1 - shared) ** (1 / mean[told])).mean())
    return 1 / (2 * rise) if rise > 0 else float("nan")


def genome_equivalents(kinship: Figures) -> float:
    """How many unrelated founders, with nothing lost, would hold as many different genes.

    1 / (2 mean kinship), each animal with itself counted in: Lacy RC 1995, Clarification of
    genetic terms and their use in the management of captive populations, Zoo Biol 14:565-577
    (abstract seen; the formula from memory). `kinship` (k, k), diagonal (1 + F)/2.
    """
    return float(1 / (2 * kinship.mean()))
