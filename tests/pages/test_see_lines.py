"""The page of the founders: their effective number, and which are about to be lost."""

import re

import pytest
from django.utils.html import strip_tags

from herdbook.book.models import Animal, GivenEvidence, Litter
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory

PAGE = "/lines/"


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


def text(client):
    response = client.get(PAGE)
    assert response.status_code == 200
    return re.sub(r"\s+", " ", strip_tags(response.content.decode()))


def test_it_works(owner_client, cast):
    page = text(owner_client)
    assert "The founders behind the 6 animals of the herd" in page
    assert "All founders (4)" in page
    assert "As varied as 3.6 founders used equally." in page
    assert "Effective size, by parents2.0" in page
    assert "From 1 boar and 1 sow with a litter in the last 12 months." in page
    assert "Thornmoor Tansy has no young in the herd. 100% of its genes are left." in page
    assert "Thornmoor Bramble 33% 100% Thornmoor Bramble 100%, Thornmoor Rook 50%" in page


def test_a_line_that_rests_on_one_animal_leads_to_a_mate(owner_client, cast):
    Animal.objects.filter(pk__in=[cast.bramble.pk, cast.sorrel.pk]).update(state="died")
    page = owner_client.get(PAGE).content.decode()
    words = re.sub(r"\s+", " ", strip_tags(page))
    assert (
        "Thornmoor Bramble: only Thornmoor Rook has its blood. 50% of its genes are left." in words
    )
    assert f'href="/matings/?boar={cast.rook.public_id}"' in page
    assert f'href="{cast.bramble.get_absolute_url()}"' in page


def test_what_would_go_with_each_of_two(owner_client, cast):
    Animal.objects.filter(pk=cast.bramble.pk).update(state="died")
    words = text(owner_client)
    assert "Thornmoor Bramble: Thornmoor Rook and Thornmoor Sorrel have its blood." in words
    assert re.search(
        r"7\d% of its genes are left. Without Thornmoor Rook, 2\d% would be lost.", words
    )


def test_a_parent_that_nobody_knows_is_named_by_its_pups(owner_client, cast):
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, born=PartialDate(2026, 1, 5), source="paper"
    )
    for name in ("Ash", "Birch", "Cedar", "Dogwood"):
        AnimalFactory(herd=cast.herd, litter=litter, name=name)
    page = owner_client.get(PAGE).content.decode()
    assert "Unknown sire of Thornmoor Ash, Thornmoor Birch, Thornmoor Cedar, …" in page
    assert f'href="{litter.get_absolute_url()}"' in page


def test_an_ancestor_in_another_herd_has_no_link(owner_client, cast, other_herd):
    stranger = AnimalFactory(herd=other_herd[1], name="Gull", sex="boar", state="died")
    litter = LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[stranger])
    AnimalFactory(herd=cast.herd, litter=litter)
    page = owner_client.get(PAGE).content.decode()
    assert "Gull" in page
    assert stranger.get_absolute_url() not in page


def test_nobody_in_the_herd_yet(client, other_herd):
    client.force_login(other_herd[0])
    assert "There are no animals in the herd yet." in text(client)


def test_a_pedigree_that_contradicts_itself(owner_client, cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    assert "The recorded pedigree contradicts itself" in text(owner_client)


def test_more_animals_cost_no_more_queries(owner_client, cast, django_assert_max_num_queries):
    AnimalFactory.create_batch(15, herd=cast.herd, sex="boar")
    text(owner_client)
    with django_assert_max_num_queries(20):
        text(owner_client)


def test_a_line_goes_by_what_all_records_say_of_a_sire(owner_client, cast):
    """Sorrel, of one dose by a self, cannot be Flint's, who has none: he is no founder of hers."""
    cast.march_litter.sires.create(herd=cast.herd, boar=cast.flint)
    for animal, dose in ((cast.wren, 0), (cast.bramble, 2), (cast.flint, 0), (cast.sorrel, 1)):
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)
    page = text(owner_client)
    assert "Thornmoor Flint has no young in the herd." in page
    assert "Unknown sire" not in page
    assert "each boar counts by how likely all records make him; boars below 5% are ignored" in page
