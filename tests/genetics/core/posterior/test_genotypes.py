"""Genotypes of genes with any number of alleles: brute force, pgmpy, Mendel, published risks."""

from fractions import Fraction
from itertools import combinations_with_replacement, product
from math import prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

from genetics.core.inheritance.loci import genes, merged
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.dose import InconsistentEvidenceError
from genetics.core.posterior.genotypes import (
    among_the_weaned,
    genotype_posterior,
    joint_genotypes,
    litter_to_be,
    pairs_of_class,
    pup_genotypes,
    pup_written_in,
)
from tests.genetics.core.small_pedigrees import pedigrees
from tests.reference.test_carrier_risk import CASES, STOCKS

GENES = genes()
EXTENSION, ALBINO, CHOCOLATE = GENES["extension"], GENES["albino"], GENES["chocolate"]
FAMILY = Pedigree(
    ("sire", "dam", "pup", "pup of the two", "inbred"),
    (
        Litter((2, 3), sires=(0,), dams=(1,)),
        Litter((4,), sires=(2,), dams=(3,)),
    ),
)


def pup_given(alleles, sire, dam):
    """Chance of each genotype of a pup, gamete by gamete."""
    pairs = list(combinations_with_replacement(range(alleles), 2))
    chances = [0.0] * len(pairs)
    for a, b in product(pairs[sire], pairs[dam]):
        chances[pairs.index((min(a, b), max(a, b)))] += 1 / 4
    return chances


def definition(pedigree, gene, likelihood, errors):
    """Posterior (n, g) and the whole joint table, an axis an animal, from one table of them all."""
    pool, count = gene.pool, len(pedigree)
    states = len(pool)
    numbers = range(states)
    handed = np.array([[pup_given(len(gene.alleles), s, d) for d in numbers] for s in numbers])

    def spread(table, *axes):
        shape = [states if axis in axes else 1 for axis in range(count)]
        return table.transpose(np.argsort(axes)).reshape(shape)

    whole = np.ones((states,) * count)
    for animal, row in enumerate(likelihood):
        whole = whole * spread(np.array(row), animal)
        if pedigree.litter_of[animal] == -1:
            whole = whole * spread(pool, animal)
    for litter in pedigree.litters:
        (sire,), (dam,) = litter.sires, litter.dams
        right = prod(spread(handed, sire, dam, pup) for pup in litter.pups)
        wrong = sum(
            share * prod(spread(handed[other], dam, pup) for pup in litter.pups)
            for other, share in enumerate(pool)
        )
        whole = whole * ((1 - errors) * right + errors * wrong)
    if whole.sum() == 0:
        return None
    whole = whole / whole.sum()
    rest = set(range(count))
    return np.array([whole.sum(axis=tuple(rest - {one})) for one in range(count)]), whole


def rows(data, count, states):
    soft = st.tuples(*[st.integers(0, 3).map(float)] * states).filter(any)
    return np.array(data.draw(st.lists(soft, min_size=count, max_size=count)))


@settings(max_examples=25)
@given(st.data(), st.sampled_from([0.0, 0.05]))
def test_it_agrees_with_the_definition(data, errors):
    likelihood = rows(data, 5, 6)
    expected = definition(FAMILY, EXTENSION, likelihood, errors)
    assume(expected is not None)
    shares, whole = expected
    found = genotype_posterior(FAMILY, EXTENSION, likelihood, errors=errors)
    assert set(found.method) == {"exact"}
    assert found.chances == pytest.approx(shares, abs=1e-12)
    joint = joint_genotypes(FAMILY, EXTENSION, likelihood, (4, 1), errors=errors)
    assert joint == pytest.approx(whole.sum(axis=(0, 2, 3)).T, abs=1e-12)


def test_it_agrees_with_the_definition_on_five_alleles():
    trio = Pedigree(("sire", "dam", "pup"), (Litter((2,), sires=(0,), dams=(1,)),))
    seen = [{"coat": {"cream"}}, {"coat": {"red"}}, {"coat": {"white"}, "eye_colour": {"dark"}}]
    likelihood = np.array([ALBINO.likelihood(words) for words in seen])
    shares, whole = definition(trio, ALBINO, likelihood, 0.01)
    found = genotype_posterior(trio, ALBINO, likelihood, errors=0.01)
    assert found.chances == pytest.approx(shares, abs=1e-12)
    joint = joint_genotypes(trio, ALBINO, likelihood, (0, 1), errors=0.01)
    assert joint == pytest.approx(whole.sum(axis=2), abs=1e-12)


