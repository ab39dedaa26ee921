"""A mating looked up: doses, inbreeding and paths, from the book."""

import numpy as np
import pytest

from genetics.core.mendel import transmission
from genetics.figures import bring_up_to_date
from genetics.mating import Mating, litter_sizes, look_up, rank
from herdbook.book.dates import PartialDate
from herdbook.book.models import Animal, GivenEvidence, Litter
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory, LookFactory

HOME = {"source": "home", "born": PartialDate(2026, 2, 1), "born_dead": 0}


def given(animal, dose):
    """The animal is known to have this dose."""
    share = {f"like{number}": float(number == dose) for number in range(3)}
    GivenEvidence.objects.create(herd=animal.herd, animal=animal, **share)


def test_it_works(cast):
    # Bramble, all but surely of two doses, to Tansy, bought as marked
    found = look_up(cast.tansy, cast.bramble)
    mating = found.mating
    assert mating.chances[0] < 0.02
    assert sum(mating.chances) == pytest.approx(1, abs=1e-12)
    assert mating.one_dose_pups == pytest.approx(3 * mating.chances[1])
    assert mating.at_least(3)[0] == pytest.approx(1)
    assert mating.inbreeding == 0
    assert found.ways == ()
    assert found.dam_known.deepest_generation == 0


@pytest.mark.parametrize("sire", range(3))
@pytest.mark.parametrize("dam", range(3))
def test_it_is_mendels_table_for_each_pair_of_doses(cast, sire, dam):
    # Mendel 1866: the doses of the parents known, in families of their own
    boar, sow = (AnimalFactory(herd=cast.herd, sex=sex) for sex in ("boar", "sow"))
    given(boar, sire)
    given(sow, dam)
    chances = look_up(sow, boar).mating.chances
    assert chances == pytest.approx(tuple(transmission()[sire, dam]), abs=1e-12)


def test_strangers_are_independent_and_sibs_are_not(cast):
    bring_up_to_date()
    joint = look_up(cast.sorrel, cast.rook).mating.joint
    shares = [
        np.array(Animal.objects.get(pk=one.pk).figure.chances) for one in (cast.rook, cast.sorrel)
    ]
    assert joint.sum(axis=1) == pytest.approx(shares[0], abs=1e-9)
    assert joint.sum(axis=0) == pytest.approx(shares[1], abs=1e-9)
    assert np.abs(joint - np.outer(*shares)).max() > 0.01
    strangers = look_up(cast.tansy, cast.bramble).mating.joint
    own = [strangers.sum(axis=1), strangers.sum(axis=0)]
    assert strangers == pytest.approx(np.outer(*own), abs=1e-12)


def test_brother_to_sister_tells_its_paths(cast):
    found = look_up(cast.sorrel, cast.rook)
    assert (found.mating.inbreeding, found.recent_inbreeding, found.rest) == (0.25, 0.25, 0)
    assert {(way.sire_side, way.dam_side, way.adds) for way in found.ways} == {
        ((cast.rook.pk, cast.bramble.pk), (cast.sorrel.pk, cast.bramble.pk), 0.125),
        ((cast.rook.pk, cast.wren.pk), (cast.sorrel.pk, cast.wren.pk), 0.125),
    }
    assert found.sire_known.full_generations == 1
    assert found.sire_known.completeness == pytest.approx(2 / 62)


def test_littermates_of_unknown_parents_share_them(cast):
    litter = LitterFactory(herd=cast.herd, source="paper")
    boar, sow = (AnimalFactory(herd=cast.herd, litter=litter, sex=sex) for sex in ("boar", "sow"))
    found = look_up(sow, boar)
    assert found.mating.inbreeding == 0.25
    ends = [way.sire_side[-1] for way in found.ways]
    assert max(ends) < 0
    assert [end % 2 for end in ends] == [1, 0]


def test_older_inbreeding_is_told_apart(cast):
    # brother to sister for six generations: the coefficient of all of them is more than of five
    boar, sow = cast.rook, cast.sorrel
    for year in range(6):
        litter = LitterFactory(
            herd=cast.herd, dam=sow, boars=[boar], born=PartialDate(2027 + year), source="paper"
        )
        boar = AnimalFactory(herd=cast.herd, litter=litter, sex="boar")
        sow = AnimalFactory(herd=cast.herd, litter=litter, sex="sow")
    found = look_up(sow, boar)
    # 1/4, 3/8, 1/2, 19/32 with four, five ... generations (Wright 1922, from memory)
    assert found.recent_inbreeding == pytest.approx(19 / 32)
    assert found.mating.inbreeding > found.recent_inbreeding


