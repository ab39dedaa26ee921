"""One litter of a boar and a sow, and the slow definition of what follows for it."""

from itertools import product
from math import prod

import numpy as np

from genetics.core.inheritance.mendel import hardy_weinberg, transmission
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree

FREQUENCY = 0.25
UNSEEN = (1, 1, 1)


def litter_of(count, *, parents=(UNSEEN, UNSEEN), **told):
    """boar 0, sow 1, pups from 2 on"""
    pups = tuple(range(2, 2 + count))
    rows = np.array([*parents, *[UNSEEN] * count], float)
    litter = Litter(pups, sires=(0,), dams=(1,), **told)
    return Pedigree(tuple(map(str, range(2 + count))), (litter,)), rows


def by_definition(rows, litters_chance, count, nameless=0):
    """Posterior (n, 3) of a boar, a sow and their pups: a sum over everybody's genotype.

    `litters_chance`: of all that was seen of the pups, given the doses of all of them.
    """
    pool, law = hardy_weinberg(np.array([1 - FREQUENCY, FREQUENCY])), transmission()
    found = np.zeros((2 + count, 3))
    for sire, dam, *pups in product(range(3), repeat=2 + count + nameless):
        weight = pool[sire] * pool[dam] * rows[0][sire] * rows[1][dam]
        weight *= prod(law[sire, dam, pup] for pup in pups) * litters_chance(tuple(pups))
        found[np.arange(2 + count), [sire, dam, *pups[:count]]] += weight
    return found / found.sum(axis=1, keepdims=True)
