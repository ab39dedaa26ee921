"""The menu and the search box of the bar, on a wide screen and on the narrowest phone."""

import pytest

from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll

NARROWEST = {"width": 360, "height": 740}


@pytest.fixture
def without_script(new_context, cast, signed_in):
    """The narrowest phone, signed in, with scripts switched off."""
    context = new_context(viewport=NARROWEST, java_script_enabled=False)
    return signed_in(context.new_page(), cast.owner)


def test_it_works_without_a_script(without_script, live_server, cast):
    page = without_script
    page.goto(live_server.url)
    page.get_by_text("Menu", exact=True).click()
    assert page.get_by_role("link", name="Limits").is_visible()
    page.get_by_role("combobox", name="Find an animal").fill("rook")
    page.get_by_role("button", name="Search").click()
    page.get_by_role("heading", level=1, name="Thornmoor Rook").wait_for()
    page.get_by_text("Menu", exact=True).click()
    page.get_by_role("link", name="Limits").click()
    page.get_by_role("heading", level=1, name="Limits").wait_for()


@pytest.mark.parametrize("width", [360, 390, 700, 1280])
def test_it_is_fit_for_all(desktop, live_server, width):
    desktop.set_viewport_size({"width": width, "height": 800})
    desktop.goto(live_server.url + "/help/glossary/")
    bar = desktop.locator(".top > div")
    assert bar.bounding_box()["height"] < 70  # all in one row
    desktop.get_by_text("Menu", exact=True).click()
    assert_accessible(desktop)
    assert_no_sideways_scroll(desktop)


def test_it_closes_on_escape_and_on_a_press_beside_it(desktop, live_server):
    desktop.goto(live_server.url)
    menu = desktop.locator("details.menu")
    menu.locator("summary").click()
    desktop.keyboard.press("Escape")
    assert not menu.evaluate("menu => menu.open")
    menu.locator("summary").click()
    desktop.locator("footer").click()
    assert not menu.evaluate("menu => menu.open")


def test_an_animal_is_suggested_and_opened(desktop, live_server, cast):
    desktop.goto(live_server.url)
    box = desktop.get_by_role("combobox", name="Find an animal")
    box.press_sequentially("wre")
    desktop.locator("#find-found option").first.wait_for(state="attached")
    box.fill("Thornmoor Wren (2)")
    box.press("Enter")
    desktop.get_by_role("heading", level=1, name="Thornmoor Wren").wait_for()
