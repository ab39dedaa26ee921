"""The pages of the season's plan: asked for, waited for, read, solved again."""

import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from genetics.colours.carriers import Looks
from genetics.figures.refresh import Freshness, ensure_current
from genetics.models import Job, SeasonPlan
from genetics.season import planner
from genetics.season.planner import work_out
from genetics.season.request import Wishes
from herdbook.book.models import Animal, GivenEvidence
from tests.factories import AnimalFactory, JudgementFactory

PAGE = "/season/"
ASKED = {
    "boar_in": "2026-12-01",
    "boar_out": "2026-12-18",
    "pens": "3",
    "sows_a_boar": "2",
    "inbreeding": "25",
    "one": "1",
    "two": "0",
    "named-TOTAL_FORMS": "0",
    "named-INITIAL_FORMS": "0",
}


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


def words(response):
    assert response.status_code == 200
    return re.sub(r"\s+", " ", strip_tags(response.content.decode()))


def ask(client, **values):
    """Ask for a plan and have it worked out; gives it."""
    answer = client.post(PAGE, ASKED | values)
    assert answer.status_code == 302, words(answer)
    plan = SeasonPlan.objects.first()
    assert answer["Location"] == plan.get_absolute_url()
    work_out(plan)
    return plan


def shown(client, plan):
    return words(client.get(plan.get_absolute_url()))


def test_possible_sires_taken_as_written_are_told(owner_client, cast, monkeypatch):
    assert "each possible sire counts as recorded" not in shown(owner_client, ask(owner_client))
    monkeypatch.setattr(planner, "ensure_current", lambda: Freshness(False, 0))
    assert "each possible sire counts as recorded" in shown(owner_client, ask(owner_client, pens=2))


def test_it_works(owner_client, cast):
    page = shown(owner_client, ask(owner_client))
    assert "No other plan within your settings gives more." in page
    assert "Of all plans that give as much, this one makes the least related pups." in page
    assert "Thornmoor Wren" in page
    assert "Litters would be due 29 January 2027 to 1 March 2027." in page
    assert "If one limit were eased" in page
    assert re.search(r"Showable pups\s*\d\.\d", page)
    assert re.search(r"This plan gives \d\.\d showable pups\.", page)
    assert re.search(r"One more pen (\d\.\d more|nothing)", page)
    assert "showable 1, overmarked 0" in page
    assert "Inbreeding of a litter up to 37.5%" in page
    assert "at most 25%" in page


def test_the_form_starts_from_the_herds_limits(owner_client):
    page = owner_client.get(PAGE).content.decode()
    assert 'name="inbreeding" value="12.5"' in page
    assert 'name="boar_out" value="2026-12-12"' in page


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"pens": ""}, "Fill this in."),
        ({"pens": "0"}, "Enter 1 or more."),
        ({"boar_out": "2026-11-30"}, "The boar comes out before he goes in."),
        ({"boar_in": "2020-03-01", "boar_out": "2020-03-18"}, "These dates are in the past."),
        ({"boar_in": "2026-11-01", "boar_out": ""}, "These dates are in the past."),
        ({"boar_in": "9999-12-31", "boar_out": ""}, "Enter a year from 1900 to 2199."),
        ({"boar_in": "0001-01-01"}, "Enter a year from 1900 to 2199."),
        ({"boar_out": "9999-12-31"}, "Enter a year from 1900 to 2199."),
        ({"resting": "9" * 20}, "Please fix the fields marked in red."),
        ({"one": "0"}, "Enter a value for showable or overmarked pups."),
        ({"coancestry": "0"}, "Enter more than 0, or leave it blank."),
        ({"inbreeding": "101"}, "Enter 100 or less."),
        ({"body": "green"}, "Choose one from the list."),
        ({"left_out": "rain"}, "Choose one from the list."),
    ],
)
def test_it_refuses_what_cannot_be_and_keeps_the_form(owner_client, cast, values, said):
    answer = owner_client.post(PAGE, ASKED | {"least_one": "7.5"} | values)
    assert said in words(answer)
    assert 'value="7.5"' in answer.content.decode()
    assert not SeasonPlan.objects.exists()


def test_another_herds_sow_cannot_be_put_to_rest(owner_client, cast, other_herd):
    stranger = AnimalFactory(herd=other_herd[1], sex="sow")
    answer = owner_client.post(PAGE, ASKED | {"resting": str(stranger.public_id)})
    assert "Choose one from the list" in words(answer)