def test_the_size_is_her_own_mean_or_the_usual(cast):
    for alive in (4, 5):
        LitterFactory(herd=cast.herd, dam=cast.tansy, born_alive=alive, **HOME)
    sizes = litter_sizes([cast.wren, cast.tansy, cast.sorrel])
    assert (sizes[cast.wren.pk].pups, sizes[cast.wren.pk].litters) == (2, 1)
    assert (sizes[cast.tansy.pk].pups, sizes[cast.tansy.pk].litters) == (4, 2)
    assert (sizes[cast.sorrel.pk].pups, sizes[cast.sorrel.pk].litters) == (3, 0)


def test_it_ranks_the_boars_of_a_sow(cast):
    # to a self sow: a boar of two doses gives one-dose pups only, of one dose half, a self none
    boars = [AnimalFactory(herd=cast.herd, sex="boar") for _ in range(3)]
    sow = AnimalFactory(herd=cast.herd, sex="sow")
    given(sow, 0)
    for boar, dose in zip(boars, (1, 0, 2), strict=True):
        given(boar, dose)
    ranked = rank(sow, boars)
    assert [mating.boar for mating in ranked] == [boars[2], boars[0], boars[1]]
    assert [mating.one_dose_pups for mating in ranked] == pytest.approx([3, 1.5, 0])
    assert all(isinstance(mating, Mating) and mating.sow == sow for mating in ranked)


def test_it_ranks_the_sows_of_a_boar_the_same(cast):
    for mating in rank(cast.bramble, [cast.wren, cast.tansy, cast.sorrel]):
        alone = look_up(mating.sow, cast.bramble).mating
        assert mating.joint == pytest.approx(alone.joint, abs=1e-12)
        assert (mating.inbreeding, mating.size) == (alone.inbreeding, alone.size)


def test_the_less_inbred_of_equals_comes_first(cast):
    sire, stranger = (AnimalFactory(herd=cast.herd, sex="boar") for _ in range(2))
    litter = LitterFactory(herd=cast.herd, boars=[sire])
    daughter = AnimalFactory(herd=cast.herd, sex="sow", litter=litter)
    for animal, dose in ((sire, 2), (stranger, 2), (daughter, 1)):
        given(animal, dose)
    first, second = rank(daughter, [sire, stranger])
    assert first.one_dose_pups == second.one_dose_pups == pytest.approx(1.5)
    assert (first.boar, second.boar, second.inbreeding) == (stranger, sire, 0.25)


@pytest.mark.parametrize("count", [2, 12])
def test_many_boars_cost_no_more_queries(cast, count, django_assert_num_queries):
    boars = AnimalFactory.create_batch(count, herd=cast.herd, sex="boar")
    with django_assert_num_queries(10):
        rank(cast.wren, boars)


def test_a_family_whose_records_cannot_be_true_has_no_chances(cast):
    # Bramble known to have two doses, his son none: no slip of a sire helps a dam of two doses
    given(cast.bramble, 2)
    given(cast.wren, 2)
    given(cast.rook, 0)
    bring_up_to_date()
    mating = look_up(cast.tansy, cast.bramble).mating
    assert (mating.chances, mating.one_dose_pups, mating.why_none) == (None, None, "impossible")
    assert mating.at_least(3) == ()
    stranger = AnimalFactory(herd=cast.herd, sex="boar")
    assert look_up(cast.tansy, stranger).mating.chances is not None


def test_a_contradictory_pedigree_says_nothing(cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    assert look_up(cast.tansy, cast.bramble) is None
    assert rank(cast.tansy, [cast.bramble]) is None


def test_a_look_at_a_sib_moves_the_forecast(cast):
    before = look_up(cast.sorrel, cast.bramble).mating.chances
    LookFactory(animal=cast.sorrel, on=TODAY, stage="overmarked")
    assert look_up(cast.sorrel, cast.bramble).mating.chances[2] > before[2]
