"""The checks of a page judge it as it is seen, however slowly it comes."""

import time
from datetime import timedelta

import pytest
from django.contrib.staticfiles.handlers import StaticFilesHandlerMixin
from django.urls import reverse
from django.utils import timezone

from herdbook.book.partial_date import PartialDate
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll
from tests.browser.conftest import PHONE
from tests.factories import AnimalFactory, LitterFactory


def test_a_page_that_a_link_leads_to_is_judged_with_its_stylesheet(
    phone, live_server, cast, monkeypatch
):
    answer = StaticFilesHandlerMixin.get_response

    def late(handler, request):
        if request.path_info.endswith(".css"):
            time.sleep(1)
        return answer(handler, request)

    monkeypatch.setattr(StaticFilesHandlerMixin, "get_response", late)
    phone.route("**/*.css", lambda route: route.continue_())  # which keeps none of them for later
    phone.goto(live_server.url + cast.march_litter.get_absolute_url())
    phone.get_by_role("link", name="Count by what they show").click()
    assert_accessible(phone)
    assert_no_sideways_scroll(phone)


@pytest.fixture
def young_pup(cast):
    """A pup of nine weeks, so that it is open how long to wait for its points."""
    born = timezone.localdate() - timedelta(weeks=9)
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.bramble],
        born=PartialDate(born.year, born.month, born.day),
        born_alive=1,
        born_dead=0,
        source="home",
    )
    return AnimalFactory(herd=cast.herd, litter=litter, name="Teasel", sex="sow", number="7")


def test_folded_parts_fit_a_phone_once_they_are_open(phone, live_server, young_pup):
    reasons = reverse("animal-reasons", args=[young_pup.public_id])
    for address, part in ((reasons, "How long to wait"), (reverse("take-in"), "The columns")):
        phone.goto(live_server.url + address)
        phone.locator("summary", has_text=part).click()
        # The window's own inner width grows on a phone with what is too wide.
        assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
