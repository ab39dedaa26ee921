"""Counts against Mendel: exact chances by brute force, and families picked by what they hold."""

import math
from itertools import product
from math import comb, factorial, prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.estimation.segregation_test import fit, fit_where_one_showed


def test_it_works():
    found = fit([3, 1], [3, 1])
    assert found.expected == (3, 1)
    assert found.chi_square == 0
    assert found.p == 1


@given(st.lists(st.integers(0, 5), min_size=3, max_size=3).filter(any))
def test_the_exact_chance_is_that_of_the_definition(counts):
    shares, total = (0.25, 0.5, 0.25), sum(counts)

    def chance(outcome):
        ways = factorial(total) / prod(factorial(one) for one in outcome)
        return ways * prod(share**one for share, one in zip(shares, outcome, strict=True))

    outcomes = [one for one in product(range(total + 1), repeat=3) if sum(one) == total]
    seen = chance(counts)
    expected = sum(chance(one) for one in outcomes if chance(one) <= seen * (1 + 1e-9))
    assert fit(counts, [1, 2, 1]).p_exact == pytest.approx(expected)


def test_what_cannot_be_has_no_chance():
    assert fit([1, 9], [0, 1]).p == 0
    assert fit([1, 9], [0, 1]).cannot_be
    found = fit([0, 9], [0, 1])
    assert found.p == 1
    assert math.isnan(found.p_chi_square)


@pytest.mark.parametrize(
    ("counts", "ratio"), [([1], [1, 2]), ([-1, 2], [1, 1]), ([1, 2], [0, 0]), ([1, 2], [-1, 2])]
)
def test_it_refuses_counts_that_cannot_be(counts, ratio):
    with pytest.raises(ValueError, match="a count for each share"):
        fit(counts, ratio)


@pytest.mark.parametrize(
    ("pups", "expected"),
    # q s / (1 - (1 - q)^s) at q = 1/4, as textbooks tabulate it for sibships (from memory)
    [(1, 1.0), (2, 1.1429), (3, 1.2973), (4, 1.4629), (5, 1.6389)],
)
def test_how_many_show_where_one_does(pups, expected):
    found = fit_where_one_showed([(pups, 1)], 1 / 4)
    assert found.expected[1] == pytest.approx(expected, abs=1e-4)


@given(st.lists(st.integers(1, 4), min_size=1, max_size=4), st.data())
def test_it_is_the_definition_over_all_families(sizes, data):
    share = data.draw(st.sampled_from([1 / 4, 1 / 2]))
    families = [(size, data.draw(st.integers(1, size))) for size in sizes]
    chances = {}
    for outcome in product(*(range(1, size + 1) for size in sizes)):
        chance = prod(
            comb(size, count)
            * share**count
            * (1 - share) ** (size - count)
            / (1 - (1 - share) ** size)
            for size, count in zip(sizes, outcome, strict=True)
        )
        chances[sum(outcome)] = chances.get(sum(outcome), 0) + chance
    affected = sum(count for _, count in families)
    found = fit_where_one_showed(families, share)
    mean = sum(count * chance for count, chance in chances.items())
    assert found.expected[1] == pytest.approx(mean)
    if max(sizes) > 1:
        seen = chances[affected]
        expected = sum(chance for chance in chances.values() if chance <= seen * (1 + 1e-7))
        assert found.p_exact == pytest.approx(expected)
    else:
        assert math.isnan(found.p)


def test_picked_families_look_too_rich_and_the_singles_method_mends_it():
    # families of carriers drawn by Mendel, and only those kept in which one shows
    dice = np.random.default_rng(7)
    sizes = dice.integers(1, 7, 4000)
    shown = dice.binomial(sizes, 1 / 4)
    families = [(int(size), int(count)) for size, count in zip(sizes, shown, strict=True) if count]
    naive = sum(count for _, count in families) / sum(size for size, _ in families)
    found = fit_where_one_showed(families, 1 / 4)
    assert naive > 0.32
    assert found.share == pytest.approx(1 / 4, abs=0.02)
    assert found.p > 0.001
    assert fit_where_one_showed(families, 1 / 2).p < 1e-9


@pytest.mark.parametrize("families", [[], [(3, 0)], [(2, 3)]])
def test_it_refuses_families_in_which_none_shows(families):
    with pytest.raises(ValueError, match="one affected pup or more"):
        fit_where_one_showed(families, 1 / 4)
    with pytest.raises(ValueError, match="between 0 and 1"):
        fit_where_one_showed([(2, 1)], 1.0)
