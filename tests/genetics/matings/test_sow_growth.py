"""The growth curve of a herd's sows, and which sow is light for her age."""

from datetime import date, timedelta

import pytest

from genetics.matings.sow_growth import FEWEST_SOWS, growth_of_sows
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.mating_cautions import TimeTogether
from tests.factories import AnimalFactory, LitterFactory, WeighingFactory

BORN = date(2026, 1, 1)
AGES = (21, 60, 90, 120, 180)


def grown(age):
    """Grams at an age, for the tests alone."""
    return round(900 / (1 + 2.718281828 ** (-0.03 * (age - 60))))


def sow(herd, size=1.0, ages=AGES):
    litter = LitterFactory(herd=herd, born=PartialDate.of(BORN), source="paper")
    made = AnimalFactory(herd=herd, sex="sow", litter=litter)
    for age in ages:
        weight = round(size * grown(age))
        WeighingFactory(animal=made, on=BORN + timedelta(days=age), weight_g=weight)
    return made


@pytest.fixture
def sows(cast):
    """Nine sows from 8 per cent below the middle to 8 above it."""
    return [sow(cast.herd, 1 + 0.02 * step) for step in range(-4, 5)]


def test_it_works(cast, sows):
    growth = growth_of_sows(cast.herd)
    assert (growth.weighings, growth.sows) == (45, 9)
    light = sow(cast.herd, 0.8, ages=[120])
    together = TimeTogether(BORN + timedelta(days=125), BORN + timedelta(days=140))
    lightest = growth.lightest(light, together)
    assert lightest.usual_g == pytest.approx(grown(120), rel=0.02)
    assert 0.86 * grown(120) < lightest.grams < 0.95 * grown(120)
    assert lightest.grams > light.weighings.get().weight_g


def test_too_few_make_no_curve(cast):
    for _ in range(FEWEST_SOWS - 1):
        sow(cast.herd, ages=range(20, 190, 10))
    assert growth_of_sows(cast.herd) is None
    sow(cast.herd, ages=[100])
    assert growth_of_sows(cast.herd) is not None


def test_sows_all_weighed_at_one_age_make_no_curve(cast):
    for _ in range(10):
        sow(cast.herd, ages=[60] * 5)
    assert growth_of_sows(cast.herd) is None


def test_sows_in_pig_boars_and_other_herds_are_left_out(cast, sows, other_herd):
    before = growth_of_sows(cast.herd)
    carrying = sow(cast.herd, 2, ages=[])
    born = BORN + timedelta(days=190)
    LitterFactory(herd=cast.herd, dam=carrying, born=PartialDate.of(born))
    for age in (117, 150, 190):
        WeighingFactory(animal=carrying, on=BORN + timedelta(days=age), weight_g=1500)
    boar = AnimalFactory(herd=cast.herd, sex="boar", litter=carrying.litter)
    WeighingFactory(animal=boar, on=born, weight_g=1500)
    sow(other_herd[1], 2)
    assert growth_of_sows(cast.herd) == before
    WeighingFactory(animal=carrying, on=BORN + timedelta(days=116), weight_g=1500)
    assert growth_of_sows(cast.herd).weighings == before.weighings + 1


def test_a_sow_older_than_any_that_was_weighed_is_not_compared(cast, sows):
    growth = growth_of_sows(cast.herd)
    old = sow(cast.herd, 0.5, ages=[])
    WeighingFactory(animal=old, on=BORN + timedelta(days=300), weight_g=400)
    together = TimeTogether(BORN + timedelta(days=301), BORN + timedelta(days=310))
    assert growth.lightest(old, together) is None
    assert growth.lightest(cast.wren, together) is None