@settings(max_examples=10)
@given(pedigrees(most=7, choices=1), st.data())
def test_it_agrees_with_pgmpy(pedigree, data):
    # a general-purpose library, with its own variable elimination
    states, pool = len(EXTENSION.pool), EXTENSION.pool
    likelihood = rows(data, len(pedigree), states)
    try:
        found = genotype_posterior(pedigree, EXTENSION, likelihood)
    except InconsistentEvidenceError:
        assume(False)
    column = np.array([[share] for share in pool])
    founders, unknown = np.flatnonzero(pedigree.litter_of == -1), 0
    tables = [TabularCPD(f"a{animal}", states, column) for animal in founders]
    handed = np.array([pup_given(3, s, d) for s in range(states) for d in range(states)]).T
    for litter in pedigree.litters:
        parents = []
        for side in (litter.sires, litter.dams):
            parents.append(f"a{side[0]}" if side else f"unknown {unknown}")
            if not side:
                tables.append(TabularCPD(parents[-1], states, column))
                unknown += 1
        tables += [
            TabularCPD(f"a{pup}", states, handed, parents, [states] * 2) for pup in litter.pups
        ]
    for animal, row in enumerate(likelihood):
        seen = row / row.max() / 2
        tables.append(TabularCPD(f"seen {animal}", 2, [1 - seen, seen], [f"a{animal}"], [states]))
    network = DiscreteBayesianNetwork(
        [(parent, table.variable) for table in tables for parent in table.variables[1:]]
    )
    network.add_nodes_from([table.variable for table in tables])
    network.add_cpds(*tables)
    told = {f"seen {animal}": 1 for animal in range(len(pedigree))}
    inference = VariableElimination(network)
    for animal in range(len(pedigree)):
        asked = inference.query([f"a{animal}"], evidence=told, show_progress=False)
        assert found.chances[animal] == pytest.approx(asked.values, abs=1e-10)


@pytest.mark.parametrize("name", STOCKS)
def test_published_carrier_risks(name):
    # Ogino and Wilson 2004 and the others of carrier_risk.json, by a gene of the file
    stock, animal = STOCKS[name]()
    pedigree = Pedigree(tuple(map(str, range(len(stock.rows)))), tuple(stock.litters))
    likelihood = np.array(stock.rows, float)
    for row, prior in enumerate(stock.priors):
        if not np.isnan(prior[0]):
            likelihood[row] *= np.array(prior) / CHOCOLATE.pool
    found = genotype_posterior(pedigree, CHOCOLATE, likelihood)
    carrier = Fraction(CASES[name]["posterior"][0])
    assert CHOCOLATE.carries(found.chances[animal]) == pytest.approx(float(carrier), abs=1e-12)


def cross(gene, sire, dam):
    """What a pup of two known genotypes shows, by class."""
    joint = np.zeros((len(gene.names),) * 2)
    joint[gene.names.index(sire), gene.names.index(dam)] = 1
    shown = gene.phenotypes(pup_genotypes(joint, alleles=len(gene.alleles)))
    return dict(zip(gene.classes, shown, strict=True))


@pytest.mark.parametrize(
    ("gene", "sire", "dam", "expected"),
    [  # Mendel 1866: 3 to 1, 1 to 1, all alike, 1 to 2 to 1
        ("chocolate", "B/b", "B/b", {"black": 3 / 4, "chocolate": 1 / 4}),
        ("chocolate", "B/b", "b/b", {"black": 1 / 2, "chocolate": 1 / 2}),
        ("chocolate", "b/b", "b/b", {"black": 0, "chocolate": 1}),
        ("points", *["no points/points"] * 2, {"self": 0.25, "marked": 0.5, "overmarked": 0.25}),
        ("roan", "rn/Rn", "rn/Rn", {"no roan": 1 / 4, "roan": 1 / 2, "lethal white": 1 / 4}),
        ("extension", "E/e", "ep/e", {"dark": 1 / 2, "part red": 1 / 4, "red series": 1 / 4}),
        (
            "albino",
            "cd/ca",
            "cd/ca",
            {"red, golden or buff": 1 / 4, "cream": 1 / 2, "white": 1 / 4},
        ),
    ],
)
def test_mendels_ratios(gene, sire, dam, expected):
    found = {name: share for name, share in cross(GENES[gene], sire, dam).items() if share}
    assert found == pytest.approx({name: share for name, share in expected.items() if share})


def test_two_genes_give_nine_three_three_one():
    # Mendel 1866, two characters: each gene by itself
    black = cross(CHOCOLATE, "B/b", "B/b")["black"]
    short = cross(GENES["long coat"], "L/l", "L/l")["short"]
    shares = [black * short, black * (1 - short), (1 - black) * short, (1 - black) * (1 - short)]
    assert shares == pytest.approx([9 / 16, 3 / 16, 3 / 16, 1 / 16])


def test_of_roan_to_roan_two_in_three_of_the_weaned_are_roan():
    # Mendel with the doubled class lost: 2 to 1
    roan = GENES["roan"]
    assert among_the_weaned(roan, np.array([1 / 4, 1 / 2, 1 / 4])) == pytest.approx(
        [1 / 3, 2 / 3, 0]
    )
    assert np.isnan(among_the_weaned(roan, np.array([0.0, 0.0, 1.0]))).all()


