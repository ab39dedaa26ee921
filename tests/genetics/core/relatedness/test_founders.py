"""Whose genes a herd is made of: against the slow definitions, worked cases and Mendel."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness.founders import (
    Drop,
    contributions,
    drop_genes,
    effective_founders,
    kept,
)
from genetics.core.relatedness.kinship import kinship
from tests.genetics.core.small_pedigrees import _certain, _draws, pedigrees

# Two founders, their son, and his daughter by a third:
#   0 x 1 -> 3;  3 x 2 -> 4
LINE = Pedigree.from_parents("abcde", [-1, -1, -1, 0, 3], [-1, -1, -1, 1, 2])


def test_it_works():
    found = contributions(LINE, [3, 4])
    assert found.founders.tolist() == [0, 1, 2]
    assert found.shares.tolist() == [[0.5, 0.5, 0], [0.25, 0.25, 0.5]]
    assert found.of_all.tolist() == [0.375, 0.375, 0.25]


def test_a_founder_is_its_own():
    assert contributions(LINE, [2]).shares.tolist() == [[1]]


def test_it_refuses_to_tell_of_nobody():
    with pytest.raises(ValueError, match="no animal"):
        contributions(LINE, [])


def test_littermates_share_the_parents_that_nobody_knows():
    pedigree = Pedigree(tuple("abc"), (Litter((0, 1)), Litter((2,), sires=(0,))))
    found = contributions(pedigree, [0, 1, 2])
    # 3 and 4: sire and dam of the first litter; 6: the dam of the second
    assert found.founders.tolist() == [3, 4, 6]
    assert found.shares.tolist() == [[0.5, 0.5, 0], [0.5, 0.5, 0], [0.25, 0.25, 0.5]]


def definition(pedigree, animals):
    """Shares by tracing a gene up through every choice of parents, founder by founder."""
    count = len(pedigree)
    shares = {}
    for chance, draw in _draws(pedigree, 0):
        parents = _certain(pedigree, draw)
        # _certain numbers unknown parents after the animals in the order of litters and sides
        unknown = iter(range(count, len(parents)))
        names = {}
        for litter, pair in enumerate(draw):
            for side, parent in enumerate(pair):
                if parent is None:
                    names[next(unknown)] = count + 2 * litter + side
        for row, animal in enumerate(animals):
            traced = [(animal, chance)]
            while traced:
                one, share = traced.pop()
                if parents[one] is None:
                    key = row, names.get(one, one)
                    shares[key] = shares.get(key, 0) + share
                else:
                    traced += [(parent, share / 2) for parent in parents[one]]
    return shares


@given(pedigrees())
def test_contributions_are_a_gene_traced_back(pedigree):
    animals = list(range(len(pedigree)))
    found = contributions(pedigree, animals)
    expected = definition(pedigree, animals)
    for row, founder in product(animals, range(len(found.founders))):
        key = row, int(found.founders[founder])
        assert found.shares[row, founder] == pytest.approx(expected.get(key, 0), abs=1e-12)


@given(pedigrees(choices=1))
def test_contributions_give_the_kinship_of_founders(pedigree):
    """A founder that is an animal shares half of what it contributed with each descendant."""
    found = contributions(pedigree, range(len(pedigree)))
    table = kinship(pedigree)
    for column, founder in enumerate(found.founders):
        if founder < len(pedigree):
            assert table[founder] == pytest.approx(found.shares[:, column] / 2, abs=1e-12)


def test_effective_founders():
    # equal contributions: as many as there are (Lacy 1989, the definition)
    assert effective_founders(np.full(8, 1 / 8)) == pytest.approx(8)
    # unequal ones: 1 / (1/4 + 4/64) = 16/5
    assert effective_founders(np.array([0.5, 0.125, 0.125, 0.125, 0.125])) == pytest.approx(3.2)


@given(st.lists(st.floats(0.01, 1), min_size=1, max_size=30))
def test_effective_founders_are_never_more_than_there_are(shares):
    shares = np.array(shares) / sum(shares)
    assert 1 - 1e-9 <= effective_founders(shares) <= len(shares) + 1e-9


@pytest.mark.parametrize("young", [1, 2, 3, 6])
def test_a_gene_is_lost_by_half_with_each_of_the_young(young):
    # a parent with k young loses a gene with chance (1/2)^k: a lecture on the fate of a new
    # mutation (seen), and MacCluer 1986
    sires = [-1, -1] + [0] * young
    dams = [-1, -1] + [1] * young
    pedigree = Pedigree.from_parents([str(row) for row in range(young + 2)], sires, dams)
    drop = drop_genes(pedigree, range(2, young + 2), 20_000, np.random.default_rng(1))
    assert kept(drop).share == pytest.approx(1 - 0.5**young, abs=0.01)


def slow_kept(pedigree, animals):
    """Share kept and share held by one alone, by every toss of every coin; parents certain."""
    found = contributions(pedigree, animals)
    column = {int(founder): place for place, founder in enumerate(found.founders)}
    count, founders = len(pedigree), len(column)
    share, alone = np.zeros(founders), np.zeros((len(animals), founders))
    bred = [row for row in pedigree.order.tolist() if pedigree.litter_of[row] != -1]
    for coins in product(range(2), repeat=2 * len(bred)):
        genes = {}
        for founder, place in column.items():
            genes[founder] = (2 * place, 2 * place + 1)
        for row, one, other in zip(bred, coins[::2], coins[1::2], strict=True):
            number = int(pedigree.litter_of[row])
            litter = pedigree.litters[number]
            sire = litter.sires[0] if litter.sires else count + 2 * number
            dam = litter.dams[0] if litter.dams else count + 2 * number + 1
            genes[row] = (genes[sire][one], genes[dam][other])
        for gene in range(2 * founders):
            holders = [row for row, animal in enumerate(animals) if gene in genes[animal]]
            share[gene // 2] += 0.5 * bool(holders)
            if len(holders) == 1:
                alone[holders[0], gene // 2] += 0.5
    return share / 4 ** len(bred), alone / 4 ** len(bred)


@settings(max_examples=25)
@given(pedigrees(most=6, choices=1), st.data())
def test_dropped_genes_are_every_toss_of_the_coin(pedigree, data):
    rows = range(len(pedigree))
    asked = sorted(data.draw(st.sets(st.sampled_from(rows), min_size=1)))
    # the slow way wants every founder among the ancestors of those asked for
    whole = pedigree.ancestry(asked).tolist()
    littermates = [set(litter.pups) & set(whole) for litter in pedigree.litters]
    pedigree = Pedigree(
        pedigree.ids,
        tuple(
            Litter(
                tuple(sorted(pups)),
                litter.sires,
                litter.sire_weights,
                litter.dams,
                litter.dam_weights,
            )
            for litter, pups in zip(pedigree.litters, littermates, strict=True)
            if pups
        ),
    )
    found = kept(drop_genes(pedigree, asked, 8000, np.random.default_rng(7)))
    share, alone = slow_kept(pedigree, asked)
    # five standard errors of the widest share
    assert found.share == pytest.approx(share, abs=5 * np.sqrt(0.25 / 8000))
    assert found.alone == pytest.approx(alone, abs=5 * np.sqrt(0.25 / 8000))


@given(pedigrees())
def test_dropped_genes_agree_with_contributions_and_kinship(pedigree):
    drop = drop_genes(pedigree, range(len(pedigree)), 2000, np.random.default_rng(3), loci=2)
    found = contributions(pedigree, range(len(pedigree)))
    assert drop.founders.tolist() == found.founders.tolist()
    genes = drop.genes.reshape(-1, len(pedigree), 2)
    for column in range(len(found.founders)):
        mean = (genes // 2 == column).mean(axis=(0, 2))
        assert mean == pytest.approx(found.shares[:, column], abs=0.06)
    alike = [
        [(genes[:, i, :, None] == genes[:, j, None, :]).mean() for i in range(len(pedigree))]
        for j in range(len(pedigree))
    ]
    assert np.array(alike) == pytest.approx(kinship(pedigree), abs=0.06)


def test_what_an_animal_alone_holds_is_lost_with_it():
    """Without the animal, what is kept falls by just what it held alone."""
    drop = drop_genes(LINE, [2, 3, 4], 500, np.random.default_rng(5))
    whole = kept(drop)
    for animal in range(3):
        rest = [row for row in range(3) if row != animal]
        left = kept(Drop(drop.founders, drop.genes[:, :, rest]))
        assert left.share == pytest.approx(whole.share - whole.alone[animal], abs=1e-12)


def test_one_animal_alone_holds_all_that_is_left():
    # 0 x 1 -> 2 and 3; 2 x 3 -> 4, who has one gene twice in a quarter of the draws
    pedigree = Pedigree.from_parents("abcde", [-1, -1, 0, 0, 2], [-1, -1, 1, 1, 3])
    found = kept(drop_genes(pedigree, [4], 4000, np.random.default_rng(6)))
    assert found.alone[0] == pytest.approx(found.share, abs=1e-12)
    # of four genes it has two different ones, or one twice
    assert 4 * found.share.mean() == pytest.approx(2 - 1 / 4, abs=0.05)


def test_an_uncertain_sire_is_drawn_once_for_the_litter():
    pedigree = Pedigree(tuple("abcde"), (Litter((3, 4), sires=(0, 1), dams=(2,)),))
    genes = drop_genes(pedigree, [3, 4], 400, np.random.default_rng(2), loci=5).genes // 2
    sires = genes[..., 0]
    assert (sires == sires[:, :1, :1]).all(), "one sire for a draw, both pups and all loci"
    assert sires[:, 0, 0].mean() == pytest.approx(0.5, abs=0.1)
