"""Ages, chances and coefficients in words."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from herdbook.book.models import Animal, Litter
from herdbook.book.partial_date import PartialDate
from herdbook.pages.common.formatting import age_of, chance, coefficient, span, uncertain

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("start", "words"),
    [
        (date(2026, 11, 25), "0 days"),
        (date(2026, 11, 24), "1 day"),
        (date(2026, 11, 16), "9 days"),
        (date(2026, 11, 11), "2 weeks"),
        (date(2026, 10, 7), "7 weeks"),
        (date(2026, 8, 26), "13 weeks"),
        (date(2026, 8, 25), "3 months"),
        (date(2026, 6, 25), "5 months"),
        (date(2024, 11, 26), "23 months"),
        (date(2024, 11, 25), "2 years"),
        (date(2024, 8, 25), "2 years 3 months"),
        (date(2023, 10, 25), "3 years 1 month"),
    ],
)
def test_an_age_is_said_in_its_largest_fitting_unit(start, words):
    assert span(start, TODAY) == words


def animal(born, **values):
    return Animal(litter=Litter(born=born and PartialDate.parse(born)), **values)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        (animal("2026-10-07"), "7 weeks"),
        (animal("2026-03"), "about 8 months"),
        (animal("2024"), "about 2 years 4 months"),
        (animal(None), ""),
        (animal("2026-12"), ""),
        (animal("2024-08-25", state="died", left_on=PartialDate(2024, 9, 3)), "9 days"),
        (animal("2024-08-25", state="died"), ""),
        (animal("2024-08-25", state="sold", left_on=PartialDate(2024, 9, 3)), "2 years 3 months"),
    ],
)
def test_an_age_says_what_is_known_of_it(written, words):
    assert age_of(written, TODAY) == words


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (None, ""),
        (0.0, "0%"),
        (0.0004, "under 0.1%"),
        (0.006, "0.6%"),
        (0.5, "50%"),
        (0.99, "99%"),
        (0.996, "99.6%"),
        (0.678, "68%"),
        (0.2499, "25%"),
        (0.98999, "99%"),
        (0.9899, "99%"),
        (0.0096, "1.0%"),
        (0.99999, "over 99.9%"),
        (1.0, "100%"),
    ],
)
def test_a_chance_is_said_as_a_percentage(share, words):
    assert chance(share) == words


@given(st.floats(min_value=0, max_value=1, exclude_min=True, exclude_max=True))
def test_what_is_not_certain_never_reads_as_certain(share):
    assert chance(share) not in ("0%", "0.0%", "100%", "100.0%")


def test_what_the_machine_rounds_to_one_is_not_certain():
    assert [chance(share) for share in uncertain((2e-20, 1.0, 1e-18))] == [
        "under 0.1%",
        "over 99.9%",
        "under 0.1%",
    ]
    assert uncertain((0.0, 1.0, 0.0)) == (0.0, 1.0, 0.0)


def test_inbreeding_has_the_places_that_breeders_write():
    shares = (None, 0.0, 0.00001, 0.125, 0.25, 3 / 32, 1 / 64, 1 / 32)
    assert [coefficient(share) for share in shares] == [
        "",
        "0%",
        "under 0.01%",
        "12.5%",
        "25%",
        "9.38%",
        "1.56%",
        "3.13%",
    ]
