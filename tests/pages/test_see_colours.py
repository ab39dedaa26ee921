"""What an animal may carry, on its page; what colours a litter would show, before a mating."""

import html
import re

import pytest

from genetics.colours.carriers import Kin
from herdbook.book.models import Animal
from herdbook.pages.animals.carriers import rests_on
from tests.factories import AnimalFactory

pytestmark = pytest.mark.usefixtures("today")


def text(client, address, **asked):
    response = client.get(address, asked)
    assert response.status_code == 200
    plain = re.sub(r"<[^>]*>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


@pytest.fixture
def chocolate_dam(cast):
    Animal.objects.filter(pk=cast.wren.pk).update(point_colour="chocolate")
    Animal.objects.filter(pk=cast.rook.pk).update(point_colour="black")


def test_it_works(owner_client, cast, chocolate_dam):
    page = text(owner_client, cast.rook.get_absolute_url())
    assert re.search(r"Hidden colours Chocolate 9\d% Reasons Chocolate Its dam shows it", page)


def test_what_a_self_hides_is_told(owner_client, cast, chocolate_dam):
    Animal.objects.filter(pk=cast.bramble.pk).update(point_colour="chocolate")
    Animal.objects.filter(pk=cast.rook.pk).update(point_colour="")
    page = text(owner_client, cast.rook.get_absolute_url())
    assert re.search(r"9\d(\.\d)?% that it has two hidden copies", page)


def test_what_sources_disagree_on_is_said_where_it_matters(owner_client, cast, chocolate_dam):
    Animal.objects.filter(pk=cast.rook.pk).update(coat="golden")
    Animal.objects.filter(pk=cast.wren.pk).update(coat="white")
    page = text(owner_client, cast.rook.get_absolute_url())
    assert "Sources disagree on what parts red, golden and buff, so nothing is" in page
    assert page.count("Sources disagree") == 1


def test_nothing_to_say(owner_client, cast):
    page = text(owner_client, cast.flint.get_absolute_url())
    assert "No sign of any in its family." in page


def test_it_waits_for_a_large_book(owner_client, cast, monkeypatch):
    monkeypatch.setattr("genetics.colours.carriers.AT_ONCE", 1)
    monkeypatch.setattr("genetics.jobs.start", lambda *what, **how: None)
    assert "Not worked out yet. A large herd" in text(owner_client, cast.flint.get_absolute_url())


def test_what_it_rests_on():
    assert rests_on(Kin()) == "shown by more distant relatives"
    assert rests_on(Kin(sire=True, pups_noted=1)) == (
        "its sire (or a possible sire) shows it; its one recorded pup does not show it"
    )
    assert rests_on(Kin(pups=2, pups_noted=5, littermates=1)) == (
        "2 of its 5 recorded pups show it; 1 littermate shows it"
    )
    assert rests_on(Kin(never_shown=True)) == "relatives look like carriers"
    assert rests_on(Kin(own=True, dam_carries=True)) == (
        "it looks like a carrier itself; its dam looks like a carrier"
    )
    assert rests_on(Kin(pups_noted=4)) == (
        "none of its 4 recorded pups shows it; shown by more distant relatives"
    )


def test_a_mating_tells_its_colours(owner_client, cast, chocolate_dam):
    page = text(owner_client, "/matings/", sow="Wren", boar="Rook")
    assert "Colours and coats Body colour White" in page
    assert re.search(r"Colour of points (Black|Chocolate) [45]\d%", page)
    assert re.search(r"Carried Chocolate [45]\d%", page)
    assert "Red, golden and buff are counted together." in page


def test_roan_to_roan_is_cautioned_with_its_chance(owner_client, cast):
    for sex in ("boar", "sow"):
        AnimalFactory(herd=cast.herd, sex=sex, name=f"Frost {sex}", coat="black", coat_type="roan")
    page = text(owner_client, "/matings/", sow="Frost sow", boar="Frost boar")
    assert re.search(r"Each pup has a 2\d% chance of being a lethal white\.", page)
    assert "Never mate roan to roan." in page
    assert "to roan are lethal whites (secondary sources only). A vet decides." in page
    assert "Thornmoor Frost sow shows roan. Thornmoor Frost boar shows roan." in page
    assert re.search(r"Of the pups that live to be weaned, 6\d% would be roan\.", page)


def test_a_lethal_white_caution_says_why_and_what_would_tell(owner_client, cast):
    """Rook is of a roan boar: red and not noted; white; patched; plain."""
    Animal.objects.filter(pk=cast.bramble.pk).update(coat="black", coat_type="roan")
    mate = AnimalFactory(herd=cast.herd, sex="sow", name="Frost", coat="black", coat_type="roan")
    for coat, coat_type, said in (
        (
            "red",
            "",
            "Thornmoor Rook has no coat and markings recorded, and roan runs in its family",
        ),
        ("white", "", "Thornmoor Rook may have roan hidden under white"),
        ("red", "patches", "Thornmoor Rook may have roan hidden under white"),
        (
            "other",
            "plain",
            "Thornmoor Rook has no colour recorded that would show roan.",
        ),
    ):
        Animal.objects.filter(pk=cast.rook.pk).update(coat=coat, coat_type=coat_type)
        page = text(owner_client, "/matings/", sow=mate.public_id, boar="Rook")
        assert re.search(
            r"has a 1\d% chance of being a lethal white\. Thornmoor Frost shows roan\.", page
        )
        assert said in page
        assert re.search(r"Lethal whites, 1\d% of all pups, are left out\.", page)
    Animal.objects.filter(pk=cast.rook.pk).update(coat="red", coat_type="plain")
    page = text(owner_client, "/matings/", sow=mate.public_id, boar="Rook")
    assert "being a lethal white" not in page


def test_roan_shows_and_is_not_told_as_carried_unseen(owner_client, cast):
    for animal in (cast.wren, cast.bramble):
        Animal.objects.filter(pk=animal.pk).update(coat="black", coat_type="roan")
    page = text(owner_client, "/matings/", sow="Wren", boar="Bramble")
    assert re.search(r"Roan [45]\d%", page)
    assert "Roan" not in page.split(" Carried ")[1].split("Each gene is worked out")[0]


def test_satin_carriers_are_cautioned(owner_client, cast):
    Animal.objects.filter(pk=cast.wren.pk).update(coat_type="satin")
    page = text(owner_client, "/matings/", sow="Sorrel", boar="Rook")
    assert re.search(r"Each pup has a 2\d% chance of being satin", page)
    assert "Satin 2" in page


def test_a_mating_in_a_large_book_says_why_it_has_no_colours(owner_client, cast, monkeypatch):
    monkeypatch.setattr("genetics.colours.litter.AT_ONCE", 1)
    assert "Not worked out: there are too many animals on record" in text(
        owner_client, "/matings/", sow="Sorrel", boar="Rook"
    )


def test_a_ranking_warns_of_roan_that_hides(owner_client, cast):
    Animal.objects.filter(pk=cast.bramble.pk).update(coat="black", coat_type="roan")
    page = text(owner_client, "/matings/", sow="Sorrel")
    assert re.search(r"Thornmoor Rook .*lethal whites", page), "both are of a roan boar, and white"
    assert "lethal whites" not in text(owner_client, "/matings/", sow="Tansy")
