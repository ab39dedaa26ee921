"""The page of the lines in a real browser, wide and on a phone."""

import pytest

from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll


@pytest.fixture(params=["desktop", "phone"])
def screen(request, transactional_db, today):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


def test_a_line_about_to_be_lost_leads_to_a_mate(screen, live_server, cast):
    screen.goto(live_server.url)
    screen.get_by_text("Menu", exact=True).click()
    screen.get_by_role("link", name="Try a mating").click()
    screen.get_by_role("navigation", name="Breeding").get_by_role("link", name="Founders").click()
    screen.get_by_role("heading", level=1, name="Founders").wait_for()
    assert screen.get_by_text("Effective founders", exact=True).first.is_visible()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_role("link", name="Find a mate for Thornmoor Tansy").click()
    screen.get_by_role("heading", level=1, name="Boars for Thornmoor Tansy").wait_for()
