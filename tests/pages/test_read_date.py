"""A date is read as breeders write it, and as the pages print it."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.utils.formats import date_format

from herdbook.book.partial_date import PartialDate
from herdbook.pages.common.fields import PartialDateFormField


def read(text):
    return str(PartialDateFormField().clean(text))


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("24 Nov 2026", "2026-11-24"),
        ("24 November 2026", "2026-11-24"),
        (" 24  nov. 2026 ", "2026-11-24"),
        ("4 SEPT 2026", "2026-09-04"),
        ("24-11-2026", "2026-11-24"),
        ("24-Nov-2026", "2026-11-24"),
        ("24/11/2026", "2026-11-24"),
        ("3.4.2026", "2026-04-03"),
        ("Nov 2026", "2026-11"),
        ("November 2026", "2026-11"),
        ("11-2026", "2026-11"),
        ("3/2026", "2026-03"),
        ("2026-11-24", "2026-11-24"),
        ("2026-11", "2026-11"),
        ("2026", "2026"),
    ],
)
def test_it_works(text, day):
    assert read(text) == day


@pytest.mark.parametrize("month", range(1, 13))
def test_what_a_page_prints_can_be_typed(month):
    day = PartialDate(2026, month, 9)
    assert read(day.words()) == str(day)
    assert read(PartialDate(2026, month).words()) == f"2026-{month:02d}"
    assert read(date_format(datetime.date(2026, month, 9), "j M Y")) == str(day)


@pytest.mark.parametrize(
    "text",
    [
        "yesterday",
        "31 Nov 2026",
        "24 Nov",
        "24 Nov 26",
        "24-11-26",
        "Nov 24 2026",
        "24 Ma 2026",
        "1 2 3 2026",
        "2026 Nov 24",
        "11/24/2026",
        "²4 Nov 2026",
    ],
)
def test_it_refuses_what_may_mean_two_days_or_none(text):
    with pytest.raises(ValidationError, match="Could not read the date “.*”. Try 10 Sep 2026"):
        read(text)
