"""Mendel's counts with their published chi-squares; the sources stand in segregation.json."""

import json
import math
from pathlib import Path

import pytest
from scipy.stats import binomtest, chisquare

from genetics.core.estimation.segregation_test import OUTCOMES, fit

CASES = json.loads((Path(__file__).parent / "segregation.json").read_text())


@pytest.fixture(scope="module", params=CASES, ids=lambda case: case["name"])
def case(request):
    return request.param


@pytest.fixture(scope="module")
def found(case):
    return fit(case["obs"], case["ratio"])


def test_the_published_chi_square(case, found):
    assert found.chi_square == pytest.approx(case["chi2"], abs=1e-6)
    assert found.degrees == case["df"]
    assert found.p_chi_square == pytest.approx(case["p"], abs=1e-6)
    # scipy, a general-purpose library
    shares = [share * sum(case["obs"]) / sum(case["ratio"]) for share in case["ratio"]]
    assert found.p_chi_square == pytest.approx(chisquare(case["obs"], shares).pvalue)


def test_the_exact_chance_beside_it(case, found):
    if len(case["obs"]) == 2:
        expected = binomtest(case["obs"][0], sum(case["obs"]), 3 / 4).pvalue  # scipy
        assert found.p_exact == pytest.approx(expected)
    elif len(case["obs"]) == 3:
        assert found.p_exact == pytest.approx(case["p"], abs=0.02)
    else:
        outcomes = math.comb(sum(case["obs"]) + len(case["obs"]) - 1, len(case["obs"]) - 1)
        assert outcomes > OUTCOMES
        assert math.isnan(found.p_exact)
        assert found.p == found.p_chi_square
