"""The page of a season's plan: roan and satin out at first, let in by a tick, and why."""

import pytest

from genetics.models import SeasonPlan
from genetics.season.request import LETHAL, SATIN, WELFARE, Wishes
from herdbook.book.models import Animal
from tests.factories import AnimalFactory
from tests.pages.test_plan_season_page import PAGE, ask, of_before, shown, words

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def roans(cast):
    """A roan boar and a roan sow, and a boar that neither the words nor the genes call roan."""
    Animal.objects.filter(pk__in=[cast.wren.pk, cast.bramble.pk]).update(coat_type="roan")
    AnimalFactory(herd=cast.herd, sex="boar", bought_as="self", coat="red", coat_type="plain")
    return cast


def asked_of(plan):
    return Wishes.of(plan.asked)


def test_it_works(owner_client, roans):
    page = words(owner_client.get(PAGE))
    assert "Roan to roan and satins stay out unless you let them in." in page
    assert "38% of satins had a bone disease" in page
    assert "born without eyes or teeth" in page
    assert "A vet decides, whatever you tick." in page
    plan = ask(owner_client, inbreeding="")
    assert asked_of(plan).lets_in == ()
    page = shown(owner_client, plan)
    assert "Pairs left out because of the two together:" in page
    assert "roan to roan 1" in page
    assert "more but is left out: roan to roan" in page
    assert "You let in" not in page


def test_a_tick_lets_them_in_and_the_plan_says_so(owner_client, roans):
    plan = ask(owner_client, inbreeding="", lethal_in="on")
    assert asked_of(plan).lets_in == LETHAL
    page = shown(owner_client, plan)
    assert "You let in pairs that may give lethal whites, born without eyes or teeth." in page
    assert "Look for roan in both parents yourself; a vet decides." in page
    assert "You let in satins" not in page
    cells = owner_client.get(plan.get_absolute_url()).content.decode().split("Wren</a>")[1]
    cautions = cells.split('data-label="Cautions">')[1].split("</td>")[0]
    assert "roan to roan" in cautions
    assert "lethal whites" in cautions
    # solved again it stays so, and the form has the tick
    owner_client.post(plan.get_absolute_url(), {})
    assert asked_of(SeasonPlan.objects.first()).lets_in == LETHAL
    form = owner_client.get(PAGE, {"plan": plan.public_id}).context["form"]
    assert form["lethal_in"].value() is True
    assert form["satin_in"].value() is False


def test_satins_are_let_in_by_a_tick_of_their_own(owner_client, cast):
    Animal.objects.filter(pk=cast.tansy.pk).update(coat_type="satin")
    assert "Satin: Thornmoor Tansy" in shown(owner_client, ask(owner_client))
    plan = ask(owner_client, satin_in="on")
    assert asked_of(plan).lets_in == SATIN
    assert cast.tansy.pk in {pair["sow"] for pair in plan.found["pairs"]}
    page = shown(owner_client, plan)
    assert "You let in satins, or pairs that may give satin pups: many satins have" in page
    assert "lethal whites:" not in page


def test_a_plan_of_before_let_nothing_in(owner_client, cast):
    plan = ask(owner_client)
    plan.asked["left_out"] = ["sow-young"]
    plan.save()
    page = shown(owner_client, of_before(plan))
    assert "You let in" not in page
    form = owner_client.get(PAGE, {"plan": plan.public_id}).context["form"]
    assert not form["lethal_in"].value()
    assert not form["satin_in"].value()
    owner_client.post(plan.get_absolute_url(), {})
    assert set(WELFARE) <= set(asked_of(SeasonPlan.objects.first()).left_out)
