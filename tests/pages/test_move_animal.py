"""Sold, lent, died, came back."""

import re
import uuid

import pytest
from django.urls import reverse

pytestmark = pytest.mark.usefixtures("today")


def page_of(animal):
    return reverse("move-animal", args=[animal.public_id])


def form(animal, state, **values):
    key = uuid.uuid4().hex
    return {"submission_key": key, "version": animal.version, "state": state, **values}


@pytest.mark.parametrize("state", ["sold", "on_loan", "died"])
def test_it_works(state, owner_client, cast):
    sent = form(cast.rook, state, on="2026-11-20", went_to="A keeper in Northmoor")
    response = owner_client.post(page_of(cast.rook), sent)
    assert response["Location"] == cast.rook.get_absolute_url()
    cast.rook.refresh_from_db()
    assert (cast.rook.state, str(cast.rook.left_on)) == (state, "2026-11-20")
    assert cast.rook.went_to == "A keeper in Northmoor"
    assert "20 November 2026" in owner_client.get(cast.rook.get_absolute_url()).content.decode()


def test_one_that_came_back_is_in_the_herd(owner_client, cast):
    owner_client.post(page_of(cast.rook), form(cast.rook, "on_loan", on="2026-11-01", went_to="X"))
    cast.rook.refresh_from_db()
    owner_client.post(page_of(cast.rook), form(cast.rook, "in_herd", on="2026-11-25"))
    cast.rook.refresh_from_db()
    assert (cast.rook.state, cast.rook.left_on, cast.rook.went_to) == ("in_herd", None, "")


@pytest.mark.parametrize(
    ("state", "choices"),
    [
        ("in_herd", ["sold", "on_loan", "died"]),
        ("on_loan", ["sold", "on_loan", "died", "in_herd"]),
        ("paper", ["sold", "on_loan", "died", "in_herd"]),
    ],
)
def test_it_offers_what_can_happen(state, choices, owner_client, cast):
    cast.rook.state = state
    cast.rook.save()
    page = owner_client.get(page_of(cast.rook)).content.decode()
    assert re.findall(r'name="state" value="(\w+)"', page) == choices
    assert 'value="2026-11-25"' in page


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"on": "2026-11-26"}, "26 November 2026 is in the future"),
        ({"on": "2026-03-01"}, "before it was born"),
        ({"on": "yesterday"}, "Could not read the date"),
        ({"state": ""}, "Choose one."),
        ({"state": "in_herd"}, "Choose one from the list."),
        ({"version": "99"}, "This was changed in another window"),
    ],
)
def test_it_says_what_to_put_right(values, said, owner_client, cast):
    sent = form(cast.rook, "sold", went_to="Northmoor") | values
    page = owner_client.post(page_of(cast.rook), sent).content.decode()
    assert said in page
    assert 'value="Northmoor"' in page
    cast.rook.refresh_from_db()
    assert cast.rook.state == "in_herd"
