"""The pages of looking ahead: what is asked for, what came of it, and what is refused."""

import re
from dataclasses import asdict

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from genetics.figures.refresh import ensure_current
from genetics.herd.projection import FIRST_MATED_DAYS, ProjectionRequest, breed_on
from genetics.models import Job, LookAhead
from herdbook.book import limits
from herdbook.book.models import Animal, GivenEvidence, Limits, Litter
from herdbook.pages.ahead.plot import plot_rules
from tests.conftest import TODAY
from tests.factories import AnimalFactory, JudgementFactory

PAGE = "/ahead/"
SENT = {
    "policies": ["least-kin", "one-dose-to-self"],
    "lost_boar": "",
    "seasons": "3",
    "sows": "1",
    "boars": "2",
    "young_sows": "1",
    "young_boars": "1",
    "losses": "27",
    "showable": "",
}
ASKED = ProjectionRequest(("least-kin", "one-dose-to-self"), 3, 2, 1, 1, 1, 0.27)


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


def words(response):
    assert response.status_code == 200
    return re.sub(r"\s+", " ", strip_tags(response.content.decode()))


def tried(cast, asked=ASKED):
    """A look ahead that is done."""
    found = breed_on(cast.herd, asked, TODAY)
    return LookAhead.objects.create(herd=cast.herd, revision=1, asked=asdict(asked), found=found)


def test_it_works(owner_client, cast):
    page = words(owner_client.get(PAGE))
    assert "See where a breeding rule leads in a few years" in page
    answer = owner_client.post(PAGE, SENT)
    row = LookAhead.objects.get()
    assert answer["Location"] == reverse("look-ahead", args=[row.public_id])
    assert ProjectionRequest.from_plain(row.asked) == ASKED
    assert row.job.user == cast.owner
    waiting = owner_client.get(answer["Location"])
    assert "This is being worked out" in words(waiting)
    assert reverse("job", args=[row.job.public_id]) in waiting.content.decode()


def starts_with(client):
    return client.get(PAGE).context["form"].initial


def test_it_starts_from_what_is_usual_where_the_herd_has_no_figures(owner_client, cast):
    Litter.objects.filter(pk=cast.march_litter.pk).update(source="paper")
    page = words(owner_client.get(PAGE))
    # 27 per cent of all born (abstract on long-haired guinea pigs); a half: common practice
    assert (starts_with(owner_client)["losses"], starts_with(owner_client)["showable"]) == (27, 50)
    assert "most of them born dead. You have recorded no losses yet." in page
    assert "You have judged none yet, so half is assumed (common practice, no source)." in page


def test_it_starts_from_the_herds_own_shares(owner_client, cast):
    Litter.objects.filter(pk=cast.march_litter.pk).update(born_alive=77, born_dead=3)
    animals = AnimalFactory.create_batch(6, herd=cast.herd, state="sold")
    for animal in animals:
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, like0=0, like1=1, like2=0)
        JudgementFactory(animal=animal, on=TODAY, verdict="showable")
    ensure_current()
    starts = starts_with(owner_client)
    # born dead 3 + 20 x 21.6% of 80 + 20; of two pups none lost, beside 20 by the study
    lost = 20 * 0.054 / 0.784 / 22
    assert starts["losses"] == round(100 * (1 - (1 - (3 + 4.32) / 100) * (1 - lost)))
    assert starts["showable"] == round(100 * (6 + 2) / (6 + 4))
    page = words(owner_client.get(PAGE))
    assert "your own records (3 of 80 born dead, 0 of 2 born alive lost)" in page
    assert "You judged 6 of 6 good enough;" in page
    sent = SENT | {"losses": str(starts["losses"]), "showable": str(starts["showable"])}
    owner_client.post(PAGE, sent)
    assert ProjectionRequest.from_plain(LookAhead.objects.get().asked).showable == 0.8


def test_a_boar_may_be_lost_with_the_rules_that_are_ticked_at_first(owner_client, cast):
    page = words(owner_client.get(PAGE))
    assert "Each rule runs a second time without him. Choose at most two rules." in page
    policies = starts_with(owner_client)["policies"]
    owner_client.post(PAGE, SENT | {"policies": policies, "lost_boar": "Rook", "boars": "1"})
    assert len(ProjectionRequest.from_plain(LookAhead.objects.get().asked).series) == 4


