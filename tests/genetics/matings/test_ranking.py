"""Matings set beside each other by the breeder's own weights."""

from datetime import date, timedelta

import pytest

from genetics.colours.lethal_risks import risks_at_once, risks_of_pair
from genetics.colours.litter import litter_colours
from genetics.figures.refresh import ensure_current
from genetics.matings.lookup import look_up
from genetics.matings.ranking import prospects, showable_pups
from genetics.season.candidates import stock_of
from genetics.season.request import LEFT_OUT, Wishes
from herdbook.book.models import Animal, GivenEvidence, Limits, RankingWeights
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.mating_cautions import PAIR, SHORT, SOW, Caution, TimeTogether
from herdbook.book.rules.matings import mating_cautions, with_mating_records
from tests.factories import AnimalFactory, LitterFactory

TODAY = date(2026, 11, 25)
TOGETHER = TimeTogether(TODAY, TODAY + timedelta(days=17))
NOTHING = {"per_inbreeding": 0, "per_kinship": 0, "per_caution": 0}


def given(animal, dose):
    share = {f"like{number}": float(number == dose) for number in range(3)}
    GivenEvidence.objects.create(herd=animal.herd, animal=animal, **share)


def found(herd, sows, boars):
    ensure_current()
    rows = {row.pk: row for row in with_mating_records(Animal.objects.all())}
    return prospects(
        herd,
        [rows[sow.pk] for sow in sows],
        [rows[boar.pk] for boar in boars],
        TOGETHER,
        Limits.of(herd),
        on=TODAY,
    )


@pytest.fixture
def selfs_and_boars(cast):
    """A self sow, and boars of one, no and two doses, none kin to any."""
    sow = AnimalFactory(herd=cast.herd, sex="sow")
    boars = [AnimalFactory(herd=cast.herd, sex="boar") for _ in range(3)]
    given(sow, 0)
    for boar, dose in zip(boars, (1, 0, 2), strict=True):
        given(boar, dose)
    return sow, boars


def test_it_works(cast, selfs_and_boars):
    # to a self, two doses give one-dose pups only, one dose half of them, a self none
    sow, boars = selfs_and_boars
    made = found(cast.herd, [sow], boars)
    ranked = made.ranked(RankingWeights(herd=cast.herd, **NOTHING))
    assert [one.mating.boar for one in ranked] == [boars[2], boars[0], boars[1]]
    good, lost = made.outlook.good.value, made.outlook.lost.value
    alive = (2 + 10 * 3 * 0.784) / 11  # the herd's one litter of two, with ten usual ones
    assert [one.showable for one in ranked] == pytest.approx(
        [alive * good * (1 - lost), alive / 2 * good * (1 - lost), 0]
    )


def test_the_less_inbred_of_equals_comes_first(cast):
    sire, stranger = (AnimalFactory(herd=cast.herd, sex="boar") for _ in range(2))
    litter = LitterFactory(herd=cast.herd, boars=[sire])
    daughter = AnimalFactory(herd=cast.herd, sex="sow", litter=litter)
    for animal, dose in ((sire, 2), (stranger, 2), (daughter, 1)):
        given(animal, dose)
    ranked = found(cast.herd, [daughter], [sire, stranger]).ranked(RankingWeights(**NOTHING))
    assert [(one.mating.boar, one.mating.inbreeding) for one in ranked] == [
        (stranger, 0),
        (sire, 0.25),
    ]
    assert ranked[0].showable == pytest.approx(ranked[1].showable)


@pytest.mark.parametrize("name", ["per_inbreeding", "per_kinship", "per_caution"])
def test_each_weight_is_taken_off_in_pups(cast, name):
    prospect = found(cast.herd, [cast.sorrel], [cast.rook]).rows[0][0]
    worth = {
        "per_inbreeding": 0.25 / 0.1,
        "per_kinship": prospect.mating.kinship / 0.1,
        "per_caution": len(prospect.cautions),
    }
    assert worth["per_caution"] > 0
    weights = RankingWeights(**NOTHING | {name: 2})
    assert prospect.score(weights) == pytest.approx(prospect.showable - 2 * worth[name])


def test_cautions_are_those_of_the_pair_looked_up_alone(cast):
    made = found(cast.herd, [cast.wren, cast.tansy, cast.sorrel], [cast.bramble, cast.rook])
    for row in made.rows:
        for one in row:
            alone = mating_cautions(
                one.mating.sow,
                one.mating.boar,
                TOGETHER,
                Limits.of(cast.herd),
                inbreeding=one.mating.inbreeding,
            )
            assert one.cautions == alone


def rested(cast, sow):
    """She littered long enough ago to be mated again."""
    LitterFactory(herd=cast.herd, dam=sow, born=PartialDate(2026, 6, 1), source="home")


