"""Are litters coming out as expected: the page."""

import html
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from herdbook.book.models import Animal, Litter
from tests.factories import AnimalFactory, LitterFactory, LookFactory

pytestmark = pytest.mark.usefixtures("today")


def text(client):
    response = client.get("/as-expected/")
    assert response.status_code == 200
    plain = re.sub(r"<[^>]*>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


@pytest.fixture
def chocolate(cast):
    """`chocolate(black, chocolate)`: so many pups of chocolate Wren and chocolate Bramble."""

    def make(black, chocolate):
        Animal.objects.filter(pk__in=[cast.wren.pk, cast.bramble.pk]).update(
            point_colour="chocolate"
        )
        for colour in ["black"] * black + ["chocolate"] * chocolate:
            AnimalFactory(herd=cast.herd, litter=cast.march_litter, point_colour=colour)

    return make


def test_it_works(owner_client, cast, chocolate):
    chocolate(0, 6)
    page = text(owner_client)
    assert "Chocolate: chocolate to chocolate" in page
    assert "6 chocolate (6.0)" in page
    assert "As expected: these parents can give nothing else." in page
    assert "not chocolate" not in page


def test_what_cannot_be_is_said_plainly(owner_client, cast, chocolate):
    chocolate(1, 1)
    page = text(owner_client)
    assert "1 not chocolate (0.0)" in page
    assert "Impossible if every record is right. Check them." in page


def test_few_pups_say_nothing(owner_client, cast, chocolate):
    chocolate(0, 2)
    assert "Too few pups to tell." in text(owner_client)


def test_picked_families_are_told(owner_client, cast):
    for parent in (cast.wren, cast.bramble):
        Animal.objects.filter(pk=parent.pk).update(point_colour="black")
    for colour in ("chocolate", "chocolate", "black"):
        AnimalFactory(herd=cast.herd, litter=cast.march_litter, point_colour=colour)
    page = text(owner_client)
    assert "Chocolate: carrier to carrier" in page
    assert (
        "These families are listed because a pup showed it; allowing for that, 67% of the pups "
        "show it."
    ) in page


def test_counts_that_are_far_off_are_marked(owner_client, cast, chocolate):
    chocolate(0, 1)
    Animal.objects.filter(pk=cast.wren.pk).update(point_colour="black")
    other = Litter.objects.get(pk=cast.march_litter.pk)
    AnimalFactory.create_batch(9, herd=cast.herd, litter=other, point_colour="chocolate")
    page = text(owner_client)
    assert "Not as expected: more than chance would usually explain." in page
    assert re.search(r"Chance alone gives this or worse in under 0.1%", page)
    assert re.search(r"; chi-square \d+\.\d\d, 1 degree of freedom, ", page)


def test_pups_sold_young_may_be_the_whole_reason(owner_client, cast):
    """Marked to marked, and all twelve that were kept until they were grown are marked."""
    for parent in (cast.wren, cast.bramble):
        LookFactory(animal=parent, on="2026-02-01", stage="full", warmth="mild")
    for _ in range(12):
        pup = AnimalFactory(herd=cast.herd, litter=cast.march_litter)
        LookFactory(animal=pup, on="2026-11-01", stage="full", warmth="mild")
    response = owner_client.get("/as-expected/")
    page = text(owner_client)
    assert "More than chance would usually explain. Pups sold or lost" in page
    assert "which may be the whole reason" in page
    assert "Not as expected" not in page
    assert b"<strong>More than" not in response.content


def test_nothing_to_say(owner_client, cast):
    Animal.objects.update(coat="")
    assert "No litter can be compared yet" in text(owner_client)


def test_a_pedigree_that_contradicts_itself(owner_client, cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    assert "The pedigree contradicts itself." in text(owner_client)


def test_many_litters_cost_no_more_queries(owner_client, cast, chocolate):
    def queries():
        with CaptureQueriesContext(connection) as caught:
            owner_client.get("/as-expected/")
        return len(caught)

    chocolate(2, 2)
    few = queries()
    for _ in range(6):
        born = LitterFactory(herd=cast.herd, dam=cast.wren, boars=[cast.bramble], source="home")
        AnimalFactory.create_batch(3, herd=cast.herd, litter=born, point_colour="chocolate")
    assert queries() == few
