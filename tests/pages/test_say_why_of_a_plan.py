"""The page of a season's plan says why sows rest, what keeps a held pair out, what care costs."""

import datetime
import re

import pytest

from genetics.models import SeasonPlan
from genetics.season.planner import work_out
from genetics.season.request import BORN, Wishes
from genetics.season.result import PairReason, SeasonResult
from herdbook.book.formatting import coefficient
from herdbook.book.partial_date import PartialDate
from herdbook.pages.season import reasons, wording
from tests.factories import AnimalFactory, LitterFactory
from tests.pages.test_plan_season_page import ask, number_of, shown

pytestmark = pytest.mark.usefixtures("today")


def test_it_works(owner_client, cast):
    page = shown(owner_client, ask(owner_client, pens="1"))
    assert re.search(r"Sows not mated.* The pens are full", page)
    assert "the pens do more with others" not in page


def test_full_pens_are_not_blamed_where_boars_have_their_sows(owner_client, cast):
    page = shown(owner_client, ask(owner_client, pens="10", sows_a_boar="1", inbreeding=""))
    assert "the pens are full" not in page
    assert re.search(
        r"the only boars allowed for her, Thornmoor \w+, Thornmoor \w+, have as many", page
    )


def test_too_near_kin_is_told_with_the_limit(owner_client, cast):
    page = shown(owner_client, ask(owner_client, inbreeding="5"))
    why = "No boar is allowed for her: too closely related for your limit of 5%"
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
    assert "Not in the best plan: Thornmoor" in page
    assert "Welfare costs" not in page


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
        f"is not allowed: its litter would have {percent} inbreeding, above your limit of 5.04%."
        in page
    )


def test_what_care_costs_is_told_and_invites_nobody(owner_client, cast):
    litter = LitterFactory(herd=cast.herd, born=PartialDate(2026, 10, 20), source="paper")
    AnimalFactory(herd=cast.herd, sex="sow", bought_as="self", litter=litter)
    assert "Welfare costs" not in shown(owner_client, ask(owner_client))
    page = shown(owner_client, ask(owner_client, pens="10", left_out=["sow-young"]))
    assert (
        "These animals stay out for their own sake. The figures are what the plan forgoes in "
        "showable pups; they are no reason to let an animal in. A vet decides."
    ) in page
    assert re.search(r"Sow too young: 1 sow ?she is still growing \d\.\d fewer", page)


@pytest.mark.parametrize(
    ("values", "more"),
    [
        ({}, "more showable pups"),
        ({"one": 0.0, "two": 1.0}, "more overmarked pups"),
        ({"two": 1.0}, "a higher score"),
        ({"counted": BORN}, "more clean marked pups"),
    ],
)
def test_a_pair_that_no_other_boar_betters_claims_no_more(values, more):
    """Another boar may give as many and be less related: nothing is said of that."""
    day = datetime.date(2026, 11, 25)
    wishes = Wishes(boar_in=day, boar_out=day, pens=1, sows_a_boar=1, **values)
    assert reasons.why(PairReason("best"), {}, wishes) == f"no boar gives {more} with her"


@pytest.mark.parametrize("proven", [True, False])
def test_least_related_is_claimed_only_where_it_is_proven(proven):
    said = wording.least_related(SeasonResult(least_related=proven))
    assert ("Of all plans" in said) == proven
    assert ("may make less related ones" in said) != proven
