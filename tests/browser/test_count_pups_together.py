"""Pups counted together in a real browser, on a phone and a wide screen."""

import pytest

from herdbook.book.models import Litter, LitterCount
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll


@pytest.mark.parametrize("screen", ["phone", "desktop"])
def test_a_count_is_written_put_right_and_taken_out(screen, request, today, live_server, cast):
    Litter.objects.filter(pk=cast.march_litter.pk).update(born_alive=4)
    page = request.getfixturevalue(screen)
    page.goto(live_server.url + cast.march_litter.get_absolute_url())
    page.get_by_role("link", name="Count by what they show").click()
    page.get_by_label("No points").fill("1")
    page.get_by_label("Coming").fill("3")
    page.get_by_label("Other pups that were there").fill("2")
    assert_accessible(page)
    assert_no_sideways_scroll(page)
    page.get_by_role("button", name="Save").click()
    table = page.get_by_role("table", name="Pups you can't tell apart")
    assert "1 with no points, 3 coming" in table.inner_text()
    assert_accessible(page)
    assert_no_sideways_scroll(page)
    table.get_by_role("link", name="Edit").click()
    page.get_by_role("link", name="Delete").click()
    assert_accessible(page)
    page.get_by_role("button", name="Delete").click()
    assert not LitterCount.objects.exists()
