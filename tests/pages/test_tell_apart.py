"""How an animal is told from its littermates: asked of pups, and no more of grown ones."""

import datetime

import pytest

from herdbook.pages.common.identification import told_apart
from tests.factories import AnimalFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.mark.parametrize(
    ("born", "values", "words"),
    [
        ("2026-11-01", {}, "no mark yet"),
        ("2026-11-01", {"told_apart_note": "white toe"}, "white toe"),
        ("2026-11-01", {"told_apart": "tag", "told_apart_note": "left"}, "tag: left"),
        ("2026-06-29", {}, "no mark yet"),
        ("2026-06-28", {}, ""),
        ("2025-03", {}, ""),
        (None, {}, ""),
        ("2025-03", {"told_apart_note": "white toe"}, "white toe"),
        ("2025-03", {"told_apart": "tag"}, "tag"),
        ("2025-03", {"sureness": "unsure"}, "no mark yet"),
    ],
)
def test_it_works(cast, today, born, values, words):
    animal = AnimalFactory(herd=cast.herd, litter__born=born, **values)
    animal.refresh_from_db()
    assert told_apart(animal, today) == words


def test_pages_of_grown_animals_do_not_say_not_yet(owner_client, cast, travel):
    pages = (cast.rook.get_absolute_url(), cast.march_litter.get_absolute_url())
    assert not [
        "no mark yet" for page in pages if "no mark yet" in owner_client.get(page).content.decode()
    ]
    travel(datetime.date(2026, 5, 1))
    assert all("no mark yet" in owner_client.get(page).content.decode() for page in pages)
