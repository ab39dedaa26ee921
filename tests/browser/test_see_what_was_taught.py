"""What your own records show, used and put back in a real browser, wide and on a phone."""

import pytest

from genetics.calibration import parameter_fits
from genetics.models import FitUse
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll


@pytest.fixture(params=["desktop", "phone"])
def screen(request, transactional_db, today):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


def test_it_is_used_and_put_back(screen, live_server, cast):
    parameter_fits.fit_parameters(cast.owner)
    screen.goto(live_server.url)
    screen.get_by_role("link", name="What your own records show").click()
    screen.get_by_role("heading", level=1, name="What your own records show").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_role("button", name="Use it for every dose").click()
    screen.get_by_text("In use. Doses are being recalculated.").wait_for()
    assert_accessible(screen)
    screen.get_by_role("button", name="Restore what was used before").click()
    screen.get_by_text("Restored. Doses are being recalculated.").wait_for()
    assert [use.fit is None for use in FitUse.objects.all()] == [True, False]


def test_what_came_true_is_told(screen, live_server, cast):
    screen.goto(f"{live_server.url}/came-true/")
    screen.get_by_role("heading", level=2, name="Accuracy of the doses").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
