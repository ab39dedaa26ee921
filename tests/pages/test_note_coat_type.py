"""Coat and marks noted of an animal: satin, rex, long, roan, white patches, or plain."""

import re

import pytest
from django.core.exceptions import ValidationError

from herdbook.book.coat_type import as_coat_type, check_coat_type
from tests.pages.test_correct_animal import form, page_of, text

pytestmark = pytest.mark.usefixtures("today")


def test_it_works(owner_client, cast):
    owner_client.post(page_of(cast.rook), form(cast.rook, coat_type=["long", "satin"]))
    cast.rook.refresh_from_db()
    assert cast.rook.coat_type == "long satin"
    assert "<dd>long, satin</dd>" in text(owner_client.get(cast.rook.get_absolute_url()))
    page = text(owner_client.get(page_of(cast.rook)))
    assert re.search(r'value="satin"[^>]* checked', page)
    assert not re.search(r'value="roan"[^>]* checked', page)
    changes = text(owner_client.get(f"{cast.rook.get_absolute_url()}changes/"))
    assert "Coat and marks" in changes


def test_nothing_ticked_is_not_looked_at(owner_client, cast):
    owner_client.post(page_of(cast.rook), form(cast.rook, coat_type=[]))
    cast.rook.refresh_from_db()
    assert cast.rook.coat_type == ""
    assert "Coat and marks" not in text(owner_client.get(cast.rook.get_absolute_url()))


def test_it_refuses_plain_beside_another(owner_client, cast):
    sent = form(cast.rook, coat_type=["plain", "satin"])
    page = text(owner_client.post(page_of(cast.rook), sent))
    assert "A plain coat is none of the others." in page
    assert re.search(r'value="satin"[^>]* checked', page), "the form comes back filled"
    cast.rook.refresh_from_db()
    assert cast.rook.coat_type == ""


def test_it_refuses_a_word_that_is_not_in_the_list(owner_client, cast):
    page = text(owner_client.post(page_of(cast.rook), form(cast.rook, coat_type=["curly"])))
    assert "Choose one from the list." in page


def test_words_are_kept_once_and_in_one_order():
    assert as_coat_type(["satin", "Long", "satin"]) == "long satin"
    check_coat_type("long satin")
    for kept in ("satin long", "long long", "curly", "plain long"):
        with pytest.raises(ValidationError):
            check_coat_type(kept)
