"""Genes of more than three genotypes by the kernels for large families, against the exact engine.

Small herds are worked out by the kernels as plain Python.
"""

from itertools import product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from genetics.core.exceptions import ContradictionError, InconsistentEvidenceError
from genetics.core.inheritance.loci import genes, merged
from genetics.core.inheritance.mendel import genotypes
from genetics.core.large_pedigree import exact_trial, solver
from genetics.core.large_pedigree.solver import Register
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior import dose, sampling
from genetics.core.posterior import genotypes as genotype_module
from genetics.core.posterior.genotypes import genotype_posterior, joint_genotypes, litter_to_be
from genetics.core.posterior.sampling import draw_doses
from tests.benchmarks.herds import FREQUENCY, Habits, bred
from tests.genetics.core.large_pedigree.test_solver import trees

ALBINO = merged(genes()["albino"])
HARDLY = np.array([1.0, 1.0, 0.02, 1.0, 0.5, 0.2])  # a row that leaves six genotypes open
ROWS = [np.ones(6), HARDLY, HARDLY[::-1], np.array([1.0, 1, 0, 1, 0, 0])]


@pytest.fixture
def plain(monkeypatch):
    """The kernels as Python: nobody waits for a compiler."""
    monkeypatch.setattr(solver, "available", lambda: False)


def herd_of(gene, seed, animals=40, said=0.6):
    """A herd with genotypes by Mendel's law, and what was written of most of them."""
    chance = np.random.default_rng(seed)
    habits = Habits(animals, founders=8, litters=4, doubtful=0.2)
    pedigree = bred(chance, habits).pedigree
    alleles = len(gene.alleles)
    number = {pair: place for place, pair in enumerate(genotypes(alleles))}
    handed = np.empty((len(pedigree), 2), dtype=int)
    rows = np.ones((len(pedigree), len(gene.pool)))
    for animal in pedigree.order.tolist():
        born = int(pedigree.litter_of[animal])
        if born == -1:
            handed[animal] = chance.choice(alleles, 2, p=gene.frequencies)
        else:
            litter = pedigree.litters[born]
            parents = litter.sires[0], litter.dams[0]
            handed[animal] = [handed[parent, chance.integers(2)] for parent in parents]
        if chance.random() < said:
            shown = gene.class_of[number[tuple(sorted(handed[animal].tolist()))]]
            open_to = np.array(gene.class_of) == shown
            rows[animal] = np.where(open_to, 1.0, gene.misrecorded)
    return pedigree, rows


def case_of(pedigree, rows, errors=0.0):
    return PosteriorProblem.of_locus(pedigree, rows, ALBINO.frequencies, errors, None, BUDGET)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(trees(), st.data(), st.sampled_from([0.0, 0.03]))
def test_a_family_without_loops_is_exact(plain, tree, data, errors):
    pedigree, _ = tree
    told = [data.draw(st.sampled_from(ROWS)) for _ in range(len(pedigree))]
    case = case_of(pedigree, told, errors)
    try:
        exact = genotype_posterior(pedigree, ALBINO, np.array(told), errors=errors)
    except InconsistentEvidenceError:
        with pytest.raises(ContradictionError):
            Register(case, range(len(pedigree)))
        return
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(solver, "LEAST", 1e-13)
        found = Register(case, range(len(pedigree)))
    assert found.outcome.settled
    assert found.shares[: len(pedigree)] == pytest.approx(exact.chances, abs=1e-9)


def test_errors_of_tangled_herds_are_estimated(plain, monkeypatch):
    inside = []
    for key, seed in product(("albino", "extension", "chocolate"), range(2)):
        gene = merged(genes()[key])
        pedigree, rows = herd_of(gene, seed)
        exact = genotype_posterior(pedigree, gene, rows, errors=0.01)
        with monkeypatch.context() as patch:
            patch.setattr(exact_trial, "LARGE", 3)
            near = genotype_posterior(
                pedigree, gene, rows, errors=0.01, budget=1, approximate=True, asked=[5]
            )
        there = np.array([bool(one) for one in exact.method])
        assert near.method[5] == "refined"
        assert near.method.count("approximate") > 10
        assert near.tangled == ()
        inside += (np.abs(near.chances - exact.chances).max(axis=1) <= near.error)[there].tolist()
    assert len(inside) > 150
    assert np.mean(inside) >= 0.95


@pytest.fixture
def too_large(monkeypatch):
    """Families of three animals are large, and those of ten too large for an exact try."""
    monkeypatch.setattr(exact_trial, "LARGE", 3)
    monkeypatch.setattr(exact_trial, "EXACT_TRIED", 10)

    def refuse(network, *args, **kwargs):
        raise AssertionError("an exact plan was tried")

    for module in (dose, genotype_module):
        monkeypatch.setattr(module, "solve", refuse)
    monkeypatch.setattr(sampling, "components", refuse)


def test_no_exact_plan_is_tried_for_a_family_that_is_too_large(too_large):
    pedigree, rows = herd_of(ALBINO, 1)
    reckoned = genotype_posterior(pedigree, ALBINO, rows, errors=0.01)
    large = max(pedigree.families(), key=len)
    assert np.isnan(reckoned.chances[large]).all()
    assert tuple(large) in [one.animals for one in reckoned.tangled]
    sire, dam = pedigree.litters[0].sires[0], pedigree.litters[0].dams[0]
    joint = joint_genotypes(pedigree, ALBINO, rows, (sire, dam), errors=0.01)
    assert np.isnan(joint).all()


def test_a_pup_of_a_family_that_is_too_large_is_forecast_approximately(plain, too_large):
    pedigree, rows = herd_of(ALBINO, 1)
    sire, dam = pedigree.litters[-1].sires[0], pedigree.litters[-1].dams[0]
    chances, error = litter_to_be(pedigree, ALBINO, rows, sire, dam, errors=0.01)
    assert chances.sum() == pytest.approx(1)
    assert error > 0


def test_doses_of_a_family_that_is_too_large_are_drawn_one_by_one(plain, too_large, monkeypatch):
    herd = bred(np.random.default_rng(3), Habits(40, founders=8, litters=4, certain=0.0))
    case = PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.01, None, BUDGET)
    large = max(herd.pedigree.families(), key=len)
    whole = draw_doses(case, 90, np.random.default_rng(1), frozenset(large[:3]))
    assert not whole.together[large].any()
    monkeypatch.setattr(sampling, "MOST_DRAWN", 7 * len(large))
    in_parts = draw_doses(case, 90, np.random.default_rng(1), frozenset(large[:3]))
    np.testing.assert_array_equal(in_parts.doses, whole.doses)
