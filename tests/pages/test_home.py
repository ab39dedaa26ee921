"""The home page: the herd in the morning."""

import re

import pytest

from genetics.figures.refresh import ensure_current
from genetics.models import Figure
from herdbook.book.models import Animal, GivenEvidence
from herdbook.book.partial_date import PartialDate
from herdbook.pages.herd.home import pups_to_check
from tests.factories import AnimalFactory, LitterFactory, LookFactory, MembershipFactory

GIVEN = ("like0", "like1", "like2")


def text(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def contradict(cast):
    """A self pup of two parents that have two doses, each for certain."""
    for animal in (cast.bramble, cast.wren, cast.rook):
        likely = (1, 0, 0) if animal == cast.rook else (0, 0, 1)
        GivenEvidence.objects.create(
            herd=cast.herd, animal=animal, **dict(zip(GIVEN, likely, strict=True))
        )


def pup(cast, born, **values):
    litter = LitterFactory(herd=cast.herd, dam=cast.wren, born=PartialDate.parse(born))
    return AnimalFactory(herd=cast.herd, litter=litter, **values)


def test_it_works(owner_client, cast, today):
    page = text(owner_client.get("/"))
    assert "Thornmoor" in page
    assert "2 boars" in page
    assert "3 sows" in page
    assert "0 not sexed" in page
    assert "Thornmoor Wren, 14 March 2026 2 pups" in page


def test_records_that_cannot_all_be_true_are_told(owner_client, cast, today):
    contradict(cast)
    page = text(owner_client.get("/"))
    assert "4 animals have no dose: the records of their families can't all be right" in page


def test_another_herds_troubles_are_not_told(client, other_herd, cast, today):
    contradict(cast)
    client.force_login(other_herd[0])
    assert "can't all be right" not in text(client.get("/"))


def test_an_empty_book_helps_to_get_started(client, db):
    client.force_login(MembershipFactory().user)
    page = text(client.get("/"))
    assert "Getting started" in page
    assert "Add an animal" in page
    assert "New litter" in page


def test_one_who_keeps_no_herd_is_told_so(client, db, django_user_model):
    client.force_login(django_user_model.objects.create_user("nobody"))
    assert client.get("/").status_code == 404


@pytest.mark.parametrize(
    ("born", "wanted"),
    [
        ("2026-11-05", False),  # 20 days
        ("2026-11-04", True),  # 21 days
        ("2026-10", True),
        ("2026-06-26", True),  # 152 days
        ("2026-06-25", False),
    ],
)
def test_pups_of_three_weeks_to_five_months_are_to_be_looked_at(born, wanted, cast, today):
    young = pup(cast, born)
    assert (young in pups_to_check(cast.herd, today)) is wanted


@pytest.mark.parametrize(
    "values", [{"coat": "black"}, {"coat": ""}, {"state": "sold"}, {"state": "died"}]
)
def test_those_whose_points_cannot_be_seen_are_left_out(values, cast, today):
    assert pup(cast, "2026-10-01", **values) not in pups_to_check(cast.herd, today)


@pytest.mark.parametrize(("on", "wanted"), [("2026-11-11", False), ("2026-11-10", True)])
def test_a_look_lasts_two_weeks(on, wanted, cast, today):
    young = pup(cast, "2026-09-01")
    LookFactory(animal=young, on="2026-10-15", stage="none")
    LookFactory(animal=young, on=on, stage="coming")
    assert (young in pups_to_check(cast.herd, today)) is wanted


def test_one_whose_dose_is_settled_needs_no_look(cast, today):
    young = pup(cast, "2026-09-01")
    ensure_current()
    Figure.objects.update_or_create(
        animal=young,
        defaults={
            "dose0": 0.001,
            "dose1": 0.995,
            "dose2": 0.004,
            "method": "exact",
            "inbreeding": 0,
            "full_generations": 1,
            "deepest_generation": 1,
            "completeness": 0.1,
            "revision": 0,
        },
    )
    assert young not in pups_to_check(cast.herd, today)
    Figure.objects.filter(animal=young).update(dose1=0.98)
    assert young in pups_to_check(cast.herd, today)


def test_a_litter_is_looked_at_together(owner_client, cast, today):
    first = pup(cast, "2026-09-01", name="Ash")
    AnimalFactory(herd=cast.herd, litter=first.litter, name="Elm")
    alone = pup(cast, "2026-10-01", name="Oak")
    page = owner_client.get("/").content.decode()
    assert f"/litters/{first.litter.public_id}/look/" in page
    assert f"/animals/{alone.public_id}/looks/new/" in page
    assert f"/animals/{first.public_id}/looks/new/" not in page


def test_the_counts_lead_to_the_animals(owner_client, cast, today):
    page = owner_client.get("/").content.decode()
    for sex in ("boar", "sow", "unsexed"):
        assert f"/animals/?sex={sex}" in page
    assert Animal.objects.filter(herd=cast.herd, sex="boar", state="in_herd").count() == 2
