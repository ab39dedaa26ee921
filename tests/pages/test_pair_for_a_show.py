"""A show and a planned litter, on the page of matings: when to mate, and which class they enter."""

import re

import pytest

from herdbook.book.models import Limits

PAGE = "/matings/"


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast, 25 November 2026."""


def ask(client, **asked):
    response = client.get(PAGE, asked)
    assert response.status_code == 200
    return response


def text(client, **asked):
    return re.sub(r"(<[^>]+>|\s)+", " ", ask(client, **asked).content.decode())


def test_it_works(owner_client):
    page = text(owner_client, show_on="2027-09-18", show_class="middle")
    assert "Certain 25 Nov 2026 to 4 Feb 2027" in page
    assert "If carried the usual 68 days 25 Nov 2026 to 9 Feb 2027" in page
    assert "Pups born 19 Jan 2027 to 18 Apr 2027" in page
    assert "Choose a sow, a boar or both." not in page


def test_the_boars_days_are_put_in_for_it(owner_client):
    form = ask(owner_client, show_on="2027-10-18", show_class="middle").context["form"]
    assert str(form["boar_in"].value()) == "2026-12-22"
    assert str(form["boar_out"].value()) == "2027-01-08"
    assert form["show_on"].value() == "2027-10-18"


def test_it_says_when_it_is_too_late(owner_client):
    page = text(owner_client, show_on="2027-01-18", show_class="young")
    assert "Too late: no pup conceived from today" in page


def test_it_says_what_would_still_do_where_no_day_is_sure(owner_client):
    # born by 23 January 2027, 59 days from today; by 30 January, 66 days
    page = text(owner_client, show_on="2027-04-23", show_class="young")
    assert "Certain no date left: even conceived today, a litter could come too late" in page
    assert "68 days no date left: conceived today, the litter must be born within 59 days" in page
    page = text(owner_client, show_on="2027-04-30", show_class="young")
    assert "the litter must be born within 66 days" in page


def test_adults_of_a_far_show(owner_client):
    page = text(owner_client, show_on="2028-01-18", show_class="adult")
    assert "up to 6 Mar 2027" in page


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"show_on": "", "show_class": "young"}, "Enter the date."),
        ({"show_on": "soon", "show_class": "young"}, "Enter the date as 24/11/2026."),
        ({"show_on": "0001-01-01", "show_class": "young"}, "Enter a year from 1900 to 2199."),
        ({"show_on": "2027-09-18", "show_class": "veteran"}, "Choose one from the list."),
    ],
)
def test_it_refuses_what_cannot_be(owner_client, asked, said):
    page = text(owner_client, **asked)
    assert said in page
    assert "Pups born" not in page


def test_a_pair_tells_the_classes_of_its_pups(owner_client, cast):
    # due from 29 January to 3 March 2027
    page = text(
        owner_client, sow="Tansy", boar="Bramble", boar_in="2026-12-01", boar_out="2026-12-20"
    )
    assert "under 5 months 29 Apr 2027 to 2 Aug 2027 3 Jun 2027 to 28 Jun 2027" in page
    assert "adult (from 8 months) from 29 Sep 2027 from 3 Nov 2027" in page
    assert "Show on" not in page


@pytest.mark.parametrize(
    ("show_on", "said"),
    [
        ("2027-07-20", "5 to 8 months; under 5 months."),
        ("2027-05-15", "under 5 months; too young to show if born later."),
        ("2027-03-05", "too young to show."),
        ("2027-01-05", "The litter will not be born by then."),
    ],
)
def test_a_pair_and_a_show_tell_the_class(owner_client, cast, show_on, said):
    asked = {"sow": "Tansy", "boar": "Bramble", "boar_in": "2026-12-01", "boar_out": "2026-12-20"}
    page = text(owner_client, **asked, show_on=show_on)
    assert said in page.split("Verdict")[1]


def test_the_ages_are_the_herds_own(owner_client, cast):
    Limits.objects.create(herd=cast.herd, show_young_under_months=6, show_adult_from_months=9)
    page = text(owner_client, sow="Tansy", boar="Bramble")
    assert "under 6 months" in page
    assert "adult (from 9 months)" in page


def test_the_show_goes_on_to_each_pair_of_a_ranking(owner_client, cast):
    page = ask(owner_client, sow="Tansy", show_on="2027-09-18").content.decode()
    assert "show_on=2027-09-18" in page
