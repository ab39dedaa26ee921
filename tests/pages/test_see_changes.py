"""What was changed of an animal: who, when, before and after."""

import html
import re

import pytest
from django.urls import reverse

from herdbook.book.inputs import AnimalEntry, LitterEntry, PupEntry, WeighingEntry
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.animals import correct_animal, move_animal
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import correct_litter, exchange_records, record_litter
from herdbook.book.services.observations import (
    correct_observation,
    record_observations,
    remove_observation,
)
from herdbook.pages.history import changes_of


@pytest.fixture
def pup(cast, today):
    """A pup of Tansy by Bramble, written at the desk."""
    litter = record_litter(
        Submission(cast.owner, today),
        herd=cast.herd,
        entry=LitterEntry(
            dam=cast.tansy,
            boars=(cast.bramble,),
            born=PartialDate(2026, 9, 1),
            pups=(PupEntry(sex="sow"), PupEntry(sex="sow")),
        ),
    )
    return litter.pups.order_by("pk").first()


def told(animal):
    return [
        (change.action, [(line.of, line.before, line.after) for line in change.lines])
        for change in changes_of(animal)
    ]


def test_it_works(owner_client, cast, pup, today):
    entry = AnimalEntry(values={"name": "Fern", "coat": "cream", "photo": None})
    correct_animal(Submission(cast.owner, today, version=1), animal=pup, entry=entry)
    assert told(pup) == [
        ("Animal edited", [("Name", "–", "Fern"), ("Body colour", "not known", "cream")]),
        ("Litter added", [("Sire or possible sire", "–", "Thornmoor Bramble (1)")]),
    ]
    response = owner_client.get(reverse("animal-changes", args=[pup.public_id]))
    page = html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", response.content.decode())))
    assert "25 November 2026, 12:00, ansel" in page
    assert "Name – Fern" in page


def test_its_litters_changes_are_told_too(cast, pup, today):
    correct_litter(
        Submission(cast.owner, today, answered={"sire-gone"}, version=1),
        litter=pup.litter,
        entry=LitterEntry(
            dam=cast.wren, boars=(cast.flint,), born=PartialDate(2026, 9, 3), born_alive=2
        ),
    )
    action, lines = told(pup)[0]
    assert action == "Litter edited"
    assert set(lines) == {
        ("Dam", "Thornmoor Tansy (3)", "Thornmoor Wren (2)"),
        ("Born", "1 September 2026", "3 September 2026"),
        ("Sire or possible sire", "Thornmoor Bramble (1)", "–"),
        ("Sire or possible sire", "–", "Thornmoor Flint (4)"),
    }


def test_a_move_is_told_in_words(cast, pup, today):
    move_animal(
        Submission(cast.owner, today, version=1),
        animal=pup,
        state="sold",
        on=PartialDate(2026, 11),
        went_to="Northmoor",
    )
    assert told(pup)[0][1] == [
        ("Place", "in the herd", "sold"),
        ("Date it left", "–", "November 2026"),
        ("Buyer or new home", "–", "Northmoor"),
    ]


def test_a_weighing_is_told_of_when_it_was_put_right_or_taken_out(cast, pup, today):
    entry = WeighingEntry(pup, today, 600)
    [weighing] = record_observations(Submission(cast.owner, today), entries=[entry])
    assert len(told(pup)) == 1
    weighing = correct_observation(
        Submission(cast.owner, today, version=1), row=weighing, entry=WeighingEntry(pup, today, 620)
    )
    of = "Weight on 25 November 2026"
    assert told(pup)[0] == ("Weight edited", [(f"{of}: Weight (g)", "600", "620")])
    remove_observation(Submission(cast.owner, version=2), row=weighing)
    assert told(pup)[0] == ("Deleted", [(of, "620 g", "–")])


def test_a_mix_up_put_right_is_told_of_both(cast, pup, today):
    other = pup.litter.pups.exclude(pk=pup.pk).get()
    record_observations(Submission(cast.owner, today), entries=[WeighingEntry(pup, today, 600)])
    exchange_records(Submission(cast.owner, today), first=pup, second=other, since=today)
    for one in (pup, other):
        action, lines = told(one)[0]
        assert action == "Mixed-up littermates swapped"
        assert lines[0][1:] == (pup.label, other.label)


def test_what_was_written_without_the_desk_is_told_without_a_name(cast):
    cast.rook.name = "Raven"
    cast.rook.save()
    latest = changes_of(cast.rook)[0]
    assert (latest.action, latest.who) == ("Saved", "not known")
    assert [(line.before, line.after) for line in latest.lines] == [("Rook", "Raven")]
