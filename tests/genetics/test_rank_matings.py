"""Matings set beside each other by the breeder's own weights."""

from datetime import date, timedelta

import pytest

from genetics.figures import bring_up_to_date
from genetics.ranking import prospects
from herdbook.book.cautions import TimeTogether
from herdbook.book.models import Animal, GivenEvidence, Limits, RankingWeights
from herdbook.book.rules.matings import mating_cautions, with_mating_records
from tests.factories import AnimalFactory, LitterFactory

TODAY = date(2026, 11, 25)
TOGETHER = TimeTogether(TODAY, TODAY + timedelta(days=17))
NOTHING = {"per_inbreeding": 0, "per_kinship": 0, "per_caution": 0}


def given(animal, dose):
    share = {f"like{number}": float(number == dose) for number in range(3)}
    GivenEvidence.objects.create(herd=animal.herd, animal=animal, **share)


def found(herd, sows, boars):
    bring_up_to_date()
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
    assert prospect.points(weights) == pytest.approx(prospect.showable - 2 * worth[name])


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
    bring_up_to_date()
    rows = {row.pk: row for row in with_mating_records(Animal.objects.all())}
    mates = [rows[boar.pk] for boar in boars]
    with django_assert_max_num_queries(18):
        prospects(
            cast.herd, [rows[cast.wren.pk]], mates, TOGETHER, Limits(herd=cast.herd), on=TODAY
        )
