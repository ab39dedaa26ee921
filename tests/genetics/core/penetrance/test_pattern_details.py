"""Spread, stain and the density of each place refine what the stage says, and no more.

The shares are common practice, no source: feet clear last, two doses spread over the face.
"""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from genetics.core.penetrance.likelihood import observation_likelihood
from genetics.core.penetrance.observation import (
    DENSITIES,
    SPREADS,
    STAGES,
    STAINS,
    WARMTHS,
    Observation,
)
from genetics.core.penetrance.pattern_details import ASTRAY, NOTED, details_likelihood
from tests.genetics.core.chances import look_likelihood

densities = st.sampled_from(["", "hidden", *DENSITIES])
looks = st.builds(
    Observation,
    st.sampled_from(STAGES),
    st.integers(0, 600),
    st.sampled_from(["", *WARMTHS]),
    st.sampled_from(["", *SPREADS]),
    st.sampled_from(["", *STAINS]),
    densities,
    densities,
    densities,
    densities,
)


def mild(stage, age_days, **details):
    return Observation(stage, age_days, "mild", **details)


def times(look):
    """How many times likelier the details are with two doses than with one."""
    _, one, two = details_likelihood([look])
    return two / one


def test_it_works():
    dark = observation_likelihood([mild("overmarked", 56, spread="face", stain="heavy")])
    assert dark.argmax() == 2
    assert dark[2] / dark[1] > look_likelihood("overmarked", 56, "mild")[2] > 0
    assert times(mild("full", 120, spread="face")) > 3
    assert times(mild("full", 120, spread="nose", hind_feet="coming")) < 0.6


def test_the_further_the_smut_spreads_the_likelier_two_doses():
    for stage in STAGES[1:]:
        along = [times(mild(stage, 100, spread=spread)) for spread in SPREADS]
        assert along == sorted(along)
        assert along[0] < 1 < along[-1]


def test_heavy_stain_speaks_mildly_for_two_doses():
    for stage in STAGES[1:]:
        assert 1.3 < times(mild(stage, 100, stain="heavy")) < 4
        assert 0.5 < times(mild(stage, 100, stain="clean")) < 1


def test_feet_that_come_along_with_the_rest_speak_for_two_doses():
    along = [times(mild("coming", 40, hind_feet=density)) for density in DENSITIES]
    assert along == sorted(along)
    assert along[0] < 1 < along[-1]


def test_heat_and_cold_make_details_say_less():
    for warmth in ("hot", "cold"):
        after = times(Observation("full", 120, warmth, spread="face", hind_feet="dense"))
        assert 1 < after < times(mild("full", 120, spread="face", hind_feet="dense"))


@given(st.lists(looks, max_size=4))
def test_details_never_outweigh_seven_to_one(seen):
    likelihood = details_likelihood(seen)
    most = (2 - min(ASTRAY.values())) / min(ASTRAY.values())
    assert most == 7
    assert likelihood.max() / likelihood.min() <= most * (1 + 1e-12)


@pytest.mark.parametrize("stage", STAGES[1:])
@pytest.mark.parametrize("warmth", ["", *WARMTHS])
def test_the_chances_of_all_that_may_be_noted_add_up(stage, warmth):
    feet = DENSITIES if stage != "overmarked" else ("",)
    whole = sum(
        details_likelihood([Observation(stage, 90, warmth, spread, stain, smut, "", "", hind)])
        for spread, stain, smut, hind in product(SPREADS, STAINS, feet, feet)
    )
    np.testing.assert_allclose(whole, 1, rtol=1e-12)


def test_the_table_is_of_shares_each_with_its_standing():
    for line in NOTED:
        assert sum(line.one_dose) == pytest.approx(1)
        assert sum(line.two_doses) == pytest.approx(1)
        assert line.standing


@pytest.mark.parametrize(
    "look",
    [
        mild("none", 90, spread="face", smut="dense"),
        mild("coming", 90, smut="hidden", ears="hidden", fore_feet="hidden", hind_feet="hidden"),
        mild("full", 90),
    ],
)
def test_what_is_hidden_or_not_noted_or_not_there_is_no_evidence(look):
    assert details_likelihood([look]).tolist() == [1, 1, 1]


def test_a_place_that_is_hidden_leaves_the_word_to_the_one_beside_it():
    hidden = mild("coming", 40, hind_feet="hidden", fore_feet="dense")
    assert times(hidden) == times(mild("coming", 40, hind_feet="dense"))


def test_looks_again_at_one_face_are_one_face():
    look = mild("full", 120, spread="eyes", stain="light")
    np.testing.assert_allclose(
        details_likelihood([look] * 5), details_likelihood([look]), rtol=1e-12
    )


@pytest.mark.parametrize(
    ("details", "word"),
    [({"spread": "ears"}, "spread"), ({"stain": "red"}, "stain"), ({"smut": "dark"}, "density")],
)
def test_it_refuses_a_word_that_is_none(details, word):
    with pytest.raises(ValueError, match=word):
        mild("full", 120, **details)