def test_what_may_hurt_stands_last_whatever_its_points(cast, selfs_and_boars):
    # the boar of two doses gives most; roan to roan he stands behind the self, who gives none
    sow, (one, none, two) = selfs_and_boars
    rested(cast, sow)
    for animal in (sow, two):
        Animal.objects.filter(pk=animal.pk).update(coat="red", coat_type="roan")
    ranked = found(cast.herd, [sow], [one, none, two]).ranked(RankingWeights(**NOTHING))
    assert [one.mating.boar for one in ranked] == [one, none, two]
    assert [caution.kind for caution in ranked[-1].grave] == ["roan-to-roan", "lethal-white"]
    assert ranked[-1].showable > ranked[0].showable
    assert not any(one.grave for one in ranked[:2])


def test_two_grave_cautions_stand_behind_one(cast, selfs_and_boars):
    """The sow has not littered in time; roan to roan besides, the best boar is the last."""
    sow, (one, none, two) = selfs_and_boars
    for animal in (sow, two):
        Animal.objects.filter(pk=animal.pk).update(coat="red", coat_type="roan")
    ranked = found(cast.herd, [sow], [one, none, two]).ranked(RankingWeights(**NOTHING))
    assert [one.mating.boar for one in ranked] == [one, none, two]
    assert all(one.of_sow[0].kind == "sow-late-first-litter" for one in ranked)


def test_every_caution_that_a_plan_leaves_out_at_first_is_grave():
    assert set(LEFT_OUT) == {code for code in SHORT if Caution(code, PAIR, "", "", "").is_grave}
    assert Caution("sow-young:7", SOW, "", "", "").is_grave


def test_lethal_whites_are_nowhere_counted_as_showable(cast, selfs_and_boars):
    # Mendel: of roan to roan a quarter, but for a slip in the records
    sow, boars = selfs_and_boars
    for animal in (sow, *boars):
        Animal.objects.filter(pk=animal.pk).update(coat="red", coat_type="roan")
    made = found(cast.herd, [sow], boars)
    stock = stock_of(
        cast.herd,
        Wishes(TOGETHER.first, TOGETHER.last, pens=9, sows_a_boar=9, left_out=()),
    )
    row = [one.pk for one in stock.sows].index(sow.pk)
    for prospect in made.rows[0]:
        mating = look_up(sow, prospect.mating.boar).mating
        colours = litter_colours(sow, prospect.mating.boar)
        lethal, _satin = risks_of_pair(sow, prospect.mating.boar, colours)
        assert lethal == pytest.approx(0.25, abs=0.02)
        alone = showable_pups(mating, made.outlook, lethal=lethal)
        assert alone == pytest.approx(made.outlook.showable(mating.one_dose_pups) * (1 - lethal))
        assert prospect.showable == pytest.approx(alone, abs=0.002)
        column = [one.pk for one in stock.boars].index(prospect.mating.boar.pk)
        assert stock.showable()[row, column] == pytest.approx(prospect.showable)
        alive = mating.size.expected * mating.chances[2] * (1 - made.outlook.lost.value)
        assert stock.expected(2)[row, column] == pytest.approx(alive * (1 - lethal), abs=0.002)


def test_a_large_book_goes_by_what_is_kept_of_each_animal(cast, selfs_and_boars, monkeypatch):
    sow, boars = selfs_and_boars
    for animal in (sow, boars[2]):
        animal.coat, animal.coat_type = "red", "roan"
    monkeypatch.setattr("genetics.colours.lethal_risks.AT_ONCE", 1)
    risks = risks_at_once([sow], boars)
    assert risks.lethal.tolist() == [[0, 0, 0.25]]
    assert risks_of_pair(sow, boars[2], None) == (0.25, 0)


def test_how_far_back_a_pair_is_known_is_that_of_the_parent_with_less(cast):
    (row,) = found(cast.herd, [cast.sorrel], [cast.rook, cast.bramble]).rows
    assert [one.mating.least_known.full_generations for one in row] == [1, 0]
    assert row[0].mating.least_known.completeness == pytest.approx(2 / 62)
    assert row[1].mating.dam_known == row[0].mating.dam_known
    assert row[0].mating.least_known.is_short


def test_a_pair_without_a_figure_comes_last(cast):
    for animal, dose in ((cast.bramble, 2), (cast.wren, 2), (cast.rook, 0)):
        given(animal, dose)
    stranger = AnimalFactory(herd=cast.herd, sex="boar")
    ranked = found(cast.herd, [cast.tansy], [cast.bramble, stranger]).ranked(
        RankingWeights.of(cast.herd)
    )
    assert [one.mating.boar for one in ranked] == [stranger, cast.bramble]
    assert ranked[1].showable is None


@pytest.mark.parametrize("count", [2, 20])
def test_many_pairs_cost_no_more_queries(cast, count, django_assert_max_num_queries):
    boars = AnimalFactory.create_batch(count, herd=cast.herd, sex="boar")
    ensure_current()
    rows = {row.pk: row for row in with_mating_records(Animal.objects.all())}
    mates = [rows[boar.pk] for boar in boars]
    with django_assert_max_num_queries(30):
        prospects(
            cast.herd, [rows[cast.wren.pk]], mates, TOGETHER, Limits(herd=cast.herd), on=TODAY
        )
