"""The records of a herd that should be looked at again."""

import html
import re

import pytest
from django.urls import reverse

from genetics.doubting import doubts_of
from herdbook.book.dates import PartialDate
from herdbook.book.models import GivenEvidence
from tests.factories import AnimalFactory, LitterFactory, LookFactory


def text(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


@pytest.fixture
def odd(cast, today):
    """Rook has one dose, was full twice, and once between, after mild weeks, is written down
    as unmarked."""
    for day, stage in (("2026-08-01", "full"), ("2026-09-01", "none"), ("2026-10-01", "full")):
        LookFactory(animal=cast.rook, on=day, stage=stage, warmth="mild")
    return cast.rook.looks.get(on="2026-09-01")


def see(client):
    return client.get(reverse("doubts"))


def test_it_works(owner_client, odd, cast):
    response = see(owner_client)
    page = text(response)
    assert "that the look of 1 September 2026 (points: none, at 5 months) is wrong" in page
    assert reverse("correct-look", args=[odd.public_id]) in response.content.decode()
    (doubt,) = doubts_of(cast.herd).looks
    assert doubt.look == odd
    assert doubt.chance > 0.9


def test_a_sire_whose_pups_do_not_fit_comes_first(owner_client, cast, today):
    # Bramble was seen overmarked again and again; five grown selfs are another boar's.
    for day in ("2025-03-01", "2025-09-01", "2026-02-01"):
        LookFactory(animal=cast.bramble, on=day, stage="overmarked")
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.bramble],
        born=PartialDate(2026, 1, 5),
        source="home",
    )
    for _ in range(5):
        LookFactory(
            animal=AnimalFactory(herd=cast.herd, litter=litter), on="2026-09-01", stage="none"
        )
    response = see(owner_client)
    page = text(response)
    assert "that the sire is another boar than Thornmoor Bramble" in page
    assert reverse("correct-litter", args=[litter.public_id]) in response.content.decode()
    assert "shows points that" in page
    first = doubts_of(cast.herd).sires[0]
    assert (first.litter, first.chance > 0.5) == (litter, True)


def test_black_from_chocolate_parents_is_found(owner_client, cast, today):
    for parent in (cast.bramble, cast.wren):
        parent.point_colour = "chocolate"
        parent.save()
    cast.rook.point_colour = "black"
    cast.rook.save()
    assert "is black, and chocolate to chocolate" in text(see(owner_client))


def test_a_dark_body_from_red_parents_is_found(owner_client, cast, today):
    for animal, coat in ((cast.bramble, "red"), (cast.wren, "buff"), (cast.rook, "agouti")):
        animal.coat = coat
        animal.save()
    assert "is dark on the body, and red to red" in text(see(owner_client))


def test_a_sound_book_has_no_doubts(owner_client, cast, today):
    page = text(see(owner_client))
    assert "No sire and no look has a chance of 5% or more to be wrong" in page
    assert "What cannot be" not in page


def test_another_herds_records_are_not_shown(client, other_herd, odd):
    client.force_login(other_herd[0])
    page = text(see(client))
    assert "Rook" not in page
    assert "1 September" not in page


def test_records_that_contradict_each_other_are_named(owner_client, cast, today):
    for animal, row in ((cast.tansy, (0, 0, 1)), (cast.flint, (0, 0, 1))):
        GivenEvidence.objects.create(
            herd=cast.herd, animal=animal, like0=row[0], like1=row[1], like2=row[2]
        )
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.flint], born=PartialDate(2026, 5), source="home"
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, name="Lark")
    GivenEvidence.objects.create(herd=cast.herd, animal=pup, like0=1, like1=0, like2=0)
    page = text(see(owner_client))
    assert f"{pup.label} and its family have records that cannot all be true" in page
    assert "no figure, so their records were not weighed" in page


def test_a_large_book_is_not_weighed_while_a_page_waits(owner_client, cast, monkeypatch):
    monkeypatch.setattr("genetics.doubting.AT_ONCE", 2)
    assert "too large to be weighed" in text(see(owner_client))
