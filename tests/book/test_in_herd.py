"""Which animals lived in the herd on a day, where a date may be known to the month or the year."""

from datetime import date

import pytest

from herdbook.book.models import Animal
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory

JUNE_10 = date(2026, 6, 10)


def is_there(herd, on=JUNE_10, **values):
    animal = AnimalFactory(herd=herd, **values)
    return Animal.objects.in_herd(on=on).filter(pk=animal.pk).exists()


def test_it_works(cast):
    assert is_there(cast.herd, state="in_herd")
    assert not is_there(cast.herd, state="paper")
    assert not is_there(cast.herd, state="sold")


@pytest.mark.parametrize(
    ("left", "there"),
    [
        (PartialDate(2026, 6, 11), True),
        (PartialDate(2026, 6, 10), False),
        (PartialDate(2026, 7), True),
        (PartialDate(2026, 6), True),
        (PartialDate(2026, 5), False),
        (PartialDate(2026), True),
        (PartialDate(2025), False),
    ],
)
def test_it_is_there_until_the_last_day_that_its_leaving_can_mean(left, there, cast):
    assert is_there(cast.herd, state="sold", left_on=left) is there


@pytest.mark.parametrize(
    ("came", "there"),
    [
        (PartialDate(2026, 6, 10), True),
        (PartialDate(2026, 6, 11), False),
        (PartialDate(2026, 6), True),
        (PartialDate(2026, 7), False),
        (PartialDate(2026), True),
    ],
)
def test_it_is_there_from_the_first_day_that_its_coming_can_mean(came, there, cast):
    assert is_there(cast.herd, came_on=came) is there
