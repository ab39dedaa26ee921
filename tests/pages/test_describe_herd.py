"""The herd's own page: what sheets say of it."""

import pytest
from django.urls import reverse

from herdbook.book.models import Herd

NEW = {
    "name": "Thornmoor stud",
    "stud_prefix": "Thornmoor",
    "keeper": "A. Quillby",
    "address": "Moor End",
}


@pytest.fixture
def send(owner_client, cast):
    page = owner_client.get(reverse("herd"))
    hidden = {
        "submission_key": page.context["form"]["submission_key"].value(),
        "version": page.context["form"]["version"].value(),
    }

    def post(**values):
        return owner_client.post(reverse("herd"), {**hidden, **NEW, **values})

    return post


def test_it_works(send, cast):
    assert send().status_code == 302

    cast.herd.refresh_from_db()
    assert {name: getattr(cast.herd, name) for name in NEW} == NEW


def test_what_stood_before_stays_in_history(send, cast):
    send()

    assert [row.name for row in cast.herd.history.all()] == ["Thornmoor stud", "Thornmoor"]
    assert cast.herd.history.first().history_user == cast.owner


def test_it_asks_for_a_name(send, cast):
    answer = send(name="")

    assert answer.status_code == 200
    assert "A. Quillby" in answer.content.decode()
    assert Herd.objects.get(pk=cast.herd.pk).name == "Thornmoor"


def test_an_old_page_is_shown_what_was_changed_meanwhile(send, cast):
    Herd.objects.filter(pk=cast.herd.pk).update(name="Another", version=2)

    answer = send()

    assert "Another" in answer.content.decode()
    assert Herd.objects.get(pk=cast.herd.pk).name == "Another"


def test_a_sheet_names_the_keeper(send, owner_client, cast, today):
    send()

    sheet = owner_client.get(reverse("animal-sheet", args=[cast.rook.public_id]))
    assert "A. Quillby, Moor End" in sheet.content.decode()
