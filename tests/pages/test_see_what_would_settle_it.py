"""What would settle an animal's dose: pups to judge, or weeks to wait."""

import datetime
import html
import re

import numpy as np
import pytest
from django.urls import reverse

from genetics.doses.progeny_test import proof_of, weeks_of
from genetics.figures.refresh import compute_figures, ensure_current
from genetics.models import Figure
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory, LookFactory


def text(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


def ask(client, animal, **sent):
    return client.get(reverse("animal-reasons", args=[animal.public_id]), sent)


@pytest.fixture
def pup(cast, today):
    """A pup of eight weeks by Rook, who has one dose, out of a self: unmarked at four weeks."""
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.rook],
        born=PartialDate(2026, 9, 30),
        source="home",
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, sex="sow")
    LookFactory(animal=pup, on="2026-10-28", stage="none")
    return pup


def test_it_works(owner_client, cast, today):
    # A boar bought as marked: one dose or two. Only self mates tell them apart.
    boar = AnimalFactory(herd=cast.herd, sex="boar", bought_as="marked")
    page = text(ask(owner_client, boar))
    ways = {(m.mate_dose, m.proof.dose, m.proof.level): m.proof for m in proof_of(boar)}
    proof = ways[0, 2, 0.99]
    marked = proof.counts[1]
    assert proof.counts == (0, marked, 0)
    assert (
        f"{marked} marked pups and no self from self sows would prove overmarked (two doses) at 99%"
        in page
    )
    assert f"the chance that as many pups are enough is {proof.found:.0%}" in page


def test_a_sow_is_proved_by_boars(owner_client, cast, today):
    page = text(ask(owner_client, cast.tansy))
    assert "from self boars would prove" in page
    assert "sows would prove" not in page


def test_one_that_is_not_sexed_or_gone_is_not_to_be_proved(owner_client, cast, today):
    unsexed = AnimalFactory(herd=cast.herd, bought_as="marked")
    gone = AnimalFactory(herd=cast.herd, sex="boar", bought_as="marked", state="died")
    for animal in (unsexed, gone):
        assert "would prove" not in text(ask(owner_client, animal))


def test_an_unmarked_pup_is_followed_week_by_week(owner_client, pup, today):
    page = text(ask(owner_client, pup))
    assert "would prove" not in page  # too young to be bred from, and its own points are to come
    weeks = weeks_of(pup, today)
    assert weeks.ages_days[:3].tolist() == [56, 56, 63]
    stands, now = (f"{weeks.chances[look, 0]:.0%}" for look in (0, 1))
    seen = f"{weeks.still_unmarked[1]:.0%}"
    assert f"as it is now {stands} 8 weeks (today) 25 Nov {now} {seen}" in page
    assert weeks.still_unmarked[1] < 0.99
    figure = np.array(Figure.objects.get(animal=pup).chances)
    np.testing.assert_allclose(weeks.chances[0], figure, rtol=1e-9)


def test_each_look_says_what_the_book_will_say_then(pup, today):
    ensure_current()
    _stands, now, next_week, *_later = weeks_of(pup, today).chances
    for day, foretold in (("2026-11-25", now), ("2026-12-02", next_week)):
        LookFactory(animal=pup, on=day, stage="none")
        compute_figures()
        np.testing.assert_allclose(Figure.objects.get(animal=pup).chances, foretold, rtol=1e-9)


def test_one_that_was_seen_unmarked_today_is_followed_from_there(owner_client, pup, today):
    LookFactory(animal=pup, on=today, stage="none")
    page = text(ask(owner_client, pup))
    weeks = weeks_of(pup, today)
    assert weeks.ages_days[:2].tolist() == [56, 63]
    assert f"8 weeks (today) 25 Nov {weeks.chances[0, 0]:.0%} 100%" in page
    assert "as it is now" not in page


def test_one_never_looked_at_is_not_taken_for_seen_unmarked(owner_client, pup, today):
    pup.looks.all().delete()
    page = text(ask(owner_client, pup))
    found = weeks_of(pup, today).still_unmarked[1]
    assert re.search(rf"as it is now \d+% 8 weeks \(today\) 25 Nov \d+% {found:.0%}", page)
    assert found < 0.9


def test_a_pup_that_has_pointed_is_not_waited_for(owner_client, pup, today):
    LookFactory(animal=pup, on=today, stage="coming")
    assert "How long to wait" not in text(ask(owner_client, pup))
    assert weeks_of(pup, today) is None


def test_it_says_when_waiting_stops_paying(owner_client, pup, today):
    page = text(ask(owner_client, pup, week="1", lost="60"))
    until = re.search(r"worth waiting until (\d+ \w+ \d{4}), when it is (\d+) weeks old", page)
    born = datetime.date(2026, 9, 30)
    day = datetime.datetime.strptime(until[1], "%d %B %Y").date()
    assert day == born + datetime.timedelta(weeks=int(until[2]))
    assert "it is not worth waiting" in text(ask(owner_client, pup, week="60", lost="1"))
    assert "worth waiting to the end" in text(ask(owner_client, pup, week="0", lost="60"))


def test_every_week_is_shown_up_to_the_day_of_decision(owner_client, pup, today):
    page = text(ask(owner_client, pup, week="1", lost="200"))
    until = int(re.search(r"when it is (\d+) weeks old", page)[1])
    rows = re.findall(r"(\d+) weeks (?:\(today\) )?\d+ [A-Z][a-z][a-z] \d", page)
    weeks = [int(week) for week in rows]
    assert weeks[0] == 8
    assert weeks == list(range(8, weeks[-1] + 1))
    assert weeks[-1] >= until


def test_a_two_dose_pup_let_go_is_no_loss_unless_it_is_said_what_it_costs(
    owner_client, cast, today
):
    # by an overmarked boar out of a marked sow: one dose or two, if it is not another boar's
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.bramble], born=PartialDate(2026, 10, 14)
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, sex="sow")
    LookFactory(animal=pup, on="2026-11-11", stage="none")

    def until(**costs):
        page = text(ask(owner_client, pup, **costs))
        found = re.search(r"when it is (\d+) weeks old|to the end: (\d+) weeks", page)
        return page, int(found[1] or found[2])

    page, week = until(week="1", lost="60")
    assert "Losing an overmarked pup counts as no loss." in page
    page, later = until(week="1", lost="60", lost_two="5000")
    assert "Losing an overmarked pup counts as no loss." not in page
    assert later > week


def test_a_cost_that_cannot_be_comes_back_with_what_was_typed(owner_client, pup, today):
    response = ask(owner_client, pup, week="-3", lost="sixty")
    page = text(response)
    assert "Enter 0 or more." in page
    assert "This must be a number" in page
    assert 'value="sixty"' in response.content.decode()
    assert "worth waiting" not in page