def test_a_plan_under_way_says_how_far_it_is(owner_client, cast):
    owner_client.post(PAGE, ASKED)
    plan = SeasonPlan.objects.get()
    Job.objects.update(state=Job.State.RUNNING, note="Round 1: so far so good.", progress=0.4)
    page = owner_client.get(plan.get_absolute_url())
    assert "Round 1: so far so good." in words(page)
    assert reverse("job", args=[plan.job.public_id]) in page.content.decode()
    assert "Refresh" in words(page)


def test_a_second_tap_leads_to_the_plan_of_the_first(owner_client, cast):
    first, second = (owner_client.post(PAGE, ASKED)["Location"] for _ in range(2))
    assert first == second
    assert owner_client.post(PAGE, ASKED | {"pens": "2"})["Location"] != first
    Job.objects.update(state=Job.State.FAILED)
    assert owner_client.post(PAGE, ASKED)["Location"] != first


def test_one_that_failed_is_not_said_to_be_under_way(owner_client, cast):
    owner_client.post(PAGE, ASKED)
    Job.objects.update(state=Job.State.FAILED)
    page = words(owner_client.get(PAGE))
    assert "could not be worked out" in page
    assert "being worked out" not in page


def number_of(plan, sow):
    return next(n for n, pair in enumerate(plan.found["pairs"]) if pair["sow"] == sow.pk)


def test_pairs_are_held_and_forbidden_and_solved_again(owner_client, cast):
    plan = ask(owner_client)
    forbidden = plan.found["pairs"][number_of(plan, cast.wren)]
    sent = {
        f"pair-{number_of(plan, cast.wren)}": "forbid",
        f"pair-{number_of(plan, cast.tansy)}": "hold",
    }
    owner_client.post(plan.get_absolute_url(), sent)
    again = SeasonPlan.objects.first()
    assert again != plan
    wishes = Wishes.of(again.asked)
    assert wishes.forbidden == ((forbidden["sow"], forbidden["boar"]),)
    assert [sow for sow, _ in wishes.held] == [cast.tansy.pk]
    assert (wishes.pens, wishes.sows_a_boar, wishes.inbreeding) == (3, 2, 0.25)
    work_out(again)
    page = shown(owner_client, again)
    assert "kept by you" in page
    assert "Pairs ruled out" in page
    # the tick stays, so the pair stays forbidden; without it the pair is free again
    pairs = {f"pair-{number_of(again, cast.tansy)}": "hold"}
    owner_client.post(again.get_absolute_url(), pairs | {"forbidden-0": "on"})
    assert Wishes.of(SeasonPlan.objects.first().asked) == wishes
    owner_client.post(again.get_absolute_url(), pairs)
    assert Wishes.of(SeasonPlan.objects.first().asked).forbidden == ()


def test_a_held_pair_that_cannot_be_kept_is_told(owner_client, cast):
    AnimalFactory(herd=cast.herd, sex="boar", name="Alder", number="7")
    plan = ask(owner_client, inbreeding="")
    held = plan.found["pairs"][0]
    Animal.objects.filter(pk=held["boar"]).update(state="died")
    owner_client.post(plan.get_absolute_url(), {"pair-0": "hold"})
    again = SeasonPlan.objects.first()
    work_out(again)
    assert again.found["pairs"]
    names = [Animal.objects.get(pk=held[name]).full_name for name in ("sow", "boar")]
    page = shown(owner_client, again)
    assert f"so the plan leaves them out: {names[0]} to {names[1]}." in page


def test_a_sow_is_let_rest(owner_client, cast):
    plan = ask(owner_client)
    owner_client.post(plan.get_absolute_url(), {f"pair-{number_of(plan, cast.wren)}": "rest"})
    again = SeasonPlan.objects.first()
    work_out(again)
    page = shown(owner_client, again)
    assert "Rested by you: Thornmoor Wren" in page


def test_limits_that_leave_no_plan_say_which_to_loosen(owner_client, cast):
    page = shown(owner_client, ask(owner_client, least_one="500", coancestry="90"))
    assert "No plan is possible within these settings" in page
    assert "Ask for fewer pups: no plan within your other settings has more than" in page
    assert "Raise the average relatedness" not in page


