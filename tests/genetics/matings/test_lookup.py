"""A mating looked up: doses, inbreeding and paths, from the book."""

import numpy as np
import pytest

from genetics.core.inheritance.mendel import transmission
from genetics.core.posterior.pair_forecast import TOLERANCE
from genetics.figures import refresh
from genetics.figures.refresh import ensure_current
from genetics.matings.lookup import look_up, pair_all
from genetics.models import Figure
from herdbook.book.models import Animal, GivenEvidence, Litter
from herdbook.book.partial_date import PartialDate
from tests.conftest import TODAY, forget_what_is_kept
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
    assert mating.one_dose_pups == pytest.approx(mating.size.expected * mating.chances[1])
    assert mating.at_least(3)[0] == pytest.approx(1)
    assert mating.inbreeding == 0
    assert found.ways == ()
    assert found.mating.dam_known.deepest_generation == 0


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
    ensure_current()
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
    assert found.mating.sire_known.full_generations == 1
    assert found.mating.sire_known.completeness == pytest.approx(2 / 62)


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


def test_all_pairs_are_those_looked_up_one_by_one(cast):
    sows, boars = [cast.wren, cast.tansy, cast.sorrel], [cast.bramble, cast.rook]
    found = pair_all(sows, boars)
    for sow, row in zip(sows, found.rows, strict=True):
        for boar, mating in zip(boars, row, strict=True):
            alone = look_up(sow, boar).mating
            assert (mating.sow, mating.boar, mating.size) == (sow, boar, alone.size)
            assert mating.chances[1] == pytest.approx(
                alone.chances[1], abs=mating.may_be_off + 1e-12
            )
            assert mating.may_be_off <= TOLERANCE
            assert (mating.inbreeding, mating.kinship) == (alone.inbreeding, alone.kinship)
    assert pair_all([], boars).rows == ()
    assert pair_all(sows, []).rows == ((), (), ())


def test_mean_kinship_to_the_living_herd(cast):
    # kinship of Tansy (no kin) and Bramble to Bramble, Wren, Tansy, Rook, Sorrel: 0, 0, 1/2, 0, 0
    # and 1/2, 0, 0, 1/4, 1/4; Flint is not in the herd
    mating = look_up(cast.tansy, cast.bramble).mating
    assert mating.kinship == pytest.approx((0.5 / 5 + 1 / 5) / 2)


@pytest.mark.parametrize("count", [2, 20])
def test_many_pairs_cost_no_more_queries(cast, count, django_assert_max_num_queries):
    boars = AnimalFactory.create_batch(count, herd=cast.herd, sex="boar")
    with django_assert_max_num_queries(24):
        pair_all([cast.wren, cast.tansy], boars)


def test_a_large_register_is_paired_by_the_figures_that_stand(cast, monkeypatch):
    ensure_current()
    sows, boars = [cast.wren, cast.sorrel], [cast.bramble, cast.rook]
    exact = pair_all(sows, boars)
    monkeypatch.setattr("genetics.matings.parents.recomputed_at_once", lambda: False)
    monkeypatch.setattr("genetics.matings.lookup.AT_ONCE", 1)
    forget_what_is_kept()
    found = pair_all(sows, boars)
    for row, wanted in zip(found.rows, exact.rows, strict=True):
        for mating, right in zip(row, wanted, strict=True):
            off = mating.may_be_off + right.may_be_off + 1e-12
            assert mating.chances[1] == pytest.approx(right.chances[1], abs=off)
            assert mating.inbreeding == right.inbreeding
    assert found.rows[1][1].may_be_off > 0.02  # brother and sister, both unproved
    assert found.doubted == {}
    alone = look_up(cast.sorrel, cast.rook).mating
    assert alone.may_be_off == found.rows[1][1].may_be_off
    assert alone.chances == pytest.approx(found.rows[1][1].chances)


def test_a_herd_too_tangled_to_be_exact_is_not_worked_out_again(cast, monkeypatch):
    monkeypatch.setattr(refresh, "BUDGET", 1)
    ensure_current()
    Figure.objects.filter(pk=cast.rook.pk).update(method="refined", error=0.04)
    monkeypatch.setattr("genetics.matings.parents.compute_doses", None)
    mating = look_up(cast.sorrel, cast.rook).mating
    assert mating.chances == pytest.approx(pair_all([cast.sorrel], [cast.rook]).rows[0][0].chances)
    assert mating.may_be_off > 0.04


def test_a_tangled_herd_that_is_exact_is_worked_out_for_one_pair(cast, monkeypatch):
    """Brother and sister: not the product of their chances, and off by nothing."""
    ensure_current()
    exact = look_up(cast.sorrel, cast.rook).mating
    monkeypatch.setattr("genetics.matings.parents.recomputed_at_once", lambda: False)
    forget_what_is_kept()
    found = look_up(cast.sorrel, cast.rook).mating
    assert found.joint == pytest.approx(exact.joint, abs=1e-12)
    assert found.may_be_off == 0
    assert pair_all([cast.sorrel], [cast.rook]).rows[0][0].may_be_off > 0.02


def test_a_sire_that_other_records_speak_against(cast):
    # a self by an overmarked boar and an overmarked sow: somebody else was the sire
    given(cast.bramble, 2)
    litter = LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.bramble])
    self_pup = AnimalFactory(herd=cast.herd, litter=litter, sex="sow")
    given(self_pup, 0)
    doubted = look_up(self_pup, cast.rook).doubted
    assert set(doubted) == {self_pup.pk}
    assert doubted[self_pup.pk].sire == pytest.approx(1)
    assert doubted[self_pup.pk].look is None
    assert pair_all([self_pup, cast.wren], [cast.rook]).doubted == doubted


def test_a_look_that_other_records_speak_against(cast):
    # a daughter of two selfs, seen full once and none twice: the odd look was misread
    sow = AnimalFactory(herd=cast.herd, sex="sow", bought_as="self")
    litter = LitterFactory(herd=cast.herd, dam=sow, boars=[], born=PartialDate(2026, 3, 1))
    pup = AnimalFactory(herd=cast.herd, litter=litter, sex="sow")
    given(sow, 0)
    for on, stage in (("2026-08-20", "none"), ("2026-09-20", "full"), ("2026-10-20", "none")):
        LookFactory(animal=pup, on=on, stage=stage)
    doubted = look_up(pup, cast.bramble).doubted
    assert doubted[pup.pk].look > 0.5


def test_a_family_whose_records_cannot_be_true_has_no_chances(cast):
    # Bramble known to have two doses, his son none: no slip of a sire helps a dam of two doses
    given(cast.bramble, 2)
    given(cast.wren, 2)
    given(cast.rook, 0)
    ensure_current()
    mating = look_up(cast.tansy, cast.bramble).mating
    assert (mating.chances, mating.one_dose_pups, mating.why_none) == (None, None, "impossible")
    assert mating.at_least(3) == ()
    stranger = AnimalFactory(herd=cast.herd, sex="boar")
    assert look_up(cast.tansy, stranger).mating.chances is not None


def test_a_contradictory_pedigree_says_nothing(cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    assert look_up(cast.tansy, cast.bramble) is None
    assert pair_all([cast.tansy], [cast.bramble]) is None


def test_a_look_at_a_sib_moves_the_forecast(cast):
    before = look_up(cast.sorrel, cast.bramble).mating.chances
    LookFactory(animal=cast.sorrel, on=TODAY, stage="overmarked")
    assert look_up(cast.sorrel, cast.bramble).mating.chances[2] > before[2]
