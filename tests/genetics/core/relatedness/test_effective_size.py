"""How large a herd is in effect: published worked cases, and an ideal herd."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness.effective_size import (
    equivalent_generations,
    genome_equivalents,
    size_by_kinship,
    size_by_parents,
)
from genetics.core.relatedness.kinship import kinship
from tests.genetics.core.small_pedigrees import pedigrees


@pytest.mark.parametrize(
    ("boars", "sows", "size"),
    [
        # lecture notes on small populations, University of Connecticut, 2005: 3.6 and 36.3 (cut)
        (1, 10, 40 / 11),
        (10, 100, 4000 / 110),
        # course notes on genetics, Copenhagen: 20 and 3.7 (not rounded: 3.64)
        (10, 10, 20),
        # an examination question with its answer: 32
        (40, 10, 32),
    ],
)
def test_size_by_parents(boars, sows, size):
    assert size_by_parents(boars, sows) == pytest.approx(size)


@given(st.integers(1, 10_000))
def test_one_boar_never_makes_more_than_four(sows):
    # the same lecture notes: with one breeding male it is below 4 whatever the females
    assert size_by_parents(1, sows) < 4


@pytest.mark.parametrize(("boars", "sows"), [(0, 5), (5, 0)])
def test_it_refuses_a_herd_of_one_sex(boars, sows):
    with pytest.raises(ValueError, match="a boar and a sow"):
        size_by_parents(boars, sows)


def test_equivalent_generations():
    # 0 x 1 -> 2; 2 x unknown -> 3: both parents make one generation; of the pup's four
    # grandparents two are known, so 1/2 + 2/4
    pedigree = Pedigree.from_parents("abcd", [-1, -1, 0, 2], [-1, -1, 1, -1])
    assert equivalent_generations(pedigree).tolist() == [0, 0, 1, 1]


@given(pedigrees(choices=1))
def test_equivalent_generations_count_every_ancestor(pedigree):
    def count(animal):
        number = pedigree.litter_of[animal]
        parents = () if number == -1 else pedigree.litters[number].candidates
        return sum((1 + count(parent)) / 2 for parent in parents)

    expected = [count(animal) for animal in range(len(pedigree))]
    assert equivalent_generations(pedigree) == pytest.approx(expected, abs=1e-12)


def ideal_herd(size, generations, random):
    """Each gene of each animal from any animal of the generation before, itself included."""
    sires, dams = [-1] * size, [-1] * size
    for generation in range(generations):
        first = generation * size
        sires += (first + random.integers(size, size=size)).tolist()
        dams += (first + random.integers(size, size=size)).tolist()
    return sires, dams


def test_an_ideal_herd_is_as_large_as_it_is():
    # Wright 1931: the definition. The table is made here, since no boar is a sow
    random = np.random.default_rng(4)
    size, generations, found = 20, 6, []
    for _ in range(40):
        sires, dams = ideal_herd(size, generations, random)
        table = np.eye(size) / 2
        for row in range(size, len(sires), size):
            here = slice(row, row + size)
            s, d = np.array(sires[here]) - row + size, np.array(dams[here]) - row + size
            fresh = (table[s] + table[d]) / 2
            fresh = (fresh[:, s] + fresh[:, d]) / 2
            np.fill_diagonal(fresh, (1 + table[s, d]) / 2)
            table = fresh
        found.append(1 / size_by_kinship(table, np.full(size, float(generations))))
    assert 1 / np.mean(found) == pytest.approx(size, rel=0.1)


def test_kinship_that_nobody_knows_gives_no_size():
    founders = np.eye(3) / 2
    assert np.isnan(size_by_kinship(founders, np.zeros(3)))
    assert np.isnan(size_by_kinship(founders, np.ones(3))), "unrelated: no rate"


def test_genome_equivalents():
    # unrelated founders are worth themselves; a pair and one pup hold 3 animals' genes, of four
    # founder genes: mean kinship (3 * 1/2 + 4 * 1/4) / 9
    assert genome_equivalents(np.eye(5) / 2) == pytest.approx(5)
    pedigree = Pedigree.from_parents("abc", [-1, -1, 0], [-1, -1, 1])
    assert genome_equivalents(kinship(pedigree)) == pytest.approx(9 / 5)
