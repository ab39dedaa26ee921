"""Which of several boars is the sire, by what is written of colours."""

import pytest

from genetics.figures import refresh
from genetics.figures.refresh import ensure_current
from genetics.figures.sire_odds import colour_odds
from genetics.snapshot.reading import read_book
from herdbook.book.models import Animal
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory


@pytest.fixture
def litter(cast):
    """Wren, chocolate, had pups by Bramble, chocolate, or by Flint, black."""
    for animal, colour in ((cast.wren, "chocolate"), (cast.bramble, "chocolate")):
        Animal.objects.filter(pk=animal.pk).update(point_colour=colour)
    Animal.objects.filter(pk=cast.flint.pk).update(point_colour="black")
    return LitterFactory(
        herd=cast.herd, dam=cast.wren, boars=[cast.bramble, cast.flint], born=PartialDate(2026, 9)
    )


def pups_of(litter, *colours):
    return [AnimalFactory(herd=litter.herd, litter=litter, point_colour=one) for one in colours]


def share(litter, boar):
    return litter.sire_shares.get(boar=boar).share


def test_it_works(cast, litter):
    """Black pups of a chocolate sow are hardly by a chocolate boar."""
    pups_of(litter, "black", "black")
    ensure_current()
    assert share(litter, cast.flint) > 0.9


def test_chocolate_pups_speak_for_the_chocolate_boar(cast, litter):
    """By Bramble each is chocolate. Flint, black, has one b with 0.85 x 0.15 x 2 / (1 - 0.15^2),
    and then a half are: by Hardy and Weinberg at the table's frequency, errors of writing left
    out."""
    pups_of(litter, "chocolate")
    odds = colour_odds(read_book(colours={}), errors=0.0)[litter.pk]
    carrier = 2 * 0.85 * 0.15 / (1 - 0.15**2)
    assert odds[cast.bramble.pk] == 1
    assert odds[cast.flint.pk] == pytest.approx(carrier / 2, abs=0.05)


def test_without_colours_nothing_is_said(cast, litter):
    (pup,) = pups_of(litter, "")
    Animal.objects.filter(pk=pup.pk).update(coat="", eye_colour="")
    assert colour_odds(read_book(colours={}), errors=0.01) == {}


def test_a_reading_goes_by_what_was_worked_out_with_the_figures(cast, litter, monkeypatch):
    """Look-ups read the book again: colours are not worked out again for each."""
    pups_of(litter, "black", "black")
    ensure_current()
    monkeypatch.setattr(refresh, "colour_odds", None)
    reading = read_book()
    weights = reading.assumed.litters[reading.litter_keys.index(litter.pk)].sire_weights
    assert weights[1] > 0.9


def test_it_costs_nothing_where_every_sire_is_certain(cast, django_assert_num_queries):
    reading = read_book(colours={})
    with django_assert_num_queries(0):
        assert colour_odds(reading, errors=0.01) == {}
