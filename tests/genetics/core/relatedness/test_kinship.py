"""Kinship meets its definition, litters with uncertain parents included."""

import numpy as np
import pytest
from hypothesis import given, settings

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness.kinship import inbreeding, kinship, known_generations
from tests.examples import examples
from tests.genetics.core.small_pedigrees import definition_of_kinship, pedigrees


def test_it_works():
    # boar + sow -> brother, sister -> pup
    pedigree = Pedigree.from_parents(
        ("boar", "sow", "brother", "sister", "pup"), (-1, -1, 0, 0, 2), (-1, -1, 1, 1, 3)
    )
    assert inbreeding(pedigree).tolist() == [0, 0, 0, 0, 0.25]
    assert kinship(pedigree, [4, 0]).tolist() == [[0.625, 0.25], [0.25, 0.5]]


def test_littermates_share_an_uncertain_sire():
    # two unrelated boars, one sow: in either case the pups are full sibs, 1/4, where the plain
    # recursion over candidates would say 1/8 + 1/8 * 1/2 = 3/16
    pedigree = Pedigree(tuple("abcde"), (Litter((3, 4), sires=(0, 1), dams=(2,)),))
    assert kinship(pedigree)[3, 4] == 0.25
    apart = Pedigree(
        tuple("abcde"), (Litter((3,), (0, 1), (), (2,)), Litter((4,), (0, 1), (), (2,)))
    )
    assert kinship(apart)[3, 4] == 0.1875


def test_littermates_of_unknown_parents_are_full_sibs():
    pedigree = Pedigree(tuple("abc"), (Litter((0, 1)), Litter((2,))))
    assert kinship(pedigree).tolist() == [[0.5, 0.25, 0], [0.25, 0.5, 0], [0, 0, 0.5]]


@settings(max_examples=examples(300), deadline=None)
@given(pedigrees(most=9))
def test_it_meets_the_definition(pedigree):
    expected = definition_of_kinship(pedigree)
    table = kinship(pedigree)
    assert table == pytest.approx(expected, abs=1e-12)
    assert inbreeding(pedigree) == pytest.approx(2 * expected.diagonal() - 1, abs=1e-12)
    some = list(range(len(pedigree)))[::-2]
    assert np.array_equal(kinship(pedigree, some), table[np.ix_(some, some)])


def test_how_far_back_a_pedigree_is_known():
    # 0, 1 founders; 2 of both; 3 of 2 and an unknown dam; 4 of 2 and 3
    pedigree = Pedigree.from_parents(tuple("abcde"), (-1, -1, 0, 2, 2), (-1, -1, 1, -1, 3))
    known = known_generations(pedigree, generations=3)
    assert known.complete.tolist() == [0, 0, 1, 0, 1]
    assert known.deepest.tolist() == [0, 0, 1, 2, 3]
    assert known.shares.tolist() == [
        [0, 0, 0],
        [0, 0, 0],
        [1, 0, 0],
        [0.5, 0.5, 0],
        [1, 0.75, 0.25],
    ]


def test_a_choice_of_sires_counts_by_its_weights():
    # the pup's sire is 3 : 1 either 2, of two founders, or 0 itself
    pedigree = Pedigree(
        tuple("abcd"),
        (Litter((2,), (0,), (), (1,)), Litter((3,), (2, 0), (3, 1), (1,))),
    )
    known = known_generations(pedigree, generations=2)
    assert (known.complete[3], known.deepest[3]) == (1, 2)
    assert known.shares[3].tolist() == [1, 0.375]
