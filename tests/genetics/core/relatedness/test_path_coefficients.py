"""The paths between two parents sum to the tabular kinship, and each is Wright's."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness import path_coefficients as paths_module
from genetics.core.relatedness.kinship import kinship
from genetics.core.relatedness.path_coefficients import recent, related
from tests.examples import examples
from tests.genetics.core.small_pedigrees import pedigrees


def of(**parents):
    """A pedigree of certain parents by name, ancestors first: pup=('sire', 'dam')."""
    names = list(parents)
    place = {name: number for number, name in enumerate(names)} | {"": -1}
    sires, dams = zip(*(parents[name] or ("", "") for name in names), strict=True)
    return Pedigree.from_parents(
        names, [place[name] for name in sires], [place[name] for name in dams]
    ), place


def test_it_works():
    # brother and sister: one path through the boar and one through the sow, (1/2)^3 each
    pedigree, at = of(boar=None, sow=None, brother=("boar", "sow"), sister=("boar", "sow"))
    found = related(pedigree, at["brother"], at["sister"])
    assert found.inbreeding == 0.25
    assert found.rest == 0
    assert [(path.sire_side, path.dam_side, path.adds) for path in found.paths] == [
        ((2, 0), (3, 0), 0.125),
        ((2, 1), (3, 1), 0.125),
    ]
    assert found.paths[0].generations == (1, 1)


# Wright 1922 (from memory): coefficients of relationship of the parents, 1/2 for parent and
# young and for full sibs, 1/4 for half sibs and uncle and niece, 1/8 for first cousins; the
# inbreeding of their young is half of each while no ancestor is inbred.
FAMILY = {
    "A": None,
    "B": None,
    "C": None,
    "D": None,
    "E": None,
    "brother": ("A", "B"),
    "sister": ("A", "B"),
    "half_sister": ("A", "C"),
    "niece": ("D", "sister"),
    "cousin": ("brother", "E"),
}


@pytest.mark.parametrize(
    ("sire", "dam", "inbreeding"),
    [
        ("brother", "sister", 1 / 4),  # full sibs
        ("A", "sister", 1 / 4),  # sire and daughter
        ("brother", "half_sister", 1 / 8),  # half sibs
        ("brother", "niece", 1 / 8),  # uncle and niece
        ("A", "niece", 1 / 8),  # grandsire and granddaughter
        ("cousin", "niece", 1 / 16),  # first cousins
        ("A", "B", 0),  # unrelated
    ],
)
def test_the_textbook_relationships(sire, dam, inbreeding):
    pedigree, at = of(**FAMILY)
    found = related(pedigree, at[sire], at[dam])
    assert found.inbreeding == inbreeding
    assert sum(path.adds for path in found.paths) == inbreeding
    assert found.rest == 0


def test_an_inbred_ancestor_adds_more():
    # A is of full sibs, F = 1/4: half sibs by A have (1/2)^3 (1 + 1/4)
    pedigree, at = of(
        p=None, q=None, r=("p", "q"), s=("p", "q"), A=("r", "s"), x=("A", ""), y=("A", "")
    )
    (path,) = related(pedigree, at["x"], at["y"]).paths
    assert path.ancestor_inbreeding == 0.25
    assert path.adds == 0.125 * 1.25


def test_a_path_meets_no_animal_twice():
    # x and y are half sibs by X alone: X's parents, behind both, make no path of their own
    pedigree, at = of(p=None, q=None, X=("p", "q"), x=("X", ""), y=("X", ""))
    found = related(pedigree, at["x"], at["y"])
    assert [path.ancestor for path in found.paths] == [at["X"]]


def test_littermates_of_unknown_parents_share_them():
    pedigree = Pedigree(("x", "y", "z"), (Litter((0, 1)),))
    found = related(pedigree, 0, 1)
    assert found.inbreeding == 0.25
    assert [path.ancestor for path in found.paths] == [3, 4]
    assert related(pedigree, 0, 2).paths == ()


def test_an_uncertain_sire_is_there_by_his_chance():
    # x by a or b, 3 : 1; y by a: half sibs with chance 3/4
    pedigree = Pedigree(
        tuple("abxy"), (Litter((2,), sires=(0, 1), sire_weights=(3, 1)), Litter((3,), sires=(0,)))
    )
    (path,) = related(pedigree, 2, 3).paths
    assert (path.chance, path.adds) == (0.75, 0.75 / 8)


def test_littermates_do_not_draw_an_uncertain_sire_twice():
    # two pups of one litter by a or b: a with 1/2, b with 1/2, never one each, and the dam
    pedigree = Pedigree(tuple("abdxy"), (Litter((3, 4), sires=(0, 1), dams=(2,)),))
    found = related(pedigree, 3, 4)
    assert sorted(path.adds for path in found.paths) == [1 / 16, 1 / 16, 1 / 8]
    assert found.rest == 0


@settings(max_examples=examples(150))
@given(pedigrees(most=10), st.data())
def test_the_paths_sum_to_the_kinship(pedigree, data):
    numbers = st.integers(0, len(pedigree) - 1)
    sire, dam = data.draw(numbers), data.draw(numbers)
    if sire == dam:
        with pytest.raises(ValueError, match="two different"):
            related(pedigree, sire, dam)
        return
    found = related(pedigree, sire, dam)
    assert found.inbreeding == pytest.approx(kinship(pedigree)[sire, dam], abs=1e-14)
    assert sum(path.adds for path in found.paths) == pytest.approx(found.inbreeding, abs=1e-12)
    assert found.rest == 0
    for path in found.paths:
        walked = path.sire_side + path.dam_side[:-1]
        assert len(set(walked)) == len(walked)
        assert path.sire_side[-1] == path.dam_side[-1]


def test_what_is_not_listed_is_told(monkeypatch):
    monkeypatch.setattr(paths_module, "MOST_PATHS", 1)
    pedigree, at = of(boar=None, sow=None, brother=("boar", "sow"), sister=("boar", "sow"))
    found = related(pedigree, at["brother"], at["sister"])
    assert (len(found.paths), found.rest) == (1, 0.125)


def full_sib_matings(generations):
    sires, dams = [-1, -1], [-1, -1]
    for generation in range(generations):
        sires += [2 * generation] * 2
        dams += [2 * generation + 1] * 2
    return Pedigree.from_parents([str(number) for number in range(len(sires))], sires, dams)


def test_a_hopelessly_inbred_line_ends():
    # thirty generations of brother to sister have 4^30 paths and more
    pedigree = full_sib_matings(30)
    found = related(pedigree, len(pedigree) - 2, len(pedigree) - 1)
    assert len(found.paths) == paths_module.MOST_PATHS
    assert found.rest == pytest.approx(
        found.inbreeding - sum(path.adds for path in found.paths), abs=1e-15
    )


def test_only_the_last_generations_count():
    # F of brother to sister matings: 1/4, 3/8, 1/2 ... (Wright 1922, from memory): with the last
    # n generations of the pedigree the series has n - 1 terms
    series = [0, 1 / 4, 3 / 8, 1 / 2, 19 / 32]
    pedigree = full_sib_matings(8)
    pair = (len(pedigree) - 2, len(pedigree) - 1)
    for generations, expected in enumerate(series, start=1):
        cut = recent(pedigree, pair, generations)
        assert kinship(cut, pair)[0, 1] == pytest.approx(expected, abs=1e-15)
    with pytest.raises(ValueError, match="at the least"):
        recent(pedigree, pair, 0)


@given(pedigrees(most=9), st.integers(1, 4))
def test_fewer_generations_never_make_more_inbreeding(pedigree, generations):
    full = kinship(pedigree, [0, 1])[0, 1]
    assert kinship(recent(pedigree, (0, 1), generations), [0, 1])[0, 1] <= full + 1e-12
    deep = recent(pedigree, (0, 1), len(pedigree) + 1)
    assert kinship(deep, [0, 1])[0, 1] == pytest.approx(full, abs=1e-14)
    assert np.array_equal(deep.ids, pedigree.ids)
