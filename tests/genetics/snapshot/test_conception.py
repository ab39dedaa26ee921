"""Which boars may be the sire, by who was there when the litter was conceived."""

import pytest

from genetics.figures.refresh import ensure_current
from genetics.snapshot.conception import KEPT_SHARE, conception_window
from genetics.snapshot.reading import read_book
from herdbook.book.models import Animal
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory

# Born on 1 September 2026: conceived 68 days before as a rule, on 25 June.
USUAL = PartialDate(2026, 6, 25)


def litter_of(cast, boars=(), **values):
    known = {"born": PartialDate(2026, 9, 1), "source": "home", **values}
    litter = LitterFactory(herd=cast.herd, dam=cast.wren, boars=list(boars), **known)
    AnimalFactory(herd=cast.herd, litter=litter, name="Teasel")
    return litter


def shares(litter):
    reading = read_book()
    read = reading.assumed.litters[reading.litter_keys.index(litter.pk)]
    return dict(zip((reading.keys[row] for row in read.sires), read.sire_weights, strict=True))


def test_it_works(cast):
    """Flint left two days before the usual day: fewer of the likely days were his."""
    Animal.objects.filter(pk=cast.flint.pk).update(left_on=PartialDate(2026, 6, 23))
    found = shares(litter_of(cast))
    assert set(found) == {cast.bramble.pk, cast.rook.pk, cast.flint.pk}
    assert found[cast.bramble.pk] == pytest.approx(found[cast.rook.pk])
    # Normal around the usual day with a deviation of two days: up to day -2, by half days -1.5.
    assert found[cast.flint.pk] / found[cast.bramble.pk] == pytest.approx(0.2266, abs=0.01)


def test_the_days_written_for_the_boar_count(cast):
    """Only Bramble was still there when a boar was with her."""
    for gone in (cast.flint, cast.rook):
        Animal.objects.filter(pk=gone.pk).update(left_on=PartialDate(2026, 6, 23))
    found = shares(litter_of(cast, boar_in=USUAL))
    assert found == {cast.bramble.pk: 1.0}


def test_a_boar_is_there_until_the_last_day_that_his_leaving_can_mean(cast):
    for boar, left in ((cast.flint, PartialDate(2026, 6)), (cast.rook, PartialDate(2026, 6, 30))):
        Animal.objects.filter(pk=boar.pk).update(left_on=left)
    found = shares(litter_of(cast))
    assert found[cast.flint.pk] == pytest.approx(found[cast.rook.pk])


def test_a_written_boar_stays_one_whatever_the_dates_say(cast):
    Animal.objects.filter(pk=cast.flint.pk).update(left_on=PartialDate(2026, 1, 1))
    found = shares(litter_of(cast, [cast.bramble, cast.flint]))
    assert found[cast.flint.pk] == pytest.approx(KEPT_SHARE / (1 + KEPT_SHARE))


def test_one_written_boar_is_left_alone(cast):
    Animal.objects.filter(pk=cast.flint.pk).update(left_on=PartialDate(2026, 1, 1))
    assert shares(litter_of(cast, [cast.flint])) == {cast.flint.pk: 1.0}


def test_a_boar_of_another_herd_counts_as_there(cast, other_herd):
    visitor = AnimalFactory(herd=other_herd[1], sex="boar")
    found = shares(litter_of(cast, [cast.bramble, visitor]))
    assert found[visitor.pk] == pytest.approx(0.5)


def test_a_birth_known_to_the_month_widens_the_window(cast):
    window = conception_window(litter_of(cast, born=PartialDate(2026, 9)))
    assert len(window.chances) == 15 + 29
    assert window.chances.sum() == pytest.approx(1)


def test_a_litter_from_paper_has_none(cast):
    assert conception_window(litter_of(cast, source="paper")) is None


@pytest.mark.parametrize("litters", [1, 2, 3])
def test_no_boar_is_taken_for_the_sire_of_whom_he_may_come_from(cast, litters):
    """Of 2025 no more is known than the year: a pup of January could be a sire of December."""
    own = [litter_of(cast, born=PartialDate(2025)) for _ in range(litters)]
    Animal.objects.filter(litter__in=own).update(sex="boar")
    standing = ensure_current()
    assert standing.troubles == ()
    assert all(set(shares(litter)) == {cast.bramble.pk, cast.flint.pk} for litter in own)


def test_a_boar_of_another_litter_of_that_year_stays_where_he_closes_no_circle(cast):
    of_the_year = litter_of(cast, born=PartialDate(2025))
    son = AnimalFactory(herd=cast.herd, litter__born=PartialDate(2025), sex="boar")
    assert set(shares(of_the_year)) == {cast.bramble.pk, cast.flint.pk, son.pk}


def test_young_of_a_pup_is_not_taken_for_its_sire(cast):
    """Nobody knows when the pup's son was born."""
    litter = litter_of(cast)
    pup = Animal.objects.get(litter=litter)
    his = LitterFactory(herd=cast.herd, dam=pup, born=None, source="paper")
    AnimalFactory(herd=cast.herd, litter=his, sex="boar")
    assert set(shares(litter)) == {cast.bramble.pk, cast.flint.pk, cast.rook.pk}
