"""Animals suggested while a name or number is typed."""

import html
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.factories import AnimalFactory

PAGE = "/animals/suggestions/"


def suggested(client, typed, **more):
    """What is offered while ``typed`` stands in the field called dam."""
    headers = {"HX-Request": "true", "HX-Trigger-Name": "dam"}
    page = client.get(PAGE, {"dam": typed, **more}, headers=headers).content.decode()
    return [html.unescape(value) for value in re.findall(r'<option value="([^"]*)"', page)]


def test_it_works(owner_client):
    assert suggested(owner_client, "ROO") == ["Thornmoor Rook (5)"]
    assert suggested(owner_client, "5", sex="boar") == ["Thornmoor Rook (5)"]
    assert suggested(owner_client, "rook", sex="sow") == []
    assert suggested(owner_client, "ro\0ok") == ["Thornmoor Rook (5)"]


def test_those_in_the_herd_come_first(owner_client):
    assert suggested(owner_client, "", sex="boar") == [
        "Thornmoor Bramble (1)",
        "Thornmoor Rook (5)",
        "Thornmoor Flint (4)",
    ]


def test_namesakes_carry_a_mark(owner_client, cast):
    twins = AnimalFactory.create_batch(2, herd=cast.herd, name="Dove", number="")
    wanted = {f"Thornmoor Dove #{twin.public_id.hex[:8]}" for twin in twins}
    assert set(suggested(owner_client, "dove")) == wanted


@pytest.mark.parametrize("count", [1, 300])
def test_it_stays_short_and_asks_little_in_a_large_herd(count, owner_client, cast):
    AnimalFactory.create_batch(count, herd=cast.herd, sex="sow")
    with CaptureQueriesContext(connection) as asked:
        shown = suggested(owner_client, "thorn", sex="sow")
    assert len(shown) == min(count + 3, 20)
    assert len(asked) <= 4
