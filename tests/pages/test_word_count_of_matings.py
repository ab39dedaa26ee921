"""The prose of the pages on breeding: a pair with every caution, a plan and a look ahead."""

from dataclasses import asdict

import pytest

from genetics.herd.projection import ProjectionRequest, breed_on
from genetics.models import LookAhead, SeasonPlan
from genetics.season.planner import work_out
from genetics.season.request import Wishes
from herdbook.book.models import Animal
from herdbook.book.partial_date import PartialDate
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory, WeighingFactory
from tests.pages.test_word_count import MOST
from tests.pages.visible_words import visible_prose

pytestmark = pytest.mark.usefixtures("today")

# Eight cautions or more of which half could harm an animal: those stand in full.
WITH_CAUTIONS = 300


def words_of(client, address, **asked):
    response = client.get(address, asked)
    assert response.status_code == 200
    return visible_prose(response.content.decode())


@pytest.fixture
def worst_pair(cast):
    """A young, light and roan brother and sister whose pedigrees are in doubt."""
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.bramble, cast.flint],
        born=PartialDate(2026, 10, 20),
    )
    pair = [
        AnimalFactory(herd=cast.herd, litter=litter, sex=sex, sureness="unsure", coat_type="roan")
        for sex in ("sow", "boar")
    ]
    for animal in pair:
        WeighingFactory(animal=animal, on="2026-11-20", weight_g=300)
    return pair


def test_a_look_up_with_every_caution(owner_client, worst_pair):
    sow, boar = worst_pair
    response = owner_client.get(
        "/matings/", {"sow": sow.public_id, "boar": boar.public_id, "boar_out": "2027-06-01"}
    )
    assert len(response.context["cautions"]) >= 9
    assert len(visible_prose(response.content.decode())) <= WITH_CAUTIONS


@pytest.mark.parametrize(
    ("address", "asked"),
    [
        ("/matings/", {}),
        ("/matings/", {"show_on": "2027-09-18", "show_class": "middle"}),
        ("/matings/", {"sow": "Wren", "boar": "Rook"}),
        ("/matings/", {"sow": "Sorrel", "boar": "Rook"}),
        ("/matings/", {"sow": "Sorrel"}),
        ("/matings/", {"boar": "Bramble"}),
        ("/matings/grid/", {}),
        ("/matings/weights/", {}),
        ("/season/", {}),
        ("/ahead/", {}),
        ("/lines/", {}),
    ],
)
def test_the_pages_on_breeding(owner_client, cast, address, asked):
    assert 0 < len(words_of(owner_client, address, **asked)) <= MOST


def test_a_plan(owner_client, cast):
    Animal.objects.filter(pk__in=[cast.wren.pk, cast.bramble.pk]).update(coat_type="roan")
    wishes = Wishes(TODAY, TODAY, pens=3, sows_a_boar=2, body="white", colour_more=1.0)
    plan = SeasonPlan.objects.create(herd=cast.herd, asked=wishes.as_data())
    work_out(plan)
    assert 0 < len(words_of(owner_client, plan.get_absolute_url())) <= MOST


def test_a_look_ahead(owner_client, cast):
    asked = ProjectionRequest(("least-kin", "one-dose-to-self"), 3, 2, 1, 1, 1, 0.27, showable=0.6)
    found = breed_on(cast.herd, asked, TODAY)
    row = LookAhead.objects.create(herd=cast.herd, revision=1, asked=asdict(asked), found=found)
    assert 0 < len(words_of(owner_client, f"/ahead/{row.public_id}/")) <= MOST
