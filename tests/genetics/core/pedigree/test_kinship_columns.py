"""The walks of a large register meet the definition, and the table that small herds get."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.pedigree import sparse_kinship as walks
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.pedigree.sparse_kinship import Lineage
from genetics.core.relatedness import kinship as tables
from genetics.core.relatedness.kinship import (
    inbreeding,
    kinship,
    kinship_between,
    known_generations,
    mean_kinship,
)
from tests.benchmarks.registers import bred
from tests.examples import examples
from tests.genetics.core.small_pedigrees import definition_of_kinship, pedigrees


@pytest.fixture(params=["python", "compiled"])
def way(request, monkeypatch):
    """Both ways that the walks can run, on pedigrees of any size."""
    monkeypatch.setattr(walks, "COMPILED_FROM", 1_000 if request.param == "python" else -1)
    return request.param


@pytest.fixture
def as_if_large(monkeypatch):
    monkeypatch.setattr(tables, "TABLE", 0)
    monkeypatch.setattr(tables, "TABLE_IN_A_REGISTER", 0)


def everyone(pedigree):
    return np.arange(len(pedigree))


@pytest.mark.usefixtures("way")
def test_it_works():
    # boar + sow -> brother, sister -> pup
    pedigree = Pedigree.from_parents(
        ("boar", "sow", "brother", "sister", "pup"), (-1, -1, 0, 0, 2), (-1, -1, 1, 1, 3)
    )
    assert pedigree.lineage.inbreeding.tolist() == [0, 0, 0, 0, 0.25]
    asked = np.array([4, 0])
    assert pedigree.lineage.kinship(asked, asked).tolist() == [[0.625, 0.25], [0.25, 0.5]]


@pytest.mark.usefixtures("way")
@settings(max_examples=examples(200), deadline=None)
@given(pedigrees(most=9, choices=3))
def test_the_walks_meet_the_definition(pedigree):
    expected = definition_of_kinship(pedigree)
    found = Lineage.of(pedigree.parentage)
    assert found.inbreeding == pytest.approx(2 * expected.diagonal() - 1, abs=1e-12)
    all_of_them = everyone(pedigree)
    assert found.kinship(all_of_them, all_of_them) == pytest.approx(expected, abs=1e-12)


@settings(max_examples=examples(100), deadline=None)
@given(pedigrees(most=60, choices=4), st.data())
def test_the_walks_meet_the_table(pedigree, data):
    expected = kinship(pedigree)
    found = Lineage.of(pedigree.parentage)
    assert found.inbreeding == pytest.approx(2 * expected.diagonal() - 1, abs=1e-12)
    some = st.lists(st.sampled_from(range(len(pedigree))), min_size=1, max_size=8)
    rows, columns = np.array(data.draw(some)), np.array(data.draw(some))
    part = expected[np.ix_(rows, columns)]
    assert found.kinship(rows, columns) == pytest.approx(part, abs=1e-12)
    assert found.mean_kinship(rows, columns) == pytest.approx(part.mean(axis=1), abs=1e-12)


@pytest.mark.usefixtures("as_if_large")
@settings(max_examples=examples(50), deadline=None)
@given(pedigrees(most=12))
def test_a_register_is_asked_by_the_same_functions(pedigree):
    expected = definition_of_kinship(pedigree)
    some, others = everyone(pedigree)[::-2], everyone(pedigree)[::3]
    assert kinship(pedigree) == pytest.approx(expected, abs=1e-12)
    assert kinship(pedigree, some) == pytest.approx(expected[np.ix_(some, some)], abs=1e-12)
    part = expected[np.ix_(some, others)]
    assert kinship_between(pedigree, some, others) == pytest.approx(part, abs=1e-12)
    assert mean_kinship(pedigree, some, others) == pytest.approx(part.mean(axis=1), abs=1e-12)
    assert inbreeding(pedigree) == pytest.approx(2 * expected.diagonal() - 1, abs=1e-12)
    assert inbreeding(pedigree, some) == pytest.approx(inbreeding(pedigree)[some], abs=1e-12)


def test_a_few_relatives_in_a_register_are_asked_by_the_table(monkeypatch):
    monkeypatch.setattr(tables, "TABLE", 5)
    apart = ((-1,) * 2 + (0,) * 2 + (-1,) * 9, (-1,) * 2 + (1,) * 2 + (-1,) * 9)
    pedigree = Pedigree.from_parents(tuple(f"a{row}" for row in range(13)), *apart)
    assert kinship_between(pedigree, [2], [3]).tolist() == [[0.25]]
    assert inbreeding(pedigree, [2, 12]).tolist() == [0, 0]
    assert "lineage" not in vars(pedigree)
    assert inbreeding(pedigree).tolist() == [0] * 13
    assert "lineage" in vars(pedigree)


@settings(max_examples=examples(50), deadline=None)
@given(pedigrees(most=20, choices=3))
def test_how_far_back_is_known_is_worked_out_alike_when_compiled(pedigree):
    expected = known_generations(pedigree, 4)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tables, "COMPILED_FROM", -1)
        found = known_generations(pedigree, 4)
    assert found.complete.tolist() == expected.complete.tolist()
    assert found.deepest.tolist() == expected.deepest.tolist()
    assert found.shares == pytest.approx(expected.shares, abs=1e-15)


def test_the_mean_kinship_to_nobody_is_unknown():
    pedigree = Pedigree(tuple("ab"), ())
    assert np.isnan(mean_kinship(pedigree, [0, 1], [])).all()
    assert mean_kinship(pedigree, [], [0]).tolist() == []
    assert kinship_between(pedigree, [], [0]).shape == (0, 1)
    assert mean_kinship(pedigree, [0, 1], [0, 1]).tolist() == [0.25, 0.25]


@pytest.mark.usefixtures("as_if_large")
def test_a_mean_over_a_register_is_the_same_figure():
    pedigree = Pedigree(tuple("ab"), ())
    assert np.isnan(mean_kinship(pedigree, [0], [])).all()
    assert mean_kinship(pedigree, [], [0]).tolist() == []
    assert kinship_between(pedigree, [0], []).shape == (1, 0)


def test_a_litter_without_pups_is_nobodys():
    pedigree = Pedigree(tuple("abc"), (Litter((), (0, 1), (), (2,)), Litter((2,), (0,), (), (1,))))
    assert Lineage.of(pedigree.parentage).inbreeding.tolist() == [0, 0, 0]


def test_a_long_line_of_full_sibs_nears_complete_inbreeding():
    # F(t) = 1/4 + F(t - 1)/2 + F(t - 2)/4, Wright 1921 (from memory)
    generations = 400
    ids = tuple(f"a{row}" for row in range(2 * generations))
    litters = tuple(
        Litter((row, row + 1), (row - 2,), (), (row - 1,)) for row in range(2, len(ids), 2)
    )
    found = Lineage.of(Pedigree(ids, litters).parentage).inbreeding[::2]
    expected = [0.0, 0.0]
    while len(expected) < generations:
        expected.append(1 / 4 + expected[-1] / 2 + expected[-2] / 4)
    assert found == pytest.approx(expected, abs=1e-12)


@pytest.mark.slow
def test_a_simulated_register_by_both_ways():
    register = bred(np.random.default_rng(20), 3_000, 12, 4)
    found = Lineage.of(register.parentage)  # large enough to be compiled
    ids = tuple(map(str, range(len(register.sires))))
    pedigree = Pedigree.from_parents(ids, register.sires.tolist(), register.dams.tolist())
    table, _place = tables._table(pedigree, np.arange(len(ids), dtype=np.int32))
    assert found.inbreeding == pytest.approx(2 * table.diagonal() - 1, abs=1e-12)
    assert found.inbreeding.max() > 0.2
    rows, columns = np.arange(0, len(ids), 7), np.arange(1, len(ids), 9)
    part = table[np.ix_(rows, columns)]
    assert found.kinship(rows, columns) == pytest.approx(part, abs=1e-12)
