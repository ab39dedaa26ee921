"""Mendel's first law as tables, for a locus with any number of alleles.

Genotypes are unordered pairs of alleles. With two alleles, 0 and 1, genotype number and count of
allele 1 are the same: 0, 1 or 2 doses. Mendel G 1866, Versuche ueber Pflanzen-Hybriden, Verh.
naturf. Ver. Bruenn 4:3-47; Hardy GH 1908, Mendelian proportions in a mixed population, Science
28:49-50 (both cited from memory).
"""

from __future__ import annotations

from functools import cache
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

Table = NDArray[np.float64]


def genotypes(alleles: int = 2) -> list[tuple[int, int]]:
    """The unordered pairs of alleles: (0, 0), (0, 1), (1, 1) for two alleles."""
    return list(combinations_with_replacement(range(alleles), 2))


def gametes(alleles: int = 2) -> Table:
    """Chance (g, alleles) that a parent of each genotype hands on each allele."""
    table = np.zeros((len(genotypes(alleles)), alleles))
    for number, pair in enumerate(genotypes(alleles)):
        for allele in pair:
            table[number, allele] += 1 / 2
    return table


@cache
def transmission(alleles: int = 2) -> Table:
    """Chance (g, g, g) of a pup's genotype given its sire's and its dam's; read-only."""
    handed = gametes(alleles)
    both = np.einsum("sa,db->sdab", handed, handed)
    columns = [
        both[:, :, a, b] if a == b else both[:, :, a, b] + both[:, :, b, a]
        for a, b in genotypes(alleles)
    ]
    table = np.stack(columns, axis=2)
    table.setflags(write=False)
    return table


def hardy_weinberg(frequencies: NDArray[np.float64]) -> Table:
    """Chance (g,) of each genotype where both alleles are drawn at `frequencies` (alleles,)."""
    return np.array(
        [
            frequencies[a] ** 2 if a == b else 2 * frequencies[a] * frequencies[b]
            for a, b in genotypes(len(frequencies))
        ]
    )
