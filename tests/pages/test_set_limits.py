"""The limits of a herd: set, refused, put back, and gone by."""

import re

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from herdbook.book.models import Limits
from herdbook.book.models.limits import LIMITS

PAGE = "/herd/limits/"


@pytest.fixture
def send(owner_client, cast):
    """Fill the page in as it stands, with these values instead, and send it."""

    def post(opened=None, **values):
        form = (opened or owner_client.get(PAGE)).context["form"]
        stands = {name: form[name].value() for name in (*LIMITS, "submission_key", "version")}
        return owner_client.post(PAGE, {**stands, **values})

    return post


def text(response):
    return re.sub(r"\s+", " ", strip_tags(response.content.decode()))


def test_it_works(send, cast):
    assert send(sow_rests_days=90, inbreeding_exceptional="20").status_code == 302
    limits = Limits.of(cast.herd)
    assert (limits.sow_rests_days, limits.inbreeding_exceptional, limits.version) == (90, 20, 1)
    assert [row.history_user for row in limits.history.all()] == [cast.owner]


def test_it_shows_the_sources_and_what_the_book_starts_from(owner_client, cast):
    page = text(owner_client.get(PAGE))
    assert "7 months (vetpedia.it)" in page
    assert "Default: 183." in page
    assert "A vet decides" in page
    assert page.count("Default:") == len(LIMITS)


def test_one_click_goes_back_to_what_the_book_starts_from(send, cast):
    send(sow_rests_days=90)
    assert send(defaults="1", sow_rests_days="what?").status_code == 302
    assert Limits.of(cast.herd).sow_rests_days == Limits().sow_rests_days
    assert Limits.of(cast.herd).history.count() == 2


def test_it_says_whether_they_are_the_herds_own(send, owner_client, cast):
    assert "These are the defaults." in text(owner_client.get(PAGE))
    send(sow_rests_days=90)
    assert "You have set your own." in text(owner_client.get(PAGE))
    send(defaults="1")
    assert "You have set your own." not in text(owner_client.get(PAGE))


def test_a_limit_beyond_all_sources_is_told(send, owner_client, cast, today):
    """Sources put the last first conception at 8 months at most, 244 days, and a boar's weight at
    600 g at least."""
    send(first_conception_latest_days=244, boar_mated_from_g=600)
    assert "beyond all of these sources" not in text(owner_client.get(PAGE))
    send(first_conception_latest_days=400, boar_mated_from_g=599)
    assert text(owner_client.get(PAGE)).count("Yours is beyond all of these sources") == 2
    for asked in ({"sow": "Sorrel", "boar": "Bramble"}, {"sow": "Sorrel"}):
        page = text(owner_client.get(reverse("mating"), asked))
        assert (
            "Some of your limits are looser than every source, and warnings use yours: oldest age "
            "for a first conception (days): 400; lightest weight to use a boar (grams): 599."
            in page
        )


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"sow_mated_from_g": "349"}, "Enter 350 or more."),
        ({"sow_rests_days": "soon"}, "This must be a whole number."),
        ({"boar_stays_days": ""}, "Fill this in."),
        (
            {"inbreeding_deliberate": "30"},
            "“Inbreeding: exceptional, from (%)” must be more than "
            "“Inbreeding: only if intended, from (%)”.",
        ),
        ({"hottest_from": "13"}, "Choose one from the list."),
    ],
)
def test_it_refuses_what_cannot_be(send, cast, values, said):
    answer = send(**values)
    assert answer.status_code == 200
    assert said in text(answer).replace("&quot;", '"')
    assert not Limits.objects.exists()


def test_an_old_page_is_shown_what_was_changed_meanwhile(send, owner_client, cast):
    first = owner_client.get(PAGE)
    send(sow_rests_days=90)
    answer = send(opened=first, sow_rests_days=70)
    assert "This was changed in another window." in text(answer)
    assert Limits.of(cast.herd).sow_rests_days == 90


def test_a_double_tap_writes_once(send, owner_client, cast):
    first = owner_client.get(PAGE)
    for _tap in range(2):
        assert send(opened=first, sow_rests_days=90).status_code == 302
    assert Limits.of(cast.herd).history.count() == 1


def test_each_herd_has_its_own(send, other_herd, cast):
    send(sow_rests_days=90)
    assert Limits.of(other_herd[1]).sow_rests_days == Limits().sow_rests_days


def test_the_look_up_goes_by_them(send, owner_client, cast, today):
    send(boar_stays_days=21, hottest_from=1, hottest_to=1)
    page = text(owner_client.get(reverse("mating"), {"sow": "Wren", "boar": "Bramble"}))
    assert "With the boar from 25 November 2026 to 16 December 2026, due" in page
    assert "She may be due in January" in page


def test_the_herds_page_leads_here(owner_client, cast):
    assert f'href="{PAGE}"' in owner_client.get(reverse("herd")).content.decode()
