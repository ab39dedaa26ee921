"""Carrier chances come true on simulated families, drawn by a simulator of its own."""

import numpy as np
import pytest

from genetics.core.inheritance.loci import genes
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.genotypes import genotype_posterior

HERDS, FOUNDERS, LITTERS, PUPS = 150, 6, 8, 3
SHARE = 0.3  # of the recessive allele; written below in place of the file's
UNNOTED = 0.25
GENE = genes()["chocolate"]
WORDS = ({"point_colour": {"black"}}, {"point_colour": {"chocolate"}})


def herd(dice):
    """A pedigree, the copies of the recessive in each animal, and how each is written down."""
    copies = dice.binomial(2, SHARE, FOUNDERS).tolist()
    litters = []
    for _ in range(LITTERS):
        sire, dam = (int(one) for one in dice.choice(len(copies), 2, replace=False))
        pups = tuple(range(len(copies), len(copies) + PUPS))
        litters.append(Litter(pups, sires=(sire,), dams=(dam,)))
        drawn = dice.random((PUPS, 2)) < [copies[sire] / 2, copies[dam] / 2]
        copies += drawn.sum(axis=1).tolist()
    written = []
    for one in copies:
        other = dice.random() < GENE.misrecorded
        shown = dice.binomial(2, GENE.frequencies[1]) if other else one
        written.append({} if dice.random() < UNNOTED else WORDS[int(shown == 2)])
    pedigree = Pedigree(tuple(map(str, range(len(copies)))), tuple(litters))
    return pedigree, np.array(copies), written


def said_and_true(pedigree, copies, written):
    """The chance of carrying of each animal, with the founders' share as it is, and the truth."""
    pool = np.array([(1 - SHARE) ** 2, 2 * SHARE * (1 - SHARE), SHARE**2])
    likelihood = np.array([GENE.likelihood(words) for words in written])
    likelihood[:FOUNDERS] *= pool / GENE.pool
    chances = genotype_posterior(pedigree, GENE, likelihood).chances
    return GENE.carries(chances), copies == 1


def test_it_works():
    dice = np.random.default_rng(20)
    herds = [said_and_true(*herd(dice)) for _ in range(HERDS)]
    off = np.array([(said - true).sum() for said, true in herds])
    # in all herds together, with room for four standard errors, herd by herd
    assert abs(off.sum()) < 4 * np.sqrt((off**2).sum())
    said, true = (np.concatenate(column) for column in zip(*herds, strict=True))
    assert np.corrcoef(said, true)[0, 1] > 0.5
    for low, high in ((0.02, 0.2), (0.2, 0.45), (0.45, 0.8), (0.8, 1.0)):
        band = (said >= low) & (said < high)
        assert band.sum() > 100
        assert true[band].mean() == pytest.approx(said[band].mean(), abs=0.06)
