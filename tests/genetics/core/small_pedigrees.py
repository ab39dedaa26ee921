"""Small random pedigrees and evidence for property tests, and the slow definitions.

`definition_of_dose` sums over every choice of parents and every genotype of every animal;
`definition_of_kinship` averages the textbook recursion over every choice of parents.
"""

from itertools import product
from math import prod

import numpy as np
from hypothesis import strategies as st

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree

HANDS_ON = (0.0, 0.5, 1.0)  # chance that a parent of 0, 1, 2 doses hands the allele on


@st.composite
def pedigrees(draw, most=9, choices=2, shuffled=True):
    """Litters of one to three pups from unknown, certain or uncertain parents, with loops."""
    count = draw(st.integers(2, most))
    rows = draw(st.permutations(range(count))) if shuffled else list(range(count))
    born = draw(st.integers(1, min(4, count)))
    litters = []
    while born < count:
        size = draw(st.integers(1, min(3, count - born)))
        older = st.permutations(rows[:born])
        picked = draw(older)
        boars = draw(st.integers(0, min(choices, born)))
        sows = draw(st.integers(0, min(choices, born - boars)))
        weights = st.integers(1, 5)
        litters.append(
            Litter(
                tuple(rows[born : born + size]),
                sires=tuple(picked[:boars]),
                sire_weights=tuple(draw(weights) for _ in range(boars)),
                dams=tuple(picked[boars : boars + sows]),
                dam_weights=tuple(draw(weights) for _ in range(sows)),
            )
        )
        born += size
    return Pedigree(tuple(f"a{row}" for row in range(count)), tuple(litters))


def evidence(count):
    """Rows of three: nothing seen, soft, or decisive, on any scale."""
    soft = st.tuples(*[st.integers(1, 1000).map(lambda share: share / 1000)] * 3)
    hard = st.sampled_from([(1, 0, 0), (0, 1, 0), (0, 0, 1), (0, 1, 1), (1, 1, 0), (2, 0, 1)])
    row = st.one_of(st.just((1, 1, 1)), soft, hard)
    return st.lists(row, min_size=count, max_size=count).map(lambda rows: np.array(rows, float))


def _draws(pedigree, errors):
    """Every choice of parents: chance, and for each litter its sire and dam, None if unknown."""
    sides = []
    for litter in pedigree.litters:
        sires = [
            (w * (1 - errors), s) for w, s in zip(litter.sire_weights, litter.sires, strict=True)
        ]
        if sires and errors:
            sires.append((errors, None))
        dams = list(zip(litter.dam_weights, litter.dams, strict=True))
        sides += [sires or [(1.0, None)], dams or [(1.0, None)]]
    for picked in product(*sides):
        parents = [animal for _, animal in picked]
        yield (
            prod(chance for chance, _ in picked),
            list(zip(parents[::2], parents[1::2], strict=True)),
        )


def _certain(pedigree, draw):
    """Parents of each animal under one draw; unknown ones become founders after the rest."""
    parents = [None] * len(pedigree)
    for litter, pair in zip(pedigree.litters, draw, strict=True):
        known = []
        for parent in pair:
            known.append(len(parents) if parent is None else parent)
            if parent is None:
                parents.append(None)
        for pup in litter.pups:
            parents[pup] = tuple(known)
    return parents


def definition_of_dose(pedigree, likelihood, frequency, errors, founder_prior=None):
    """Posterior (n, 3) and joint (n, n, 3, 3) by summing over everything; None if impossible."""
    count = len(pedigree)
    pool = [(1 - frequency) ** 2, 2 * frequency * (1 - frequency), frequency**2]
    joint = np.zeros((count, count, 3, 3))
    for chance, draw in _draws(pedigree, errors):
        parents = _certain(pedigree, draw)
        for doses in product(range(3), repeat=len(parents)):
            weight = chance
            for animal, dose in enumerate(doses):
                if parents[animal] is not None:
                    a, b = (HANDS_ON[doses[parent]] for parent in parents[animal])
                    weight *= ((1 - a) * (1 - b), a + b - 2 * a * b, a * b)[dose]
                elif animal < count and founder_prior is not None:
                    weight *= founder_prior[animal][dose]
                else:
                    weight *= pool[dose]
                if animal < count:
                    weight *= likelihood[animal][dose]
                if weight == 0:
                    break
            else:
                seen = np.array(doses[:count])
                joint[np.arange(count)[:, None], np.arange(count), seen[:, None], seen] += weight
    total = joint[0, 0].sum()
    if total == 0:
        return None
    joint /= total
    return joint[np.arange(count), np.arange(count)].diagonal(axis1=1, axis2=2), joint


def definition_of_kinship(pedigree):
    """Wright's kinship averaged over every choice of parents."""
    numbers = range(len(pedigree))
    mean = np.zeros((len(pedigree), len(pedigree)))
    for chance, draw in _draws(pedigree, 0):
        parents = _certain(pedigree, draw)
        mean += chance * np.array([[_kinship(parents, i, j) for j in numbers] for i in numbers])
    return mean


def _kinship(parents, i, j):
    if i == j:
        return 0.5 if parents[i] is None else (1 + _kinship(parents, *parents[i])) / 2
    if _generation(parents, i) < _generation(parents, j):
        i, j = j, i
    if parents[i] is None:
        return 0.0
    return sum(_kinship(parents, parent, j) for parent in parents[i]) / 2


def _generation(parents, animal):
    if parents[animal] is None:
        return 0
    return 1 + max(_generation(parents, parent) for parent in parents[animal])
