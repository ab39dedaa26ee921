"""The handbook, on a wide screen and on a phone."""

import pytest

from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll

PAGES = ["", "methods/checks/", "contributing/pedigree-file/", "search/?words=overmarked"]


@pytest.fixture(params=["desktop", "phone"])
def screen(request):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


@pytest.mark.parametrize("path", PAGES)
def test_it_is_fit_for_all(path, screen, live_server):
    screen.goto(live_server.url + "/help/" + path)
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


def test_a_question_is_searched_and_read(screen, live_server):
    screen.goto(live_server.url + "/help/")
    screen.get_by_label("Search the handbook").last.fill("backup")
    screen.get_by_role("main").get_by_role("button", name="Search").click()
    screen.get_by_role("link", name="Backup, moving and updating").click()
    screen.get_by_role("heading", level=1, name="Backup, moving and updating").wait_for()