def test_a_slip_makes_no_family_impossible():
    # two chocolate parents and a black pup: a slip somewhere, likeliest not in a parent's favour
    words = [{"point_colour": {"chocolate"}}] * 2 + [{"point_colour": {"black"}}] * 2 + [{}]
    likelihood = np.array([CHOCOLATE.likelihood(one) for one in words])
    found = genotype_posterior(FAMILY, CHOCOLATE, likelihood, errors=0.01)
    assert found.chances.sum(axis=1) == pytest.approx(1)


def test_two_animals_of_families_apart_are_independent():
    apart = Pedigree(("one", "other"), ())
    likelihood = np.array([[1, 1, 0.2], [1, 0.3, 1]])
    alone = genotype_posterior(apart, CHOCOLATE, likelihood).chances
    joint = joint_genotypes(apart, CHOCOLATE, likelihood, (0, 1))
    assert joint == pytest.approx(np.outer(*alone))


def test_too_tangled_is_said_and_not_made_up():
    likelihood = np.array([CHOCOLATE.likelihood({"point_colour": {"black"}})] * 5)
    joint = joint_genotypes(FAMILY, CHOCOLATE, likelihood, (3, 4), budget=4)
    assert np.isnan(joint).all()


def test_it_refuses_one_animal_twice():
    with pytest.raises(ValueError, match="two different animals"):
        joint_genotypes(FAMILY, CHOCOLATE, np.ones((5, 3)), (1, 1))


def test_it_refuses_rows_that_do_not_fit_the_gene():
    with pytest.raises(ValueError, match="a row of 15"):
        genotype_posterior(FAMILY, ALBINO, np.ones((5, 3)))


def test_merged_alleles_change_no_class():
    words = [
        {"coat": {"cream"}},
        {"coat": {"red"}},
        {"coat": {"golden"}},
        {"coat": {"white"}, "eye_colour": {"dark"}},
        {},
    ]
    fewer = merged(ALBINO)

    def classes(gene):
        likelihood = np.array([gene.likelihood(one) for one in words])
        return gene.phenotypes(genotype_posterior(FAMILY, gene, likelihood, errors=0.01).chances)

    assert len(fewer.pool) < len(ALBINO.pool)
    assert classes(fewer) == pytest.approx(classes(ALBINO), abs=1e-12)


@settings(max_examples=10)
@given(st.data(), st.sampled_from([0.0, 0.05]))
def test_a_litter_to_be_by_either_way(data, errors):
    likelihood = rows(data, 5, 6) + 0.01
    joint = joint_genotypes(FAMILY, EXTENSION, likelihood, (2, 4), errors=errors)
    expected = pup_genotypes(joint, alleles=3)
    for way in (litter_to_be, pup_written_in):
        chances, error = way(FAMILY, EXTENSION, likelihood, 2, 4, errors=errors)
        assert chances == pytest.approx(expected, abs=1e-12)
        assert error == 0


def test_a_litter_of_tangled_parents_comes_with_an_estimate_of_its_error():
    likelihood = np.array([EXTENSION.likelihood({"coat": {"black"}})] * 5)
    exact, _ = litter_to_be(FAMILY, EXTENSION, likelihood, 2, 4, errors=0.01)
    about, error = litter_to_be(FAMILY, EXTENSION, likelihood, 2, 4, errors=0.01, budget=300)
    assert 0 < error < 0.25
    assert about == pytest.approx(exact, abs=max(error, 0.05))


@pytest.mark.parametrize(
    ("gene", "dam", "sire", "name", "chance"),
    [
        (CHOCOLATE, "B/b", "B/b", "chocolate", 1 / 4),
        (CHOCOLATE, "b/b", "B/b", "chocolate", 1 / 2),
        (CHOCOLATE, "b/b", "B/B", "black", 1),
        (ALBINO, "ck/cr", "ck/cr", "cream", 1 / 2),
        (ALBINO, "ck/cr", "cd/ca", "white", 1 / 4),
        (ALBINO, "C/cr", "cr/ca", "red, golden or buff", 1 / 2),
        (EXTENSION, "E/e", "E/e", "red series", 1 / 4),
    ],
)
def test_many_pairs_of_known_genotypes_are_mendels(gene, dam, sire, name, chance):
    one, other = (np.eye(len(gene.names))[[gene.names.index(of)]] for of in (dam, sire))
    assert pairs_of_class(gene, one, other, name)[0, 0] == pytest.approx(chance)


@settings(max_examples=20)
@given(st.data(), st.sampled_from([EXTENSION, merged(ALBINO), CHOCOLATE]))
def test_many_pairs_at_once_are_each_pair_by_itself(data, gene):
    states = len(gene.class_of)
    dams, sires = rows(data, 3, states) + 0.01, rows(data, 2, states) + 0.01
    dams, sires = (of / of.sum(axis=1, keepdims=True) for of in (dams, sires))
    for number, name in enumerate(gene.classes):
        found = pairs_of_class(gene, dams, sires, name)
        for d, s in product(range(3), range(2)):
            pup = pup_genotypes(np.outer(sires[s], dams[d]), alleles=len(gene.alleles))
            assert found[d, s] == pytest.approx(gene.phenotypes(pup)[number])
