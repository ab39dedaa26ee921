"""The checks of a page judge it as it is seen, however slowly it comes."""

import time

from django.contrib.staticfiles.handlers import StaticFilesHandlerMixin

from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll


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
