"""Pages of a herd of thousands: so many pairs, boxes and rows at a time, and a word on the rest."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from herdbook.book.models import Animal, Litter
from herdbook.book.partial_date import PartialDate
from herdbook.pages.litters.forms import LitterForm
from herdbook.pages.matings import grid

GRID = "/matings/grid/"
OF_EACH_SEX = 1500


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


@pytest.fixture
def herd(owner_client, cast, monkeypatch):
    """The herd of the cast with so many more boars and sows, a year old and of no known parent."""
    monkeypatch.setattr(grid, "ensure_current", lambda: None)
    litters = Litter.objects.bulk_create(
        Litter(herd=cast.herd, born=PartialDate(2025, 10, 1), source="paper")
        for _ in range(2 * OF_EACH_SEX)
    )
    Animal.objects.bulk_create(
        Animal(
            herd=cast.herd,
            litter=litter,
            sex="boar" if place % 2 else "sow",
            name=f"Many {place // 2:04}",
            number=str(5000 + place),
            state="in_herd",
        )
        for place, litter in enumerate(litters)
    )
    return cast.herd


def asked(client, address, **values):
    with CaptureQueriesContext(connection) as queries:
        response = client.get(address, values)
    assert response.status_code == 200
    return response.content.decode(), len(queries)


def words(page):
    return re.sub(r"(<[^>]+>|\s)+", " ", page)


@pytest.mark.slow
def test_it_works(owner_client, herd):
    page, queries = asked(owner_client, GRID)
    sows = Animal.objects.filter(herd=herd, sex="sow", state="in_herd").count()
    assert f"These are sows 1 to 120 of {sows} and boars 1 to 40 of" in words(page)
    assert queries <= 60
    assert len(page) < 2_000_000


@pytest.mark.slow
def test_every_pair_is_on_a_page(owner_client, herd):
    page, _ = asked(owner_client, GRID, sows=2, boars=3, boar_in="2026-12-01")
    assert "These are sows 121 to 240 of" in words(page)
    assert "boars 81 to 120 of" in words(page)
    assert "?sows=3&amp;boars=3&amp;boar_in=2026-12-01" in page
    assert "Previous boars" in page


@pytest.mark.slow
def test_a_page_that_is_not_there_is_the_last(owner_client, herd):
    page, _ = asked(owner_client, GRID, sows="999", boars="x")
    assert "Next sows" not in page
    assert "boars 1 to 40 of" in words(page)


def boxes(page, name):
    return len(re.findall(rf'type="checkbox" name="{name}"', page))


def test_a_litter_offers_the_likeliest_boars_and_names_the_rest(owner_client, herd):
    page, queries = asked(owner_client, "/litters/new/")
    assert boxes(page, "boars") == 40
    assert re.search(r"1[45]\d\d more boars are not listed", words(page))
    assert queries <= 30


def test_a_season_offers_the_sows_that_littered_last(owner_client, herd):
    mother = Animal.objects.filter(herd=herd, sex="sow").last()
    Litter.objects.create(herd=herd, dam=mother, born=PartialDate(2026, 11, 1))
    page, queries = asked(owner_client, "/season/")
    assert boxes(page, "resting") == 100
    assert str(mother.public_id) in page
    assert re.search(r"1[34]\d\d more sows are not listed", words(page))
    assert queries <= 40


def test_a_boar_without_a_box_is_sent_all_the_same(owner_client, herd):
    boar = Animal.objects.filter(herd=herd, sex="boar").order_by("-pk").first()
    form = LitterForm({"boars": [str(boar.public_id)]}, herd=herd)
    form.is_valid()
    assert list(form.cleaned_data["boars"]) == [boar]
    assert str(boar.public_id) in [value for value, _ in form.fields["boars"].choices]


def test_a_small_herd_has_no_pages(owner_client, cast):
    page, _ = asked(owner_client, GRID)
    assert "These are sows" not in page
