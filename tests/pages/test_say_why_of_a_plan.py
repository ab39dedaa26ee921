"""The page of a season's plan says why sows rest, what keeps a held pair out, what care costs."""

import re

import pytest

from genetics.models import SeasonPlan
from genetics.season.planner import work_out
from herdbook.book.formatting import coefficient
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory
from tests.pages.test_plan_season_page import ask, number_of, shown

pytestmark = pytest.mark.usefixtures("today")


def test_it_works(owner_client, cast):
    page = shown(owner_client, ask(owner_client, pens="1"))
    assert re.search(r"Who rests.* the pens are full", page)
    assert "the pens do more with others" not in page


def test_full_pens_are_not_blamed_where_boars_have_their_sows(owner_client, cast):
    page = shown(owner_client, ask(owner_client, pens="10", sows_a_boar="1", inbreeding=""))
    assert "the pens are full" not in page
    assert re.search(r"only Thornmoor \w+, Thornmoor \w+ may go to her, and they have all", page)


def test_too_near_kin_is_told_with_the_limit(owner_client, cast):
    page = shown(owner_client, ask(owner_client, inbreeding="5"))
    why = "no boar may go to her: too near kin for the 5% you allow"
    assert f"{why}: Thornmoor Sorrel" in page


def test_a_plan_of_before_says_no_more_than_it_knows(owner_client, cast):
    plan = ask(owner_client, pens="1")
    for one in plan.found["rests"]:
        sow = one.pop("sow")
        one.clear()
        one |= {"sow": sow, "why": "others"}
    del plan.found["care"]
    plan.save()
    page = shown(owner_client, plan)
    assert "not in the plan that gives most: Thornmoor" in page
    assert "What care costs" not in page


def test_the_limit_that_keeps_a_held_pair_out_is_named_with_both_figures(owner_client, cast):
    plan = ask(owner_client, inbreeding="")
    sorrel = plan.found["pairs"][number_of(plan, cast.sorrel)]
    owner_client.post(plan.get_absolute_url(), {f"pair-{number_of(plan, cast.sorrel)}": "hold"})
    held = SeasonPlan.objects.first()
    held.asked["inbreeding"] = 0.0504
    held.save()
    work_out(held)
    percent = coefficient(sorrel["inbreeding"])
    page = shown(owner_client, held)
    assert (
        f"and that pair stays out: its litter would be inbred to {percent}, and you allow 5.04%."
        in page
    )


def test_what_care_costs_is_told_and_invites_nobody(owner_client, cast):
    litter = LitterFactory(herd=cast.herd, born=PartialDate(2026, 10, 20), source="paper")
    AnimalFactory(herd=cast.herd, sex="sow", bought_as="self", litter=litter)
    assert "What care costs" not in shown(owner_client, ask(owner_client))
    page = shown(owner_client, ask(owner_client, pens="10", left_out=["sow-young"]))
    assert (
        "These stay out for the animals' sake. The figures say what the plan goes without; they "
        "are no reason to let one in. A vet decides."
    ) in page.replace("&#x27;", "'")
    assert re.search(
        r"Sow too young: 1 sow ?she is still growing herself \d\.\d showable pups fewer", page
    )
