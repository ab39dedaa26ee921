"""After each save the next page says so."""

import uuid

import pytest
from django.urls import reverse

from tests.factories import LookFactory, WeighingFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def after(owner_client):
    """`after(page, row, **values)` sends a form, and gives what the next page says of it."""

    def send(page, *row, **values):
        address = reverse(page, args=[one.public_id for one in row])
        sent = {"submission_key": uuid.uuid4().hex, **values}
        response = owner_client.post(address, sent, follow=True)
        assert response.redirect_chain, response.content.decode()
        assert '<p class="message" role="status">' in response.content.decode()
        return [str(message) for message in response.context["messages"]]

    return send


def test_a_sale(after, cast):
    sold = {"state": "sold", "on": "2026-11-24", "version": 1}
    assert after("move-animal", cast.rook, **sold) == ["Saved."]


def test_a_sex_put_right(after, cast):
    facts = {"sex": "sow", "name": "Rook", "number": "5", "sureness": "sure", "version": 1}
    assert after("correct-animal", cast.rook, **facts) == ["Saved."]


def test_an_animal_bought(after, cast):
    facts = {"sex": "sow", "name": "Moth", "sureness": "sure", "state": "in_herd"}
    assert after("record-animal", **facts) == ["Saved."]


def test_a_mix_up_put_right(after, cast):
    LookFactory(animal=cast.rook, on="2026-11-01", stage="full")
    mixed_up = {
        "first": cast.rook.public_id,
        "second": cast.sorrel.public_id,
        "since": "2026-10-01",
        "answered": "sexes-differ",
    }
    assert after("exchange-records", cast.march_litter, **mixed_up) == ["Saved."]


def test_a_litter_put_right(after, cast):
    facts = {
        "dam": cast.wren.label,
        "boars": [cast.bramble.public_id],
        "born": "2026-03-13",
        "born_alive": 2,
        "version": 1,
    }
    assert after("correct-litter", cast.march_litter, **facts) == ["Saved."]


def test_a_litter_weighed_and_looked_at(after, cast):
    weighed = {"on": "2026-11-24", f"weight_g-{cast.rook.public_id}": 800}
    assert after("weigh-litter", cast.march_litter, **weighed) == ["Saved."]
    looked_at = {"on": "2026-11-24", f"stage-{cast.rook.public_id}": "full"}
    assert after("look-at-litter", cast.march_litter, **looked_at) == ["Saved."]


def test_a_weighing(after, cast):
    assert after("record-weighing", cast.rook, on="2026-11-24", weight_g=800) == ["Saved."]
    weighing = WeighingFactory(animal=cast.rook, on="2026-11-01", weight_g=780)
    corrected = {"on": "2026-11-02", "weight_g": 780, "version": 1}
    assert after("correct-weighing", weighing, **corrected) == ["Saved."]
    assert after("remove-weighing", weighing, version=2) == ["Deleted."]


def test_a_look(after, cast):
    assert after("record-look", cast.rook, on="2026-11-24", stage="full") == ["Saved."]
    look = LookFactory(animal=cast.rook, on="2026-11-01", stage="full")
    corrected = {"on": "2026-11-02", "stage": "full", "version": 1}
    assert after("correct-look", look, **corrected) == ["Saved."]
    assert after("remove-look", look, version=2) == ["Deleted."]
