"""Pairs named to be kept or ruled out before a plan is made, and another plan used."""

import re

import pytest

from genetics.models import SeasonPlan
from genetics.season.planner import work_out
from genetics.season.request import Wishes
from herdbook.book.models import Animal
from tests.factories import AnimalFactory
from tests.pages.test_plan_season_page import ASKED, PAGE, ask, number_of, shown, words

pytestmark = pytest.mark.usefixtures("today")


def rows(*named):
    """As the form sends them: (sow, boar, way) typed in each row."""
    sent = {"named-TOTAL_FORMS": str(len(named)), "named-INITIAL_FORMS": "0"}
    for number, row in enumerate(named):
        for name, value in zip(("sow", "boar", "way"), row, strict=True):
            sent[f"named-{number}-{name}"] = value
    return sent


def asked_of(plan):
    return Wishes.of(plan.asked)


def test_it_works(owner_client, cast):
    page = words(owner_client.get(PAGE))
    assert "Pairs to keep or rule out" in page
    named = rows(("Tansy", "Rook", "hold"), ("Wren", "Bramble", "forbid"), ("", "", "hold"))
    plan = ask(owner_client, **named)
    assert asked_of(plan).held == ((cast.tansy.pk, cast.rook.pk),)
    assert asked_of(plan).forbidden == ((cast.wren.pk, cast.bramble.pk),)
    chosen = {(pair["sow"], pair["boar"]) for pair in plan.found["pairs"]}
    assert (cast.tansy.pk, cast.rook.pk) in chosen
    assert (cast.wren.pk, cast.bramble.pk) not in chosen
    assert "Thornmoor Tansy to Thornmoor Rook" in shown(owner_client, plan)


def test_the_pairs_of_a_plan_come_back_filled(owner_client, cast):
    plan = ask(owner_client, **rows(("Tansy", "Rook", "hold"), ("Wren", "Bramble", "forbid")))
    answer = owner_client.get(PAGE, {"plan": plan.public_id})
    page = answer.content.decode()
    assert 'name="named-0-sow" value="Thornmoor Tansy (3)"' in page
    assert 'name="named-1-boar" value="Thornmoor Bramble (1)"' in page
    assert re.search(r'name="named-1-way".*?value="forbid" selected', page, re.DOTALL)
    typed = {
        form.add_prefix(name): form[name].value() or ""
        for form in answer.context["named"]
        for name in form.fields
    }
    count = {"named-TOTAL_FORMS": "5", "named-INITIAL_FORMS": "2"}
    assert asked_of(ask(owner_client, **count, **typed)) == asked_of(plan)


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ([("Nettle", "Rook", "hold")], "No sow matches “Nettle”."),
        ([("Tansy", "", "hold")], "Name both, or clear the row."),
        ([("", "Rook", "forbid")], "Name both, or clear the row."),
        ([("Rook", "Bramble", "hold")], "Thornmoor Rook (5) is not recorded as a sow."),
        ([("Tansy", "Wren", "hold")], "Thornmoor Wren (2) is not recorded as a boar."),
        ([("Tansy", "Flint", "hold")], "Thornmoor Flint (4) is not in the herd"),
        (
            [("Tansy", "Rook", "hold"), ("Tansy", "Rook", "forbid")],
            "This pair is in a row above already. Clear one of them.",
        ),
        (
            [("Tansy", "Rook", "hold"), ("Tansy", "Bramble", "hold")],
            "You keep Thornmoor Tansy (3) with two boars. Release one.",
        ),
        ([("Tansy", "Rook", "perhaps")], "Choose one from the list."),
    ],
)
def test_it_refuses_what_cannot_be_and_keeps_the_rows(owner_client, cast, named, said):
    answer = owner_client.post(PAGE, ASKED | rows(*named))
    page = words(answer)
    assert said in page
    assert "Please fix the fields marked in red." in page
    assert f'name="named-0-sow" value="{named[0][0]}"' in answer.content.decode() or not named[0][0]
    assert '<details class="panel" id="named" open>' in answer.content.decode()
    assert not SeasonPlan.objects.exists()


def test_a_page_that_did_not_come_whole_is_told(owner_client, cast):
    sent = {name: value for name, value in ASKED.items() if not name.startswith("named")}
    assert "Part of the page is missing. Open it again." in words(owner_client.post(PAGE, sent))


def test_another_herds_animal_cannot_be_named(owner_client, cast, other_herd):
    AnimalFactory(herd=other_herd[1], sex="sow", name="Campion")
    answer = owner_client.post(PAGE, ASKED | rows(("Campion", "Rook", "hold")))
    assert "No sow matches “Campion”." in words(answer)


