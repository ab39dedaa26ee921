"""The reasons for an animal's dose: the lines, their bars and the arithmetic."""

import html
import math
import re

import pytest
from django.urls import reverse

from genetics.core.explanation import evidence_weights
from genetics.doses.explanation import why
from genetics.figures.refresh import ensure_current
from genetics.models import Figure
from herdbook.book.partial_date import PartialDate
from herdbook.pages.animals.reasons import odds, odds_words, times
from tests.factories import AnimalFactory, LitterFactory, LookFactory


def text(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain)).replace(" :", ":")


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
    assert "Its own points : full points at 7 months strongly for clean marked" in re.sub(
        "points:", "points :", page
    )
    before, after = (odds(chances, 1) for chances in (found.prior, found.posterior))
    assert f"the odds on clean marked (one dose): {before} before, {after} after" in page


def test_the_odds_run_from_line_to_line(owner_client, looked):
    page = text(ask(owner_client, looked))
    found = why(looked)
    odds_now = found.prior[1] / (found.prior[0] + found.prior[2])
    assert f"Before any record {odds_words(odds_now)}" in page
    for reason in found.reasons:
        odds_now *= reason.odds
        assert f" {times(reason.odds)} {odds_words(odds_now)} " in page
    assert found.together == 1
    assert math.isclose(odds_now, found.posterior[1] / (found.posterior[0] + found.posterior[2]))


def test_each_line_gives_its_likelihood_at_each_dose(owner_client, looked):
    page = text(ask(owner_client, looked))
    own = next(reason for reason in why(looked).reasons if reason.kind == "own")
    assert own.ratios[1] == 1
    as_self, as_overmarked = f"{own.ratios[0]:.3f}", f"{own.ratios[2]:.3f}"
    assert f"Its own points {as_self} 1 {as_overmarked} {times(own.odds)}" in page


@pytest.fixture
def litter_of_six(cast, today):
    """Wren's litter of January by Bramble: four marked pups, one overmarked, one self."""
    litter = LitterFactory(
        herd=cast.herd, dam=cast.wren, boars=[cast.bramble], born=PartialDate(2026, 1, 5)
    )
    for stage in ("full", "full", "full", "full", "overmarked", "none"):
        pup = AnimalFactory(herd=cast.herd, litter=litter)
        LookFactory(animal=pup, on="2026-11-01", stage=stage)
    return litter


def test_it_says_what_a_litter_showed_and_from_whom(owner_client, cast, litter_of_six):
    page = text(ask(owner_client, cast.bramble))
    assert (
        "Its litter from Thornmoor Wren, 5 January 2026: "
        "1 overmarked, 4 marked, 1 self, from a self sow "
    ) in page


def test_a_litter_is_opened_into_its_pups(owner_client, cast, litter_of_six):
    page = text(ask(owner_client, cast.bramble))
    found = why(cast.bramble)
    (litter,) = [one for one in found.reasons if one.litter_key == litter_of_six.pk]
    kinds = [record.kind for record in litter.records]
    assert kinds.count("seen") == 6
    selfs = min(litter.records, key=lambda record: record.odds)
    assert "each record" in page
    assert re.search(rf": unmarked at 9 months [^:]*{re.escape(times(selfs.odds))}", page)


def test_its_own_pups_are_counted_apart_from_their_kin(owner_client, cast, looked):
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.rook], born=PartialDate(2026, 8, 1)
    )
    for _pup in range(2):
        pup = AnimalFactory(herd=cast.herd, litter=litter)
        LookFactory(animal=pup, on="2026-11-20", stage="full")
    page = text(ask(owner_client, cast.bramble))
    assert "14 March 2026: 1 marked, none unmarked, from a self sow; and 3 more relatives " in page


def test_what_it_was_bought_as_is_a_line_of_its_own(owner_client, cast, today):
    page = text(ask(owner_client, cast.bramble))
    assert "Before any record: self 56%, clean marked 38%, overmarked 6%" in page
    assert "Bought as: overmarked very strongly for overmarked" in page
    assert "Bought as under 0.001 0.008 1 × 285 19 to 1" in page
    assert "Before any record 1 to 15" in page
    assert "no purchase counts yet" not in page


def test_what_a_parent_was_bought_as_is_told(owner_client, cast, today):
    page = text(ask(owner_client, cast.rook))
    assert "Its sire's side: Thornmoor Bramble (1), bought as overmarked " in page
    assert "Its dam's side: Thornmoor Wren (2), bought as a self " in page


def test_each_litter_of_its_young_is_named(owner_client, looked, cast):
    response = ask(owner_client, cast.wren)
    assert "Its litter of 14 March 2026" in text(response)
    assert cast.march_litter.get_absolute_url() in response.content.decode()


def test_a_boars_litters_are_named_by_the_sow(owner_client, looked, cast):
    page = text(ask(owner_client, cast.bramble))
    assert "Its litter from Thornmoor Wren, 14 March 2026" in page


def test_where_nothing_was_seen_it_says_so(owner_client, cast, today):
    page = text(ask(owner_client, cast.flint))
    assert "No check of the points and no purchase counts yet" in page


def test_on_the_animals_page_only_the_reasons_are_sent(owner_client, looked):
    response = ask(owner_client, looked, HX_Request="true")
    assert "<html" not in response.content.decode()
    assert "Its own points" in text(response)
    assert "HX-Request" in response["Vary"]


def test_it_says_where_records_bear_on_each_other(owner_client, cast, looked):
    # Bramble's purchase, Wren's, and what Rook showed meet in their litter
    page = text(ask(owner_client, cast.sorrel))
    found = why(cast.sorrel)
    alone, whole = (odds(row, found.dose) for row in (found.marginal_only, found.posterior))
    assert alone != whole
    assert f"each taken alone, they would come to {alone}." in page


@pytest.mark.parametrize(
    ("method", "words"),
    [
        ("tangled", "too complex for a dose, so there are no reasons to give"),
        ("impossible", "contradict each other, so there is no dose"),
    ],
)
def test_without_a_figure_it_says_why(owner_client, looked, method, words):
    ensure_current()
    Figure.objects.filter(animal=looked).update(method=method, dose0=None, dose1=None, dose2=None)
    assert words in text(ask(owner_client, looked))


def test_what_would_prove_it_stands_even_without_reasons(owner_client, cast, today, monkeypatch):
    monkeypatch.setattr(
        "genetics.doses.explanation.reasons.evidence_weights", lambda *given, **told: None
    )
    page = text(ask(owner_client, cast.tansy))
    assert "There is a dose, but this family is too complex to separate its records" in page
    assert "would prove" in page


def test_a_tangled_herd_has_reasons_that_say_what_they_may_be_off_by(
    owner_client, looked, monkeypatch
):
    told = evidence_weights.evidence_weights
    monkeypatch.setattr(
        "genetics.doses.explanation.reasons.evidence_weights",
        lambda *given, **more: told(*given, budget=1, **more),
    )
    page = text(ask(owner_client, looked))
    assert re.search(r"These chances are not exact: they may be off by .*?\d%", page)
    assert "Its own points" in page


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (3.14, "× 3.1"),
        (12.4, "× 12"),
        (5e6, "× over 1000"),
        (0.25, "÷ 4.0"),
        (1.05, "unchanged"),
        (0.95, "unchanged"),
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
    assert odds(chances, 2) == words
