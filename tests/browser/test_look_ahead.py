"""Looking ahead in a real browser, wide and on a phone."""

import pytest

from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll


@pytest.fixture(params=["desktop", "phone"])
def screen(request, transactional_db, today):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


def test_rules_are_compared(screen, live_server, cast):
    screen.goto(f"{live_server.url}/matings/")
    screen.get_by_role("navigation", name="Breeding").get_by_role("link", name="Look ahead").click()
    screen.get_by_role("heading", level=1, name="Look ahead").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_role("checkbox", name="Overmarked to self").uncheck()
    screen.get_by_role("checkbox", name="Most unrelated").check()
    screen.get_by_label("Seasons (half a year each)").fill("3")
    screen.get_by_role("button", name="Run").click()
    screen.get_by_role("heading", level=1, name="3 seasons ahead").wait_for()
    # the page is loaded again when the job is done
    screen.get_by_role("heading", name="Result in season 3").wait_for(timeout=60_000)
    assert screen.locator("svg.plot").count() == 3
    assert screen.locator("svg.plot g.rule").count() == 6
    screen.locator("summary", has_text="Most unrelated").click()
    assert screen.get_by_role("rowheader", name="2", exact=True).first.is_visible()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


def test_a_refusal_keeps_what_was_typed(screen, live_server, cast):
    screen.goto(f"{live_server.url}/ahead/")
    screen.get_by_text("How the herd is run").click()
    screen.get_by_label("Sows mated each season").fill("40")
    screen.get_by_label("Clean marked pups good enough").fill("55")
    screen.get_by_role("button", name="Run").click()
    screen.get_by_text("Only 1 sow in the herd can be mated.").wait_for()
    assert screen.get_by_label("Clean marked pups good enough").input_value() == "55"
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