def test_a_mean_coancestry_out_of_reach_says_one_that_may_be_typed(owner_client, cast):
    page = shown(owner_client, ask(owner_client, coancestry="1"))
    enough = float(re.search(r"least related plan within .* has ([\d.]+)%", page)[1])
    assert ask(owner_client, coancestry=f"{enough:.1f}").found["pairs"]
    assert "none" in ask(owner_client, coancestry=f"{enough - 0.2:.1f}").found


def test_the_limits_are_changed_from_a_plan(owner_client, cast):
    plan = ask(owner_client, coancestry="33.25")
    page = owner_client.get(PAGE, {"plan": plan.public_id}).content.decode()
    assert 'name="coancestry" value="33.25"' in page
    assert 'name="pens" value="3"' in page
    assert plan.get_absolute_url() in page


def test_a_plan_of_before_says_that_the_book_has_changed(owner_client, cast):
    plan = ask(owner_client)
    assert "Records have changed since this plan was made." not in shown(owner_client, plan)
    SeasonPlan.objects.update(revision=plan.revision + 1)
    assert "Records have changed since this plan was made." in shown(owner_client, plan)


NEW = ("outlook", "least_related", "pairs_out", "risks_unknown")


def of_before(plan):
    """The plan as it was kept when plans counted pups as born."""
    found = {key: value for key, value in plan.found.items() if key not in NEW}
    asked = {key: value for key, value in plan.asked.items() if key != "counted"}
    SeasonPlan.objects.filter(pk=plan.pk).update(found=found, asked=asked)
    return plan


def test_a_plan_that_counted_pups_as_born_says_so_and_is_solved_again_as_now(owner_client, cast):
    plan = of_before(ask(owner_client))
    page = shown(owner_client, plan)
    assert "This plan counts pups as born" in page
    assert re.search(r"This plan gives \d\.\d clean marked pups\.", page)
    assert "clean marked 1, overmarked 0, as born" in page
    assert "alive at 28 days and good enough." in page
    assert "judged no clean marked" not in page
    owner_client.post(plan.get_absolute_url(), {})
    again = SeasonPlan.objects.first()
    work_out(again)
    page = shown(owner_client, again)
    assert "counts pups as born" not in page
    assert re.search(r"This plan gives \d\.\d showable pups\.", page)


def test_a_herd_that_judged_nobody_is_told_what_share_is_taken(owner_client, cast):
    taken = "are assumed good enough to show (common practice, no source)."
    assert "50% of clean marked pups is assumed, as you have judged none" in words(
        owner_client.get(PAGE)
    )
    page = shown(owner_client, ask(owner_client))
    assert f"{taken} Another share would change the number, but not which pairs are best." in page
    page = shown(owner_client, ask(owner_client, two="0.5"))
    assert f"{taken} Another share would change how showable pups weigh" in page


def test_a_herd_that_judged_some_is_told_how_many(owner_client, cast):
    for verdict in ("showable", "pet"):
        animal = AnimalFactory(herd=cast.herd, state="sold")
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, like0=0, like1=1, like2=0)
        JudgementFactory(animal=animal, on=date(2026, 11, 25), verdict=verdict)
    ensure_current()
    said = "50% of clean marked pups. You judged 1 of 2 good enough;"
    assert said in words(owner_client.get(PAGE))
    page = shown(owner_client, ask(owner_client))
    assert said in page
    assert "judged no clean marked" not in page


def test_an_animal_that_went_out_of_the_book_leaves_the_rest(owner_client, cast):
    plan = ask(owner_client)
    cast.tansy.delete()
    page = shown(owner_client, plan)
    assert "Thornmoor Wren" in page
    assert "Tansy" not in page


def test_an_empty_herd_is_told_that_nobody_can_be_mated(client, other_herd):
    client.force_login(other_herd[0])
    assert "No pair is allowed at all" in shown(client, ask(client))


def test_more_pairs_cost_no_more_queries(owner_client, cast, django_assert_max_num_queries):
    AnimalFactory.create_batch(12, herd=cast.herd, sex="sow", bought_as="self")
    AnimalFactory.create_batch(4, herd=cast.herd, sex="boar", bought_as="overmarked")
    plan = ask(owner_client, pens="12", sows_a_boar="4", body="cream", colour_more="1")
    assert len(plan.found["pairs"]) == 12
    with django_assert_max_num_queries(16):
        owner_client.get(plan.get_absolute_url())
    with django_assert_max_num_queries(16):
        owner_client.get(PAGE)


