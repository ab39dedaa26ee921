"""The list of animals: sorted, filtered, searched, a hundred a page."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from genetics.figures.refresh import Freshness
from genetics.models import Figure
from herdbook.book.partial_date import PartialDate
from herdbook.pages.animals.filters import AGE_BANDS
from tests.factories import AnimalFactory, LitterFactory

PAGE = "/animals/"
pytestmark = pytest.mark.usefixtures("today")


def text(response):
    return response.content.decode()


def names(response):
    """The animals shown, in order."""
    return [
        name.removeprefix("Thornmoor ")
        for name in re.findall(
            r'<th scope="row"[^>]*><a[^>]*>([^<]*)</a>', response.content.decode()
        )
    ]


def found(response):
    return int(re.search(r'id="count"[^>]*>(\d+) animal', response.content.decode())[1])


def born(herd, *dates, **values):
    """An animal of its own litter for each date, named by it."""
    return [
        AnimalFactory(
            herd=herd,
            name=str(date),
            litter=LitterFactory(herd=herd, born=date and PartialDate.parse(date), source="paper"),
            **values,
        )
        for date in dates
    ]


def test_it_works(owner_client, cast):
    response = owner_client.get(PAGE)
    assert names(response) == ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"]
    assert found(response) == 5
    row = response.content.decode().split(cast.rook.get_absolute_url())[1].split("</tr>")[0]
    assert "8 months" in row
    assert "clean marked" in row


def test_those_who_left_are_found_where_they_are(owner_client):
    assert names(owner_client.get(PAGE, {"state": "on_loan"})) == ["Flint"]
    assert "Flint" in names(owner_client.get(PAGE, {"state": "any"}))


def test_a_search_says_what_there_is_elsewhere(owner_client):
    response = owner_client.get(PAGE, {"words": "flint"})
    assert found(response) == 0
    assert "1 more animal matches elsewhere" in response.content.decode()
    assert 'href="?words=flint&amp;state=any"' in response.content.decode()


def test_a_search_for_more_words_than_a_name_has_finds_none(owner_client):
    response = owner_client.get(PAGE, {"words": " ".join(f"rook{place}" for place in range(1200))})
    assert response.status_code == 200
    assert names(response) == []


@pytest.mark.parametrize("words", ["rook", "ROOK thorn", "rôók", "5"])
def test_it_is_searched_by_any_word_of_name_or_number(words, owner_client, cast):
    assert names(owner_client.get(PAGE, {"words": words})) == ["Rook"]


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ({"sex": "boar"}, ["Bramble", "Rook"]),
        ({"sex": "sow"}, ["Sorrel", "Tansy", "Wren"]),
        ({"sex": "unsexed"}, []),
        ({"coat": "white"}, ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"]),
        ({"coat": "unwritten"}, []),
        ({"sex": "sow", "words": "w"}, ["Wren"]),
        (
            {"sex": "no such sex", "state": "nowhere"},
            ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"],
        ),
    ],
)
def test_it_is_filtered(asked, shown, owner_client):
    assert names(owner_client.get(PAGE, asked)) == shown


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ("0", ["Wren"]),
        ("1", ["Rook", "Sorrel", "Tansy"]),
        ("2", ["Bramble"]),
    ],
)
def test_it_is_filtered_by_the_likely_dose(asked, shown, owner_client):
    assert names(owner_client.get(PAGE, {"dose": asked})) == shown


def test_the_unsettled_are_those_of_whom_no_dose_is_proved(owner_client, cast):
    owner_client.get(PAGE)
    Figure.objects.filter(animal=cast.wren).update(dose0=0.995, dose1=0.005, dose2=0)
    Figure.objects.filter(animal=cast.tansy).update(dose0=0.02, dose1=0.98, dose2=0)
    Figure.objects.filter(animal=cast.rook).update(dose0=0.004, dose1=0.99, dose2=0.006)
    Figure.objects.filter(animal=cast.sorrel).update(dose0=None, dose1=None, dose2=None)
    Figure.objects.filter(animal=cast.bramble).update(dose0=0, dose1=0.001, dose2=0.999)
    assert names(owner_client.get(PAGE, {"dose": "open"})) == ["Sorrel", "Tansy"]


def test_it_is_filtered_by_age(owner_client, cast):
    # Three weeks are 21 days, five months 152.
    # Of a month or a year the middle counts: of 2026-11 the 16th, of 2022 the 2nd of July.
    born(cast.herd, "2026-11", "2026-11-04", "2026-11-05", "2026-06-27", "2026-06-26", "2022", None)
    shown = {band: names(owner_client.get(PAGE, {"age": band})) for band in AGE_BANDS}
    assert shown == {
        "pup": ["2026-11", "2026-11-05"],
        "coming": ["2026-06-27", "2026-11-04"],
        "young": ["2026-06-26", "Rook", "Sorrel"],
        "grown": ["Bramble", "Tansy", "Wren"],
        "old": ["2022"],
    }


@pytest.mark.parametrize(
    ("sort", "shown"),
    [
        ("name", ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"]),
        ("-name", ["Wren", "Tansy", "Sorrel", "Rook", "Bramble"]),
        ("number", ["Bramble", "Wren", "Tansy", "Rook", "Sorrel"]),
        ("sex", ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"]),
        ("-sex", ["Sorrel", "Tansy", "Wren", "Bramble", "Rook"]),
        ("age", ["Rook", "Sorrel", "Tansy", "Wren", "Bramble"]),
        ("-age", ["Bramble", "Wren", "Tansy", "Rook", "Sorrel"]),
        ("dose", ["Wren", "Rook", "Sorrel", "Tansy", "Bramble"]),
        ("-dose", ["Bramble", "Tansy", "Rook", "Sorrel", "Wren"]),
        ("coat", ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"]),
        ("inbreeding", ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"]),
        ("no such column", ["Bramble", "Rook", "Sorrel", "Tansy", "Wren"]),
    ],
)
def test_it_is_sorted(sort, shown, owner_client):
    assert names(owner_client.get(PAGE, {"sort": sort})) == shown


def test_numbers_sort_as_numbers(owner_client, cast):
    for number in ("10", "9", "A2"):
        AnimalFactory(herd=cast.herd, name=f"Number {number}", number=number, sex="boar")
    shown = names(owner_client.get(PAGE, {"sort": "number", "words": "number"}))
    assert shown == ["Number 9", "Number 10", "Number A2"]


@pytest.mark.parametrize("sort", ["age", "-age"])
def test_what_is_not_known_comes_last(sort, owner_client, cast):
    [unborn] = born(cast.herd, None)
    assert names(owner_client.get(PAGE, {"sort": sort}))[-1] == "None"
    assert unborn.name == "None"


@pytest.mark.parametrize("sort", ["dose", "-dose", "inbreeding", "-inbreeding"])
def test_an_animal_without_a_figure_comes_last(sort, owner_client, cast, monkeypatch):
    owner_client.get(PAGE)
    fresh = Freshness(fresh=True, revision=0)
    monkeypatch.setattr("herdbook.pages.animals.list.ensure_current", lambda: fresh)
    AnimalFactory(herd=cast.herd, name="Ash")
    assert names(owner_client.get(PAGE, {"sort": sort}))[-1] == "Ash"


def test_it_is_sorted_by_place_where_places_differ(owner_client):
    everywhere = {"state": "any", "sort": "-state"}
    assert names(owner_client.get(PAGE, everywhere))[0] == "Flint"


def test_a_hundred_stand_on_a_page(owner_client, cast):
    AnimalFactory.create_batch(105, herd=cast.herd)
    first = owner_client.get(PAGE)
    assert (len(names(first)), found(first)) == (100, 110)
    assert "Page 1 of 2" in first.content.decode()
    second = owner_client.get(PAGE, {"page": 2})
    assert len(names(second)) == 10
    assert not set(names(first)) & set(names(second))
    assert len(names(owner_client.get(PAGE, {"page": 99}))) == 10
    assert len(names(owner_client.get(PAGE, {"page": "x"}))) == 100


def test_it_asks_the_database_as_often_for_a_hundred_as_for_five(owner_client, cast):
    owner_client.get(PAGE)
    with CaptureQueriesContext(connection) as few:
        owner_client.get(PAGE, {"words": "thorn", "sort": "dose"})
    for animal in AnimalFactory.create_batch(95, herd=cast.herd):
        animal.litter.born = PartialDate(2025, 1)
        animal.litter.dam = cast.wren
        animal.litter.save()
    owner_client.get(PAGE)
    with CaptureQueriesContext(connection) as many:
        response = owner_client.get(PAGE, {"words": "thorn", "sort": "dose"})
    assert len(names(response)) == 100
    assert len(many) == len(few)
    assert len(many) <= 12


def test_while_typing_only_the_found_ones_are_sent(owner_client):
    response = owner_client.get(PAGE, {"words": "rook"}, headers={"HX-Request": "true"})
    page = response.content.decode()
    assert names(response) == ["Rook"]
    assert "<html" not in page
    assert 'hx-swap-oob="true"' in page
    assert "HX-Request" in response["Vary"]


def test_going_back_gives_the_whole_page(owner_client):
    headers = {"HX-Request": "true", "HX-History-Restore-Request": "true"}
    page = owner_client.get(PAGE, headers=headers).content.decode()
    assert "<html" in page


def test_names_are_shown_as_text(owner_client, cast):
    AnimalFactory(herd=cast.herd, name='<b>Fern</b> & "co"')
    page = owner_client.get(PAGE, {"words": "fern"}).content.decode()
    assert "&lt;b&gt;Fern&lt;/b&gt; &amp; &quot;co&quot;" in page
    assert "<b>Fern" not in page
