"""How many pups a sow's next litter is expected: her own mean drawn towards her herd's."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.estimation.litter_size import (
    REPEATABILITY,
    USUAL_WORTH,
    expected_size,
    herds_mean,
)
from genetics.matings.litter_size import USUAL_ALIVE, LitterSize, litter_sizes
from herdbook.book.models import Litter
from tests.factories import LitterFactory


def bear(cast, sow, *alive):
    for one in alive:
        LitterFactory(herd=cast.herd, dam=sow, source="home", born_alive=one)


def test_it_works(cast):
    """By hand: the herd's three litters have 11 alive; with ten usual ones of 3 x (1 - .216)."""
    bear(cast, cast.tansy, 4, 5)
    sizes = litter_sizes([cast.wren, cast.tansy, cast.sorrel])
    usual = (11 + 10 * 3 * 0.784) / 13
    assert [size.usual for size in sizes.values()] == pytest.approx([usual] * 3)
    assert {size.herd_litters for size in sizes.values()} == {3}
    wren, tansy, sorrel = (sizes[one.pk] for one in (cast.wren, cast.tansy, cast.sorrel))
    assert (wren.mean, wren.litters) == (2, 1)
    assert wren.expected == pytest.approx(usual + 0.15 * (2 - usual))
    assert (tansy.mean, tansy.litters) == (4.5, 2)
    assert tansy.expected == pytest.approx(usual + 2 * 0.15 / 1.15 * (4.5 - usual))
    assert (sorrel.litters, sorrel.expected) == (0, pytest.approx(usual))
    assert (wren.pups, tansy.pups, sorrel.pups) == (3, 3, 3)


def test_a_herd_without_litters_goes_by_a_usual_one(cast):
    Litter.objects.update(born_alive=None)
    (size,) = litter_sizes([cast.wren]).values()
    assert (size.expected, size.herd_litters) == (pytest.approx(USUAL_ALIVE), 0)
    assert litter_sizes([]) == {}


def test_another_herds_litters_have_no_say(cast, other_herd):
    before = litter_sizes([cast.wren])
    LitterFactory(herd=other_herd[1], source="home", born_alive=6)
    assert litter_sizes([cast.wren]) == before


def test_a_litter_taken_in_from_paper_has_no_say(cast):
    before = litter_sizes([cast.wren])
    LitterFactory(herd=cast.herd, dam=cast.wren, source="paper", born_alive=6)
    assert litter_sizes([cast.wren]) == before


def test_one_pup_is_worked_out_with_at_least():
    assert LitterSize(0.3, 0.0, 4, 0.5, 4).pups == 1


@given(st.floats(1, 6), st.lists(st.tuples(st.floats(0, 8), st.integers(0, 20)), min_size=1))
def test_no_sow_leaves_the_range_of_her_mean_and_the_herds(mean, sows):
    own, litters = (np.array(one) for one in zip(*sows, strict=True))
    expected = expected_size(mean, own, litters)
    slack = 1e-9
    assert (expected >= np.minimum(own, mean) - slack)[litters > 0].all()
    assert (expected <= np.maximum(own, mean) + slack)[litters > 0].all()
    assert expected[litters == 0] == pytest.approx(mean)


def test_it_is_the_best_guess_where_litters_of_a_sow_are_so_alike():
    """Sows that differ as the repeatability says: the expected size is right on average over sows
    of any own mean, and misses by less than the own mean and the herd's do (seeded)."""
    random = np.random.default_rng(15)
    sows, litters, mean = 40_000, 3, 3.0
    true = mean + np.sqrt(REPEATABILITY) * random.standard_normal(sows)
    noise = np.sqrt(1 - REPEATABILITY) * random.standard_normal((sows, litters + 1))
    born = true[:, None] + noise
    own, following = born[:, :litters].mean(axis=1), born[:, litters]
    expected = expected_size(mean, own, np.full(sows, litters))
    slope = np.polyfit(expected, following, 1)[0]
    assert slope == pytest.approx(1, abs=0.05)
    missed = [np.square(following - one).mean() for one in (expected, own, np.full(sows, mean))]
    assert missed[0] < min(missed[1:])


def test_a_herd_of_many_litters_goes_by_its_own():
    assert herds_mean(2.4, 4.0, 0) == 2.4
    assert herds_mean(2.4, 4.0, USUAL_WORTH) == pytest.approx(3.2)
    assert herds_mean(2.4, 4.0, 10_000) == pytest.approx(4.0, abs=0.01)