def test_a_second_tap_leads_to_the_one_under_way(owner_client, cast):
    first, second = (owner_client.post(PAGE, SENT)["Location"] for _ in range(2))
    assert first == second
    assert owner_client.post(PAGE, SENT | {"seasons": "2"})["Location"] != first


def test_what_came_of_it(owner_client, cast):
    row = tried(cast)
    response = owner_client.get(reverse("look-ahead", args=[row.public_id]))
    page = words(response)
    assert "3 seasons ahead" in page
    assert "1 sow is mated once to 2 boars. Kept each season: 1 young sows, 1 young boars." in page
    assert "Most unrelated" in page
    assert "Clean marked to self" in page
    assert "Showable" not in page
    assert "relatives together. Pups then inherit by Mendel" in page
    assert "Litters have 1 to 6 pups, 2.7 on average" in page
    assert "27% of the pups born are lost." in page
    assert "2 sows are left out" in page
    source = response.content.decode()
    assert source.count('class="plot"') == 3
    assert source.count("<polyline") == 6
    assert "style=" not in source
    # each season and the glance tell the same middle figure
    lines = row.found["series"][0]["measures"]["lines"][2]
    assert f"{lines[1]:.1f}" in page


def test_the_age_at_first_mating_is_held_against_the_limits(owner_client, cast):
    assert limits.SOW_MATED_FROM_DAYS <= FIRST_MATED_DAYS <= limits.FIRST_CONCEPTION_LATEST_DAYS
    assert limits.BOAR_MATED_FROM_DAYS <= FIRST_MATED_DAYS
    address = reverse("look-ahead", args=[tried(cast).public_id])
    page = words(owner_client.get(address))
    assert "at about 115 days" in page
    assert "Your own limit" not in page
    Limits.objects.create(herd=cast.herd, sow_mated_from_days=150)
    assert "Your own limit for sows is later: 150 days." in words(owner_client.get(address))


def test_it_is_listed_to_be_seen_again(owner_client, cast):
    row = tried(
        cast, ProjectionRequest(("least-kin",), 2, 1, 1, 1, 1, 0.27, lost_boar=cast.bramble.pk)
    )
    page = owner_client.get(PAGE)
    assert "Most unrelated; Most unrelated, without Thornmoor Bramble" in words(page)
    assert reverse("look-ahead", args=[row.public_id]) in page.content.decode()
    Animal.objects.filter(pk=cast.bramble.pk).update(number="", name="Bracken")
    assert "without Thornmoor Bracken" in words(owner_client.get(PAGE))


def test_the_share_good_enough_has_a_column_and_the_plot(owner_client, cast):
    row = tried(cast, ProjectionRequest(("least-kin",), 2, 1, 1, 1, 1, 0.27, showable=0.6))
    page = words(owner_client.get(reverse("look-ahead", args=[row.public_id])))
    assert "Showable" in page
    assert "Showable pups per litter" in page
    assert "60% of clean marked pups are good enough to show." in page


def test_a_season_without_a_pup_is_a_dash(owner_client, cast):
    row = tried(cast, ProjectionRequest(("least-kin",), 2, 1, 1, 1, 1, 1.0))
    assert "–" in words(owner_client.get(reverse("look-ahead", args=[row.public_id])))


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ({"trouble": "pedigree"}, "The recorded pedigree contradicts itself"),
        ({"trouble": "stock"}, "There was no boar or no sow left in the herd"),
        ({}, "This was not worked out. Try again."),
    ],
)
def test_what_could_not_be_worked_out(owner_client, cast, found, said):
    row = LookAhead.objects.create(herd=cast.herd, revision=1, asked=asdict(ASKED), found=found)
    assert said in words(owner_client.get(reverse("look-ahead", args=[row.public_id])))


