"""The herd's own litters beside Mendel: which pups count, and how picked ones are weighed."""

import datetime

import pytest

from genetics.calibration.segregation import crosses_of
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory, LookFactory

BORN = PartialDate(2026, 1, 1)
GROWN = datetime.date(2026, 7, 1)
BLACK, CHOCOLATE = {"point_colour": "black"}, {"point_colour": "chocolate"}


@pytest.fixture
def animal(cast):
    def make(sex="boar", litter=None, **values):
        born = {"litter": litter} if litter else {}
        return AnimalFactory(herd=cast.herd, sex=sex, **born, **values)

    return make


@pytest.fixture
def litter(cast, animal):
    """`litter(sire, dam, *pups)`: a litter of these looks."""

    def make(sire, dam, *pups):
        born = LitterFactory(herd=cast.herd, dam=dam, boars=[sire], born=BORN, source="home")
        return [animal(litter=born, **pup) for pup in pups]

    return make


def crosses(cast, gene):
    return {
        (cross.parents, cross.picked): cross
        for cross in crosses_of(cast.herd)
        if cross.gene == gene
    }


def test_it_works(cast, animal, litter):
    # a black boar of a chocolate dam is a proved carrier: to a chocolate sow, one to one
    dam = animal("sow", **CHOCOLATE)
    (boar,) = litter(animal(**BLACK), dam, BLACK)
    boar.sex = "boar"
    boar.save()
    litter(boar, animal("sow", **CHOCOLATE), BLACK, BLACK, CHOCOLATE)
    cross = crosses(cast, "chocolate")[("carrier", "shows"), False]
    assert cross.matings == 1
    assert cross.classes == ("no chocolate", "chocolate")
    assert cross.fit.counts == (2, 1)
    assert cross.fit.expected == (1.5, 1.5)


def test_parents_that_only_their_pups_prove_are_weighed_as_picked(cast, animal, litter):
    litter(animal(**BLACK), animal("sow", **BLACK), BLACK, CHOCOLATE)
    litter(animal(**BLACK), animal("sow", **BLACK), BLACK, BLACK)
    cross = crosses(cast, "chocolate")[("carrier", "carrier"), True]
    assert cross.matings == 1, "the second pair may carry nothing"
    assert cross.fit.counts == (1, 1)
    assert cross.fit.expected[1] == pytest.approx(1.1429, abs=1e-4)


def test_pups_by_another_mate_prove_a_carrier(cast, animal, litter):
    boar, first, second = animal(**BLACK), animal("sow", **CHOCOLATE), animal("sow", **CHOCOLATE)
    litter(boar, first, CHOCOLATE)
    litter(boar, second, BLACK, BLACK)
    found = crosses(cast, "chocolate")
    assert found[("carrier", "shows"), False].fit.counts == (2, 0)
    assert found[("carrier", "shows"), True].fit.counts == (0, 1)


def test_what_cannot_be(cast, animal, litter):
    litter(animal(**CHOCOLATE), animal("sow", **CHOCOLATE), BLACK, CHOCOLATE)
    assert crosses(cast, "chocolate")[("shows", "shows"), False].fit.cannot_be


def test_points_are_those_of_grown_looks(cast, animal, litter):
    boar, sow = (
        animal(sex, LitterFactory(herd=cast.herd, born=PartialDate(2024)), coat="red")
        for sex in ("boar", "sow")
    )
    pups = litter(boar, sow, *[{"coat": "red"}] * 4)
    for one, stage in zip(
        (boar, sow, *pups), ("full", "full", "none", "full", "overmarked", "coming"), strict=True
    ):
        LookFactory(animal=one, on=GROWN, stage=stage)
    cross = crosses(cast, "points")[("marked", "marked"), False]
    assert cross.fit.counts == (1, 1, 1)
    assert cross.fit.expected == pytest.approx((0.75, 1.5, 0.75))


def test_roan_to_roan_counts_those_that_live(cast, animal, litter):
    roan, plain = ({"coat": "black", "coat_type": word} for word in ("roan", "plain"))
    lethal = {"coat": "lethal"}  # often lost before it is written, so those that are do not count
    litter(animal(**roan), animal("sow", **roan), roan, roan, plain, lethal)
    cross = crosses(cast, "roan")[("roan", "roan"), False]
    assert cross.fit.counts == (1, 2, 0)
    assert cross.fit.expected == pytest.approx((1, 2, 0))


def test_a_litter_of_several_possible_sires_says_nothing(cast, animal, litter):
    sow, boars = animal("sow", **CHOCOLATE), [animal(**CHOCOLATE), animal(**BLACK)]
    born = LitterFactory(herd=cast.herd, dam=sow, boars=boars, born=BORN, source="home")
    animal(litter=born, **CHOCOLATE)
    assert crosses(cast, "chocolate") == {}


def test_another_herds_pups_are_not_counted(cast, other_herd, animal, litter):
    litter(animal(**CHOCOLATE), animal("sow", **CHOCOLATE), CHOCOLATE)
    assert crosses_of(other_herd[1]) == ()