def test_a_pair_that_is_held_against_a_limit_can_be_let_go(owner_client, cast):
    held = rows(("Wren", "Bramble", "hold"))
    stuck = ask(owner_client, **held, resting=str(cast.wren.public_id))
    page = owner_client.get(stuck.get_absolute_url())
    assert "but that pair is not allowed: you rest her." in words(page)
    assert 'name="held-0"' in page.content.decode()
    owner_client.post(stuck.get_absolute_url(), {f"rest-{cast.wren.pk}": "on"})
    freed = asked_of(SeasonPlan.objects.first())
    assert (freed.held, freed.resting) == ((), (cast.wren.pk,))


def test_many_pairs_of_before_cost_no_more_queries(
    owner_client, cast, django_assert_max_num_queries
):
    AnimalFactory.create_batch(8, herd=cast.herd, sex="sow", bought_as="self")
    AnimalFactory.create_batch(3, herd=cast.herd, sex="boar", bought_as="overmarked")
    plan = ask(owner_client, pens="8", sows_a_boar="4")
    everyone = {f"pair-{number}": "hold" for number in range(8)}
    owner_client.post(plan.get_absolute_url(), everyone)
    again = SeasonPlan.objects.first()
    assert len(asked_of(again).held) == 8
    with django_assert_max_num_queries(18):
        owner_client.get(PAGE, {"plan": again.public_id})


@pytest.fixture
def many(cast):
    """Enough that are alike for plans as good as the best."""
    AnimalFactory.create_batch(4, herd=cast.herd, sex="sow", bought_as="self")
    AnimalFactory.create_batch(2, herd=cast.herd, sex="boar", bought_as="overmarked")
    return cast


def test_another_plan_is_shown_whole_and_taken_over(owner_client, many):
    forbidden = rows(("Sorrel", "Bramble", "forbid"))
    plan = ask(owner_client, pens="5", sows_a_boar="2", **forbidden)
    other = plan.found["others"][0]
    page = shown(owner_client, plan)
    assert f"All its {len(other['pairs'])} matings" in page
    whole = page.split("The pairs of plan 1")[1].split("Use plan 1")[0]
    for pair in other["pairs"]:
        names = [Animal.objects.get(pk=pair[name]).full_name for name in ("sow", "boar")]
        assert " ".join(names) in whole
    owner_client.post(plan.get_absolute_url(), {"take": "0"})
    taken = SeasonPlan.objects.first()
    wanted = {(pair["sow"], pair["boar"]) for pair in other["pairs"]}
    assert set(asked_of(taken).held) == wanted
    assert asked_of(taken).forbidden == ((many.sorrel.pk, many.bramble.pk),)
    work_out(taken)
    assert {(pair["sow"], pair["boar"]) for pair in taken.found["pairs"]} == wanted
    assert taken.found["value"] == pytest.approx(other["value"])
    page = shown(owner_client, taken)
    assert "You keep every pair of this plan." in page
    assert "The pairs that you keep stayed." in page


def test_all_held_pairs_are_let_go_at_once(owner_client, cast):
    plan = ask(owner_client)
    assert "Release all kept pairs" not in shown(owner_client, plan)
    held = {f"pair-{number_of(plan, sow)}": "hold" for sow in (cast.wren, cast.tansy)}
    owner_client.post(plan.get_absolute_url(), held)
    again = SeasonPlan.objects.first()
    assert len(asked_of(again).held) == 2
    work_out(again)
    assert "Release all kept pairs" in shown(owner_client, again)
    owner_client.post(again.get_absolute_url(), held | {"let_go": "on"})
    assert asked_of(SeasonPlan.objects.first()).held == ()


def test_a_plan_that_is_not_there_is_not_taken(owner_client, cast):
    plan = ask(owner_client)
    owner_client.post(plan.get_absolute_url(), {"take": "99"})
    assert asked_of(SeasonPlan.objects.first()) == asked_of(plan)


def test_what_is_assumed_of_pens_boars_and_days_is_told_alike(owner_client, cast):
    page = words(owner_client.get(PAGE))
    assert "Each sow needs one before she litters." in page
    assert "He is with all of them in one pen from the day he goes in" in page
    page = shown(owner_client, ask(owner_client))
    assert (
        "Each boar is assumed to run with all of his sows in one pen for all of these days, and "
        "each sow to have a pen of her own before she litters."
    ) in page
    assert "Boars are with their sows from 1 December to 18 December 2026." in page
    # 1 December and 59 days, 18 December and 73
    assert "Litters would be due 29 January 2027 to 1 March 2027." in page
    assert "Average relatedness is how related two pups of the plan would be" in page
