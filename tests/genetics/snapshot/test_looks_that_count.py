"""Which looks say something of a dose beside what a founder was bought as."""

from datetime import date, timedelta

import pytest

from genetics.snapshot.reading import BOUGHT_ON_DAYS, looks_that_count
from herdbook.book.models import Animal, Litter, Look
from herdbook.book.partial_date import PartialDate

BORN, CAME = date(2025, 1, 1), date(2026, 1, 1)
ON_THAT_DAY = PartialDate.of(CAME)


def counted(*days, founder=True, came_on=ON_THAT_DAY, bought_as="marked"):
    """The days after it came of those of its looks that count."""
    animal = Animal(
        litter=Litter(born=PartialDate.of(BORN)), coat="white", bought_as=bought_as, came_on=came_on
    )
    looks = [Look(on=CAME + timedelta(days=one), stage="full") for one in days]
    seen = looks_that_count(animal, looks, founder=founder)
    return [look.age_days - (CAME - BORN).days for look in seen]


def test_it_works():
    assert counted(100, 200) == [100, 200]


@pytest.mark.parametrize("day", [-1, 0, 1, BOUGHT_ON_DAYS])
def test_the_look_that_it_was_bought_on_does_not_count_again(day):
    assert counted(day, 100) == [100]


def test_a_look_after_the_first_fortnight_counts():
    assert counted(BOUGHT_ON_DAYS + 1) == [BOUGHT_ON_DAYS + 1]


def test_the_first_look_is_that_one_where_nobody_wrote_when_it_came():
    assert counted(20, 100, came_on=None) == [100]


def test_it_may_have_come_on_the_last_day_that_the_date_can_mean():
    assert counted(30, 31 + BOUGHT_ON_DAYS, came_on=PartialDate(2026, 1)) == [31 + BOUGHT_ON_DAYS]


@pytest.mark.parametrize("values", [{"bought_as": ""}, {"founder": False}])
def test_each_look_counts_of_one_bought_as_nothing_or_with_known_parents(values):
    assert counted(0, 100, **values) == [0, 100]
