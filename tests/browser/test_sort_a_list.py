"""A list sorted on a phone, where cards stand without headings, and on a wide screen."""

import pytest

from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll


@pytest.mark.parametrize(
    ("address", "by", "name", "turned"),
    [
        ("/animals/", "Number", "number", "-number"),
        ("/litters/", "Born alive", "alive", "-alive"),
        ("/matings/?sow=Sorrel", "Inbreeding", "inbreeding", "-inbreeding"),
        ("/matings/grid/", "Score", "-score", "score"),
    ],
)
def test_it_works_on_a_phone(phone, live_server, cast, today, address, by, name, turned):
    phone.goto(live_server.url + address)
    sorting = phone.locator("details.sorting")
    opener = sorting.locator("summary")
    assert opener.bounding_box()["height"] >= 44
    opener.focus()
    phone.keyboard.press("Enter")
    assert all(link.bounding_box()["height"] >= 44 for link in sorting.get_by_role("link").all())
    assert_accessible(phone)
    assert_no_sideways_scroll(phone)
    sorting.get_by_role("link", name=by, exact=True).focus()
    phone.keyboard.press("Enter")
    phone.wait_for_url(f"**sort={name}*")
    now = "descending" if name.startswith("-") else "ascending"
    opener.get_by_text(f"Sort by: {by}, {now}").wait_for()
    assert opener.bounding_box()["y"] >= 0, "it has come into sight"
    opener.click()
    chosen = sorting.locator("a[aria-current=true]")
    assert chosen.inner_text() == by
    assert_accessible(phone)
    assert_no_sideways_scroll(phone)
    chosen.click()
    phone.wait_for_url(f"**sort={turned}*")


def test_the_cards_come_in_the_order_chosen(phone, live_server, cast, today):
    phone.goto(live_server.url + "/animals/?words=thornmoor&page=1")
    phone.locator("details.sorting summary").click()
    phone.locator("details.sorting").get_by_role("link", name="Number", exact=True).click()
    phone.wait_for_url("**sort=number*")
    assert "words=thornmoor" in phone.url
    assert "page=" not in phone.url
    numbers = phone.locator("td[data-label=Number]").all_inner_texts()
    assert len(numbers) > 2
    assert numbers == sorted(numbers, key=int)


def test_a_wide_screen_has_its_headings_alone(desktop, live_server, cast, today):
    desktop.goto(live_server.url + "/animals/")
    assert not desktop.locator("details.sorting").is_visible()
    assert desktop.get_by_role("link", name="Number").is_visible()


def test_a_heading_that_sorts_nothing_stands_in_line_with_the_others(
    desktop, live_server, cast, today
):
    desktop.goto(live_server.url + "/litters/")
    middles = desktop.locator("thead th").evaluate_all(
        """heads => heads.map(head => {
            const words = document.createRange();
            words.selectNodeContents(head.querySelector("a") || head);
            const around = words.getBoundingClientRect();
            return around.top + around.height / 2;
        })"""
    )
    assert max(middles) - min(middles) < 1.5
