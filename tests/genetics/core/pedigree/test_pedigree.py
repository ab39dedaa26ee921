"""A pedigree is checked when it is made and names every animal that is wrong."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.exceptions import PedigreeError
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree


def faults(count, *litters):
    with pytest.raises(PedigreeError) as caught:
        Pedigree(tuple(f"a{animal}" for animal in range(count)), litters)
    return {(fault.kind, fault.animals) for fault in caught.value.faults}


def test_it_works():
    pedigree = Pedigree(("pup", "sib", "boar", "sow"), (Litter((0, 1), sires=(2,), dams=(3,)),))
    assert pedigree.litter_of.tolist() == [0, 0, -1, -1]
    assert set(pedigree.order[:2].tolist()) == {2, 3}
    assert set(pedigree.order[2:].tolist()) == {0, 1}
    with pytest.raises(ValueError, match="read-only"):
        pedigree.litter_of[0] = -1


def test_weights_sum_to_one_and_are_equal_where_none_stand():
    litter = Litter((0,), sires=(1, 2), sire_weights=(7, 3), dams=(3, 4))
    assert litter.sire_weights == pytest.approx((0.7, 0.3))
    assert litter.dam_weights == (0.5, 0.5)
    assert Litter((0,), sires=(1, 2), sire_weights=(1e308, 1e308)).sire_weights == (0.5, 0.5)


def test_it_refuses_an_animal_its_own_ancestor_and_names_only_the_ring():
    ring = (
        Litter((0,), sires=(1,)),
        Litter((1,), dams=(2,)),
        Litter((2,), sires=(0, 3)),
        Litter((4,), sires=(0,)),  # merely descends from the ring
        Litter((3,), sires=(5,)),  # merely leads into it
    )
    assert faults(6, *ring) == {("cycle", (0, 1, 2))}


def test_it_refuses_an_animal_its_own_parent():
    assert faults(2, Litter((0,), sires=(0,))) == {("cycle", (0,))}


def test_it_names_both_of_two_rings():
    rings = [Litter((a,), sires=(b,)) for a, b in ((0, 1), (1, 0), (2, 3), (3, 2))]
    assert faults(4, *rings) == {("cycle", (0, 1, 2, 3))}


def test_it_refuses_numbers_out_of_range_minus_one_among_them():
    assert faults(1, Litter((0,), sires=(7,), dams=(-1,))) == {("index", (7, -1))}


def test_it_refuses_an_animal_of_two_litters():
    assert faults(3, Litter((0, 1)), Litter((1, 2), sires=(0,))) == {("litters", (1,))}


def test_it_refuses_a_candidate_on_both_sides():
    assert faults(3, Litter((0,), sires=(1, 2), dams=(2,))) == {("both", (2,))}


def test_it_refuses_a_name_twice_in_one_list():
    assert faults(3, Litter((0, 0), sires=(1, 1))) == {("repeated", (0,)), ("repeated", (1,))}


@pytest.mark.parametrize(
    "weights", [(0, 1), (-1, 2), (1,), (1, 1, 1), (float("nan"), 1), (float("inf"), 1)]
)
def test_it_refuses_weights_that_are_none(weights):
    litter = Litter((0,), sires=(1, 2), sire_weights=weights)
    assert faults(3, litter) == {("weight", (1, 2))}


def test_it_names_every_fault_at_once():
    wrong = (Litter((0,), sires=(1,), dams=(1,)), Litter((2,), sires=(9,)), Litter((0,)))
    assert {kind for kind, _ in faults(3, *wrong)} == {"both", "index", "litters"}


def test_families_are_what_litters_connect():
    pedigree = Pedigree(
        tuple("abcdefg"), (Litter((0,), sires=(3, 4)), Litter((5, 6)), Litter((), sires=(1, 2)))
    )
    assert pedigree.families() == [[0, 3, 4], [1], [2], [5, 6]]


def test_from_parents_gives_each_animal_a_litter_of_its_own():
    pedigree = Pedigree.from_parents(("a", "b", "c"), (-1, 0, 0), (-1, -1, 1))
    assert pedigree.litters == (Litter((1,), sires=(0,)), Litter((2,), sires=(0,), dams=(1,)))
    assert pedigree.litter_of.tolist() == [-1, 0, 1]


@settings(deadline=None)
@given(st.permutations(range(8)))
def test_parents_come_first_however_the_rows_stand(row_of):
    litters = tuple(
        Litter(
            tuple(row_of[pup] for pup in pups),
            sires=tuple(row_of[sire] for sire in sires),
            dams=tuple(row_of[dam] for dam in dams),
        )
        for pups, sires, dams in (((2, 3), (0,), (1,)), ((4,), (2, 0), (1,)), ((5, 6), (4,), (3,)))
    )
    pedigree = Pedigree(tuple("abcdefgh"), litters)
    place = np.argsort(pedigree.order)
    for litter in litters:
        for parent in litter.candidates:
            assert all(place[parent] < place[pup] for pup in litter.pups)
