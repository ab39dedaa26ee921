"""The limits of a herd set in a real browser, wide and on a phone."""

import pytest

from herdbook.book.models import Limits
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll


@pytest.fixture(params=["desktop", "phone"])
def screen(request, transactional_db, today):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


def test_a_limit_is_set_and_put_back(screen, live_server, cast):
    screen.goto(f"{live_server.url}/herd/")
    screen.get_by_role("link", name="Limits for matings and shows").click()
    screen.get_by_role("heading", level=1, name="Limits").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    rest = screen.get_by_label("Rest for a sow after littering (days)")
    rest.fill("90")
    screen.get_by_role("button", name="Save").click()
    screen.get_by_text("You have set your own.").wait_for()
    assert Limits.of(cast.herd).sow_rests_days == 90
    screen.get_by_role("button", name="Restore defaults").click()
    screen.get_by_role("status").get_by_text("Saved.").wait_for()
    assert rest.input_value() == "60"


def test_a_refusal_is_seen_first_and_the_form_stays(screen, live_server, cast):
    screen.goto(f"{live_server.url}/herd/limits/")
    screen.get_by_label("Lightest weight to mate a sow (grams)").fill("200")
    screen.get_by_role("button", name="Save").click()
    screen.get_by_text("Enter 350 or more.").wait_for()
    assert screen.get_by_label("Lightest weight to mate a sow (grams)").input_value() == "200"
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
