"""A season planned in a real browser, wide and on a phone."""

import pytest

from genetics.season.request import LEFT_OUT, WELFARE
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
    screen.get_by_role("link", name="Plan the season").first.click()
    screen.get_by_role("heading", level=1, name="Plan the season").wait_for()
    left_out = set(LEFT_OUT) - set(WELFARE)
    assert screen.get_by_role("checkbox", checked=True).count() == len(left_out)
    assert not screen.get_by_label("Let in pairs that may give lethal whites").is_checked()
    assert not screen.get_by_label("Let in satins").is_checked()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_label("Pens").fill("4")
    screen.get_by_label("Sows to a boar at most").fill("3")
    screen.get_by_label("Body colour wanted").select_option("cream")
    screen.get_by_label("Points wanted").select_option("chocolate")
    screen.get_by_text("Pairs to hold or to forbid").click()
    first = screen.get_by_role("group", name="Pair 1")
    first.get_by_label("Sow").fill("Speedwell")
    first.get_by_label("Boar").fill("Hawthorne")
    screen.get_by_role("button", name="Work out a plan").click()
    screen.get_by_text("No boar matches “Hawthorne”.").wait_for()
    assert first.get_by_label("Sow").input_value() == "Speedwell"
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    first.get_by_label("Boar").fill("Hawthorn")
    screen.get_by_role("button", name="Work out a plan").click()
    screen.get_by_role("heading", level=1, name="Season plan").wait_for()
    screen.get_by_text("No plan within these limits gives more than").wait_for(timeout=60_000)
    assert screen.get_by_role("rowheader", name="Thornmoor Campion").is_visible()
    assert screen.get_by_text("Showable, cream with chocolate points").is_visible()
    assert screen.get_by_role("heading", name="What the colour rests on").is_visible()
    assert screen.get_by_label("Thornmoor Speedwell to Thornmoor Hawthorn").input_value() == "hold"
    screen.get_by_text("matings", exact=False).and_(screen.locator("summary")).first.click()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_label("Thornmoor Campion to").select_option("rest")
    screen.get_by_role("button", name="Solve again", exact=True).click()
    screen.get_by_text("kept at rest by you").wait_for(timeout=60_000)
    assert screen.get_by_label("Thornmoor Campion", exact=True).is_checked()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_role("button", name="Take plan 1").click()
    screen.get_by_role("button", name="Let go of all held pairs").wait_for(timeout=60_000)
    screen.get_by_role("link", name="Change the limits").click()
    assert screen.get_by_label("Body colour wanted").input_value() == "cream"
    screen.go_back()
    screen.emulate_media(media="print")
    assert not screen.get_by_role("button", name="Solve again", exact=True).is_visible()
    assert screen.get_by_role("rowheader").first.is_visible()


def test_names_without_a_space_do_not_widen_the_page(phone, live_server, cast, today):
    type(cast.wren).objects.filter(pk=cast.wren.pk).update(name="Wren" * 18)
    phone.goto(f"{live_server.url}/season/")
    phone.get_by_role("button", name="Work out a plan").click()
    phone.get_by_text("No plan within these limits gives more than").wait_for(timeout=60_000)
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