def test_the_breeding_pages_lead_here(owner_client, cast):
    for address in ("/", "/matings/", "/lines/"):
        assert 'href="/season/"' in owner_client.get(address).content.decode()


def test_papers_in_doubt_are_told_beside_a_pair(owner_client, cast):
    of_doses = ((cast.wren, 0), (cast.bramble, 0), (cast.rook, 1), (cast.sorrel, 1))
    for animal, dose in of_doses:
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)
    assert re.search(r"Sorrel .*pedigree in doubt", shown(owner_client, ask(owner_client)))
    page = shown(owner_client, ask(owner_client, left_out=["papers-in-doubt"]))
    assert re.search(r"Sows not mated.* Pedigree in doubt: Thornmoor Sorrel", page)


def test_a_colour_is_wanted(owner_client, cast):
    both = Animal.objects.filter(pk__in=[cast.wren.pk, cast.bramble.pk])
    both.update(coat="cream", point_colour="chocolate")
    plan = ask(owner_client, body="cream", points="chocolate", colour_more="2.5")
    page = shown(owner_client, plan)
    total = sum(pair["in_colour"] for pair in plan.found["pairs"])
    assert total > 0.5
    assert re.search(rf"Showable, cream with chocolate points\s*{total:.1f}", page)
    assert re.search(
        r"Colour wanted\s*cream with chocolate points: each such showable pup counts 2.5", page
    )
    assert re.search(r"This plan gives a score of \d+\.\d", page)
    assert re.search(r"Red, cream or white\s*recorded for 5 of 5 sows and boars", page)
    assert re.search(r"Black or chocolate\s*recorded for 2 of 5 sows and boars", page)
    assert "the two parents are treated as unrelated" in page
    wren = next(pair for pair in plan.found["pairs"] if pair["sow"] == cast.wren.pk)
    cells = owner_client.get(plan.get_absolute_url()).content.decode().split("Wren</a>")[1]
    told = re.search(r'data-label="Of that colour">([^<]*)<', cells).group(1)
    assert told == f"{wren['in_colour']:.1f}"


def test_a_colour_is_kept_and_offered_again(owner_client, cast):
    plan = ask(owner_client, body="white", points="black", colour_more="0.5")
    page = owner_client.get(PAGE, {"plan": plan.public_id}).content.decode()
    assert '<option value="white" selected>' in page
    assert '<option value="black" selected>' in page
    assert 'name="colour_more" value="0.5"' in page
    owner_client.post(plan.get_absolute_url(), {f"pair-{number_of(plan, cast.wren)}": "hold"})
    again = Wishes.of(SeasonPlan.objects.first().asked)
    assert (again.body, again.points, again.colour_more) == ("white", "black", 0.5)


def test_without_a_colour_nothing_is_said_of_it(owner_client, cast):
    page = shown(owner_client, ask(owner_client, colour_more="3"))
    assert re.search(r"This plan gives \d+\.\d showable pups", page)
    assert "Of that colour" not in page
    assert "Colour wanted" not in page
    assert "Colour records" not in page


def test_a_colour_alone_may_count(owner_client, cast):
    page = shown(owner_client, ask(owner_client, one="0", body="white", colour_more="1"))
    assert "Showable, white" in page
    assert "showable pups of that colour" in page
    answer = owner_client.post(PAGE, ASKED | {"one": "0", "colour_more": "1"})
    assert "Enter a value for showable or overmarked pups." in words(answer)


def test_a_colour_that_is_told_alone(owner_client, cast):
    page = shown(owner_client, ask(owner_client, body="white", colour_more="0"))
    assert "white: shown, not counted" in page
    assert "Showable, white" in page
    assert re.search(r"This plan gives \d+\.\d showable pups\.", page)


def test_colours_that_cannot_be_worked_out_make_no_plan(owner_client, cast, monkeypatch):
    reckon = Looks.reckon

    def tangled(looks, gene, **given):
        dose = reckon(looks, gene, **given)
        return replace(dose, chances=np.full_like(dose.chances, np.nan))

    monkeypatch.setattr(Looks, "reckon", tangled)
    page = shown(owner_client, ask(owner_client, body="cream", colour_more="1"))
    assert "No plan was made" in page
    assert "The colours of 5 sows and boars could not be worked out" in page
    assert "Plan again without a colour." in page
    assert "If one limit were eased" not in page
