"""Mendel's tables, for two alleles and for more."""

from collections import Counter
from fractions import Fraction
from itertools import product

import numpy as np
import pytest

from genetics.core.inheritance.mendel import genotypes, hardy_weinberg, transmission


def test_it_works():
    table = transmission()
    assert table[1, 1].tolist() == [0.25, 0.5, 0.25]  # Mendel 1866: 1:2:1
    assert table[1, 0].tolist() == [0.5, 0.5, 0]
    assert table[2, 0].tolist() == [0, 1, 0]


@pytest.mark.parametrize("alleles", [2, 3, 4])
def test_every_cross_by_counting_gametes(alleles):
    pairs = genotypes(alleles)
    for sire, dam in product(range(len(pairs)), repeat=2):
        young = Counter(tuple(sorted(pair)) for pair in product(pairs[sire], pairs[dam]))
        expected = [float(Fraction(young[pair], 4)) for pair in pairs]
        assert transmission(alleles)[sire, dam].tolist() == expected


@pytest.mark.parametrize("shares", [(0.7, 0.3), (0.5, 0.3, 0.2)])
def test_hardy_weinberg_is_what_random_mating_keeps(shares):
    # Hardy 1908: after one generation of random mating the proportions stay
    adults = hardy_weinberg(np.array(shares))
    young = np.einsum("s,d,sdp->p", adults, adults, transmission(len(shares)))
    assert young == pytest.approx(adults, abs=1e-15)
    assert adults.sum() == pytest.approx(1)
