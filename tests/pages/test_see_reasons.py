"""What an animal's dose rests on, in words."""

import html
import re

import pytest
from django.urls import reverse

from genetics.asking import why
from herdbook.pages.animals.reasons import odds, times
from tests.factories import LookFactory


def text(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


def ask(client, animal, **headers):
    return client.get(reverse("animal-reasons", args=[animal.public_id]), headers=headers)


@pytest.fixture
def looked(cast, today):
    """Rook was looked at when grown: marked, not overmarked."""
    LookFactory(animal=cast.rook, on="2026-11-01", stage="full")
    return cast.rook


def test_it_works(owner_client, looked):
    page = text(ask(owner_client, looked))
    found = why(looked)
    own = next(reason for reason in found.reasons if reason.kind == "own")
    assert own.ratios.index(max(own.ratios)) == 1
    assert "What it has shown itself speaks most for one dose" in page
    assert f"Odds on two doses: {odds(found.prior)} before, {odds(found.posterior)} after." in page


def test_each_litter_of_its_young_is_named(owner_client, looked, cast):
    response = ask(owner_client, cast.wren)
    assert "Its litter of 14 March 2026" in text(response)
    assert cast.march_litter.get_absolute_url() in response.content.decode()


def test_a_boars_litters_are_named_by_the_sow(owner_client, looked, cast):
    page = text(ask(owner_client, cast.bramble))
    assert "Its litter from Thornmoor Wren, 14 March 2026" in page


def test_where_nothing_was_seen_it_says_so(owner_client, cast, today):
    page = text(ask(owner_client, cast.flint))
    assert "No look and no sale speaks for any dose yet" in page


def test_on_the_animals_page_only_the_reasons_are_sent(owner_client, looked):
    response = ask(owner_client, looked, HX_Request="true")
    assert "<html" not in response.content.decode()
    assert "What it has shown itself" in text(response)
    assert "HX-Request" in response["Vary"]


def test_without_a_figure_there_are_no_reasons(owner_client, looked, monkeypatch):
    monkeypatch.setattr("herdbook.pages.animals.reasons.why", lambda animal: None)
    assert "No figure could be made" in text(ask(owner_client, looked))


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (3.14, "× 3.1"),
        (12.4, "× 12"),
        (5e6, "× over 1000"),
        (0.25, "÷ 4.0"),
        (1.05, "hardly moved"),
        (0.95, "hardly moved"),
        (1e-14, "÷ over 1000"),
        (0.0, "ruled out"),
    ],
)
def test_a_factor_reads_as_easily_small_as_large(factor, words):
    assert times(factor) == words


@pytest.mark.parametrize(
    ("chances", "words"),
    [
        ((0.5, 0.25, 0.25), "1 to 3.0"),
        ((0.5625, 0.375, 0.0625), "1 to 15"),
        ((0.5626, 0.375, 0.0624), "1 to 15"),
        ((0.1, 0.1, 0.8), "4.0 to 1"),
        ((0.25, 0.25, 0.5), "evens"),
        ((0.252, 0.25, 0.498), "evens"),
        ((0.25, 0.248, 0.502), "evens"),
        ((0.28, 0.25, 0.47), "1 to 1.1"),
        ((0.5, 0.5, 0.0), "none"),
        ((0.0, 0.0, 1.0), "certain"),
    ],
)
def test_odds_are_said_as_odds(chances, words):
    assert odds(chances) == words