def test_a_job_that_failed_says_so(owner_client, cast):
    job = Job.objects.create(kind="look ahead", user=cast.owner, state="failed")
    row = LookAhead.objects.create(herd=cast.herd, revision=1, asked=asdict(ASKED), job=job)
    page = words(owner_client.get(reverse("look-ahead", args=[row.public_id])))
    assert "This could not be worked out." in page


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"policies": []}, "Choose at least one rule."),
        ({"policies": ["by-the-moon"]}, "Choose one from the list."),
        ({"seasons": "11"}, "Enter 10 or less."),
        ({"seasons": ""}, "Fill this in."),
        ({"sows": "2"}, "Only 1 sow in the herd can be mated."),
        ({"boars": "3"}, "Only 2 boars are in the herd."),
        ({"boars": "some"}, "This must be a whole number."),
        ({"young_sows": "2"}, "This is more than are mated. Enter fewer."),
        ({"losses": "101"}, "Enter 100 or less."),
        ({"losses": "nan"}, "This must be a number."),
        ({"lost_boar": "Flint"}, "Thornmoor Flint (4) is not a boar in the herd"),
        ({"lost_boar": "Wren"}, "Thornmoor Wren (2) is not a boar in the herd"),
        ({"lost_boar": "Nettle"}, "No boar matches “Nettle”."),
        (
            {"lost_boar": "Rook", "policies": ["least-kin", "closest-kin", "one-dose-to-self"]},
            "Choose at most two rules: each",
        ),
    ],
)
def test_it_refuses_what_cannot_be(owner_client, cast, sent, said):
    response = owner_client.post(PAGE, SENT | sent)
    page = words(response)
    assert said in page
    assert "Please fix the fields marked in red." in page
    assert not LookAhead.objects.exists()
    assert 'value="27"' in response.content.decode() or "losses" in sent


def test_it_refuses_to_lose_the_only_boar(owner_client, cast):
    Animal.objects.filter(pk=cast.rook.pk).update(state="sold")
    page = words(owner_client.post(PAGE, SENT | {"lost_boar": "Bramble", "boars": "1"}))
    assert "He is the only boar" in page


def test_a_herd_without_a_sow_to_mate(owner_client, cast):
    Animal.objects.filter(pk=cast.wren.pk).update(state="sold")
    page = words(owner_client.get(PAGE))
    assert "You need at least one boar and one sow in the herd that can be mated." in page
    assert "2 sows are left out: they are past the age for a first litter." in page
    assert words(owner_client.post(PAGE, SENT)) == page
    assert not LookAhead.objects.exists()


def test_another_herds_boar_cannot_be_lost(client, other_herd, cast):
    herd = other_herd[1]
    AnimalFactory(herd=herd, sex="boar")
    sow = AnimalFactory(herd=herd, sex="sow")
    Litter.objects.create(herd=herd, dam=sow)
    client.force_login(other_herd[0])
    page = words(client.post(PAGE, SENT | {"boars": "1", "lost_boar": "Bramble"}))
    assert "No boar matches" in page


def test_more_animals_cost_no_more_queries(owner_client, cast, django_assert_max_num_queries):
    AnimalFactory.create_batch(15, herd=cast.herd, sex="sow")
    for _ in range(5):
        row = LookAhead.objects.create(
            herd=cast.herd, revision=1, asked=asdict(ASKED), found=breed_on(cast.herd, ASKED, TODAY)
        )
    with django_assert_max_num_queries(20):
        words(owner_client.get(PAGE))
    with django_assert_max_num_queries(12):
        words(owner_client.get(reverse("look-ahead", args=[row.public_id])))


def test_a_plot_stands_where_its_figures_say():
    plot = plot_rules("x", "X", [[[0, 1, 2, 1], [1, 2, 4, 2]], [[None] * 4, [0, 0, 0, 0]]], str)
    first, second = plot.series
    assert [tick.words for tick in plot.values] == ["0.0", "1.0", "2.0", "3.0", "4.0"]
    assert first.marks[1].high == plot.frame.top
    assert first.marks[0].low == plot.frame.bottom
    assert first.marks[0].y == pytest.approx((3 * plot.frame.bottom + plot.frame.top) / 4)
    assert len(second.marks) == 1, "a season without a figure has no mark"
    assert second.marks[0].x > first.marks[1].x, "side by side"


def test_a_plot_of_nothing_but_zeros():
    plot = plot_rules("x", "X", [[[0, 0, 0, 0]]], str)
    assert plot.series[0].marks[0].y == plot.frame.bottom
    assert len(plot.values) == 2
