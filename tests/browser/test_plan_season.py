"""A season planned in a real browser, wide and on a phone."""

import re

import pytest

from genetics.models import SeasonPlan
from genetics.season.request import LEFT_OUT, WELFARE, Wishes
from genetics.season.result import FoundPlan, PairReason, PlannedPair, SeasonResult
from herdbook.book.partial_date import PartialDate
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll
from tests.factories import AnimalFactory, LitterFactory


@pytest.fixture(params=["desktop", "phone"])
def screen(request, transactional_db, today):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


def grown(herd, **values):
    litter = LitterFactory(herd=herd, born=PartialDate(2026, 7, 1), source="paper")
    return AnimalFactory(herd=herd, litter=litter, **values)


def test_a_plan_is_asked_for_read_and_solved_again(screen, live_server, cast):
    for name in ("Campion", "Speedwell", "Betony"):
        grown(cast.herd, sex="sow", bought_as="self", name=name)
    grown(cast.herd, sex="boar", bought_as="overmarked", name="Hawthorn")
    screen.goto(live_server.url)
    screen.get_by_role("link", name="Season plan").first.click()
    screen.get_by_role("heading", level=1, name="Season plan").wait_for()
    for part in ("Value of a pup", "Cautions that leave animals out"):
        screen.locator("summary", has_text=part).click()
    left_out = set(LEFT_OUT) - set(WELFARE)
    assert screen.get_by_role("checkbox", checked=True).count() == len(left_out)
    assert not screen.get_by_label("Allow pairs that may give lethal whites").is_checked()
    assert not screen.get_by_label("Allow satins").is_checked()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_label("Pens").fill("4")
    screen.get_by_label("Most sows to a boar").fill("3")
    screen.get_by_label("Body colour wanted").select_option("cream")
    screen.get_by_label("Colour of points wanted").select_option("chocolate")
    screen.get_by_text("Pairs to keep or rule out").click()
    first = screen.get_by_role("group", name="Pair 1")
    first.get_by_label("Sow").fill("Speedwell")
    first.get_by_label("Boar").fill("Hawthorne")
    screen.get_by_role("button", name="Make a plan").click()
    screen.get_by_text("No boar matches “Hawthorne”.").wait_for()
    assert first.get_by_label("Sow").input_value() == "Speedwell"
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    first.get_by_label("Boar").fill("Hawthorn")
    screen.get_by_role("button", name="Make a plan").click()
    screen.get_by_role("heading", level=1, name="Season plan").wait_for()
    screen.get_by_text("No other plan within your settings gives more.").wait_for(timeout=60_000)
    assert screen.get_by_role("rowheader", name="Thornmoor Campion").is_visible()
    assert screen.get_by_text("Showable, cream with chocolate points").is_visible()
    for part in ("Colour records", "Other good plans"):
        screen.locator("summary", has_text=part).click()
    assert screen.get_by_text("Red, cream or white").is_visible()
    assert screen.get_by_label("Thornmoor Speedwell to Thornmoor Hawthorn").input_value() == "hold"
    screen.get_by_text("matings", exact=False).and_(screen.locator("summary")).first.click()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_label("Thornmoor Campion to").select_option("rest")
    screen.get_by_role("button", name="Plan again", exact=True).click()
    screen.locator("summary", has_text="Sows not mated").click(timeout=60_000)
    assert screen.get_by_text("Rested by you:").is_visible()
    assert screen.get_by_label("Thornmoor Campion", exact=True).is_checked()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.locator("summary", has_text="Other good plans").click()
    screen.get_by_role("button", name="Use plan 1").click()
    screen.get_by_role("button", name="Release all kept pairs").wait_for(timeout=60_000)
    screen.get_by_role("link", name="Change the settings").click()
    assert screen.get_by_label("Body colour wanted").input_value() == "cream"
    screen.go_back()
    screen.emulate_media(media="print")
    assert not screen.get_by_role("button", name="Plan again", exact=True).is_visible()
    assert screen.get_by_role("rowheader").first.is_visible()


def test_thirty_pairs_print_on_one_page(desktop, live_server, cast, today):
    sows = AnimalFactory.create_batch(30, herd=cast.herd, sex="sow")
    boars = AnimalFactory.create_batch(8, herd=cast.herd, sex="boar")
    pairs = tuple(
        PlannedPair(sow.pk, boars[n % 8].pk, 2.9, 1.4, 0.7, 0.0, 0.8, 0.01, 0.0, 0.0)
        for n, sow in enumerate(sows)
    )
    reasons = {pair.sow: PairReason("full", boars[0].pk, 0.8) for pair in pairs}
    result = SeasonResult(plan=FoundPlan(24.0, 24.0, True, 0.14, pairs), proven=True, why=reasons)
    plan = SeasonPlan.objects.create(
        herd=cast.herd,
        asked=Wishes(today, today, pens=30, sows_a_boar=4).as_data(),
        found=result.as_data(),
    )
    desktop.goto(live_server.url + plan.get_absolute_url())
    assert desktop.get_by_role("rowheader").count() == 30
    printed = desktop.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


def test_names_without_a_space_do_not_widen_the_page(phone, live_server, cast, today):
    type(cast.wren).objects.filter(pk=cast.wren.pk).update(name="Wren" * 18)
    phone.goto(f"{live_server.url}/season/")
    phone.get_by_role("button", name="Make a plan").click()
    phone.get_by_text("No other plan within your settings gives more.").wait_for(timeout=60_000)
    assert_no_sideways_scroll(phone)


@pytest.mark.parametrize("address", ["/season/", "/herd/limits/"])
def test_legends_stand_inside_their_boxes(desktop, live_server, cast, today, address):
    desktop.goto(live_server.url + address)
    boxes = desktop.locator("fieldset.panel")
    assert boxes.count() > 1
    for box in boxes.all():
        frame, legend = box.bounding_box(), box.locator("legend").first.bounding_box()
        # one rem of padding, as in any other box
        assert legend["y"] - frame["y"] >= 16
