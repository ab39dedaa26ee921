"""Earlier estimates, on the animal's page, and what came true of it in the herd."""

import datetime
import html
import re

import pytest
from django.urls import reverse

from genetics.models import Said
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory, LookFactory


def text(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


@pytest.fixture
def proved(cast, travel):
    """Twenty-five animals said in February to have one dose, one in five of them a self."""
    travel(datetime.date(2026, 2, 1))
    litter = LitterFactory(herd=cast.herd, born=PartialDate(2026, 1, 1), source="home")
    pups = [AnimalFactory(herd=cast.herd, litter=litter) for _ in range(25)]
    for number, pup in enumerate(pups):
        Said.objects.create(
            animal=pup,
            said_at=datetime.datetime(2026, 2, 1, 12, tzinfo=datetime.UTC),
            revision=1,
            dose0=0.2,
            dose1=0.75,
            dose2=0.05,
            method="exact",
            error=0.0,
            engine="1-00000000",
        )
        LookFactory(animal=pup, on="2026-07-01", stage="full" if number % 5 else "none")
    travel(datetime.date(2026, 7, 2))
    return pups


def test_it_works(owner_client, proved):
    page = text(owner_client.get(reverse("came-true")))
    assert "25 of your animals have been proved" in page
    # By hand: a fifth at 0.8^2 + 0.75^2 + 0.05^2, the rest at 0.2^2 + 0.25^2 + 0.05^2.
    assert "Score: 0.325" in page
    assert "60% to 80% 25 75% 80% ±" in page


def test_too_few_are_said_to_be_too_few(owner_client, cast, today):
    page = text(owner_client.get(reverse("came-true")))
    assert "Too few to score" in page
    assert "Score:" not in page


def test_the_animal_s_page_says_what_was_said_before(owner_client, proved):
    pup = proved[1]
    page = text(owner_client.get(pup.get_absolute_url()))
    assert "Earlier estimates 1 Feb 2026 clean marked 75%" in page


def test_what_is_said_today_was_not_said_before(owner_client, cast, today):
    page = text(owner_client.get(cast.rook.get_absolute_url()))
    assert cast.rook.said.count() == 1
    assert "Earlier estimates" not in page
