"""Published relationship tables. The sources stand in kinship.json beside each case."""

import json
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness.kinship import inbreeding, kinship
from genetics.core.relatedness.path_coefficients import related

CASES = json.loads((Path(__file__).parent / "kinship.json").read_text())


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
@pytest.mark.parametrize("backwards", [False, True], ids=["as printed", "rows reversed"])
def test_the_published_table(case, backwards):
    # Mrode 2014, Table 2.1 and sec. 2.2; Christensen, Population Genetics, sec. 4.5
    rows = case["pedigree"][::-1] if backwards else case["pedigree"]
    place = {row["id"]: number for number, row in enumerate(rows)} | {"": -1}
    pedigree = Pedigree.from_parents(
        [row["id"] for row in rows],
        [place[row["sire"]] for row in rows],
        [place[row["dam"]] for row in rows],
    )
    relationship = np.array(case["relationship"])
    expected = relationship[::-1, ::-1] if backwards else relationship
    assert 2 * kinship(pedigree) == pytest.approx(expected, abs=1e-14)
    printed = [float(Fraction(case["inbreeding"][row["id"]])) for row in rows]
    assert inbreeding(pedigree).tolist() == printed


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_the_paths_sum_to_the_published_table(case):
    rows = case["pedigree"]
    place = {row["id"]: number for number, row in enumerate(rows)} | {"": -1}
    pedigree = Pedigree.from_parents(
        [row["id"] for row in rows],
        [place[row["sire"]] for row in rows],
        [place[row["dam"]] for row in rows],
    )
    for one, other in combinations(range(len(pedigree)), 2):
        found = related(pedigree, one, other)
        printed = case["relationship"][one][other]
        assert 2 * sum(path.adds for path in found.paths) == pytest.approx(printed, abs=1e-14)
