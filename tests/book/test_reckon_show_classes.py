"""Show classes by age, and when to pair for one."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from herdbook.book.formatting import whole_months
from herdbook.book.models import Limits
from herdbook.book.rules.mating_cautions import TimeTogether
from herdbook.book.rules.shows import (
    Days,
    ShowClass,
    births_for,
    class_on,
    class_words,
    entries_after,
    months_after,
    pairing_for,
)

LIMITS = Limits()
days = st.dates(date(2020, 1, 1), date(2040, 12, 31))


def test_it_works():
    # the classes are common practice, no source: under 5 months, 5 to 8 months, adult
    pairing = pairing_for(ShowClass.MIDDLE, date(2027, 9, 18), LIMITS)
    assert pairing.births == Days(date(2027, 1, 19), date(2027, 4, 18))
    # born 19 January after 59 days: conceived 21 November; born 18 April after 73: 4 February
    assert pairing.surely == Days(date(2026, 11, 21), date(2027, 2, 4))
    assert pairing.usually == Days(date(2026, 11, 12), date(2027, 2, 9))
    assert pairing.possibly == Days(date(2026, 11, 7), date(2027, 2, 18))


def test_adults_may_be_born_at_any_time_before():
    pairing = pairing_for(ShowClass.ADULT, date(2027, 9, 18), LIMITS)
    assert pairing.births == Days(None, date(2027, 1, 18))
    assert pairing.surely == Days(None, date(2026, 11, 6))


def test_a_window_shorter_than_gestation_varies_is_sure_of_nothing():
    narrow = Limits(show_young_under_months=8, show_adult_from_months=8)
    assert pairing_for(ShowClass.MIDDLE, date(2027, 9, 18), narrow).surely is None


@pytest.mark.parametrize(
    ("born", "wanted"),
    [
        (date(2026, 3, 15), "young"),  # five months old tomorrow
        (date(2026, 3, 14), "middle"),
        (date(2025, 12, 15), "middle"),
        (date(2025, 12, 14), "adult"),
        (date(2026, 5, 14), "young"),
        (date(2026, 5, 15), None),  # three months old tomorrow: too young to be shown
    ],
)
def test_the_class_of_an_animal(born, wanted):
    assert class_on(born, date(2026, 8, 14), LIMITS) == wanted


def test_the_ages_are_the_herds_own():
    limits = Limits(show_young_under_months=4, show_adult_from_months=9)
    assert class_on(date(2026, 4, 14), date(2026, 8, 14), limits) == "middle"
    assert [class_words(one, limits) for one in ShowClass] == [
        "under 4 months",
        "4 to 9 months",
        "adult (from 9 months)",
    ]


def test_a_litter_to_come_and_its_classes():
    # the boar in from 1 January to 18 January 2026: due 1 March to 1 April
    young, middle, adult = entries_after(TimeTogether(date(2026, 1, 1), date(2026, 1, 18)), LIMITS)
    assert young.some == Days(date(2026, 6, 1), date(2026, 8, 31))
    assert young.every == Days(date(2026, 7, 1), date(2026, 7, 31))
    assert middle.some == Days(date(2026, 8, 1), date(2026, 11, 30))
    assert adult.some == Days(date(2026, 11, 1), None)
    assert adult.every == Days(date(2026, 12, 1), None)


def test_a_boar_that_stays_for_months_leaves_no_day_that_is_sure():
    young, *_ = entries_after(TimeTogether(date(2026, 1, 1), date(2026, 4, 1)), LIMITS)
    assert young.every is None


@given(born=days, months=st.integers(0, 40))
def test_a_day_before_so_many_months_it_is_younger(born, months):
    # against the count of months that pages say an age in
    day = months_after(born, months)
    assert whole_months(born, day) == months
    assert whole_months(born, day - timedelta(days=1)) < months


@given(born=days, day=days)
def test_classes_and_the_births_for_them_agree(born, day):
    found = class_on(born, day, LIMITS)
    months = whole_months(born, day)
    if born > day or months < 3:
        assert found is None
    else:
        assert found == ("young" if months < 5 else "middle" if months < 8 else "adult")
    assert [one for one in ShowClass if births_for(one, day, LIMITS).holds(born)] == (
        [found] if found else []
    )


@given(mated=days, carried=st.integers(59, 73), show=days)
def test_both_ways_round_agree(mated, carried, show):
    born = mated + timedelta(days=carried)
    for entry in entries_after(TimeTogether(mated, mated), LIMITS):
        pairing = pairing_for(entry.show_class, show, LIMITS)
        is_in = class_on(born, show, LIMITS) == entry.show_class
        if is_in:
            assert entry.some.holds(show)
            assert pairing.possibly.holds(mated)
        if entry.every and entry.every.holds(show):
            assert is_in
        if pairing.surely and pairing.surely.holds(mated):
            assert is_in
        if carried == 68:
            assert pairing.usually.holds(mated) == is_in
