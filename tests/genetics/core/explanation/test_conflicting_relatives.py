"""Which of the nearest kin speak against what is written of an animal's looks."""

import numpy as np
import pytest

from genetics.core.explanation.conflicting_relatives import (
    OF_SIRE,
    PARENTS,
    PUPS,
    SIBS,
    _Family,
    kin_against,
)
from genetics.core.inheritance.loci import genes, merged
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.genotypes import genotype_posterior

GENE = merged(genes()["chocolate"])
BLACK, CHOCOLATE = 0, 1
WORDS = {
    "black": {"coat": {"black"}},
    "chocolate": {"coat": {"chocolate"}},
    "": {},
}


def against(litters, *looks, animal, said):
    pedigree = Pedigree(tuple(map(str, range(len(looks)))), tuple(litters))
    likelihood = np.array([GENE.likelihood(WORDS[one]) for one in looks])
    return kin_against(pedigree, GENE, likelihood, animal, (said,))


def test_it_works():
    """A black pup of two chocolates, beside two chocolate pups."""
    litter = Litter((2, 3, 4), sires=(0,), dams=(1,))
    looks = ("chocolate", "chocolate", "black", "chocolate", "chocolate")
    (found, *_more) = against([litter], *looks, animal=2, said=BLACK)
    assert (found.kind, found.kin) == (PARENTS, (0, 1))
    assert found.times < 0.05


def test_its_own_pups_may_speak():
    """A black boar has six chocolate pups by a chocolate sow: half of that is one in 64."""
    litter = Litter(tuple(range(2, 8)), sires=(0,), dams=(1,))
    looks = ("black", "chocolate", *["chocolate"] * 6)
    (found,) = against([litter], *looks, animal=0, said=BLACK)
    assert (found.kind, found.kin) == (PUPS, tuple(range(2, 8)))


def test_what_a_parent_had_by_others_may_speak():
    """A chocolate pup of a black boar that had eight black pups by another, chocolate sow."""
    litters = [Litter((3,), sires=(0,), dams=(1,)), Litter(tuple(range(4, 12)), (0,), dams=(2,))]
    looks = ("black", "chocolate", "chocolate", "chocolate", *["black"] * 8)
    found = {one.kind for one in against(litters, *looks, animal=3, said=CHOCOLATE)}
    assert OF_SIRE in found


def test_kin_that_agree_are_not_named():
    litter = Litter((2, 3), sires=(0,), dams=(1,))
    assert against([litter], *["black"] * 4, animal=2, said=BLACK) == ()
    assert against([litter], "", "", "black", "", animal=2, said=BLACK) == ()


def test_words_that_leave_everything_open_contradict_nobody():
    pedigree = Pedigree(("0",), ())
    assert kin_against(pedigree, GENE, np.ones((1, 3)), 0, (BLACK, CHOCOLATE)) == ()


@pytest.mark.parametrize("seed", range(4))
def test_the_last_odds_are_those_of_the_calculation(seed):
    """In a family with nobody further off, the odds before times all groups are the
    calculation's."""
    chance = np.random.default_rng(seed)
    litters = [
        Litter((4, 5), sires=(0,), dams=(1,)),
        Litter((6, 7), sires=(0,), dams=(2,)),
        Litter((8, 9), sires=(3,), dams=(1,)),
        Litter((11, 12), sires=(4,), dams=(10,)),
    ]
    pedigree = Pedigree(tuple(map(str, range(13))), tuple(litters))
    likelihood = chance.random((13, 3))
    family = _Family(pedigree, GENE, likelihood, 4)
    groups = family.groups()
    assert groups[SIBS] == (5,)
    unseen = likelihood.copy()
    unseen[4] = 1
    exact = genotype_posterior(pedigree, GENE, unseen).chances[4]
    assert family.chances(set(groups)) == pytest.approx(exact, abs=1e-12)
