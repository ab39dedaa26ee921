"""The herd of the book bred on by rules: exact where it can be, and what is left out is said."""

from dataclasses import replace

import numpy as np
import pytest

from genetics.core.exceptions import PedigreeError
from genetics.core.simulation.summary import MEASURES
from genetics.figures.refresh import ensure_current
from genetics.herd import projection
from genetics.herd.projection import (
    ProjectionRequest,
    breed_on,
    litter_sizes,
    start_look_ahead,
    stock_of,
)
from genetics.matings.lookup import look_up
from genetics.models import Job, LookAhead
from genetics.snapshot.reading import read_book
from herdbook.book.models import Animal, Book, GivenEvidence, Litter
from herdbook.book.partial_date import PartialDate
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory

ASKED = ProjectionRequest(("least-kin",), 3, 1, 1, 1, 1, 0.27)


def given(animal, dose):
    """The animal is known to have this dose."""
    share = {f"like{number}": float(number == dose) for number in range(3)}
    GivenEvidence.objects.create(herd=animal.herd, animal=animal, **share)


def sell(*animals):
    Animal.objects.filter(pk__in=[animal.pk for animal in animals]).update(state="sold")


def means(found, measure, series=0):
    return [row[3] for row in found["series"][series]["measures"][measure]]


def test_it_works(cast):
    # one boar and one sow left: Bramble and Wren, whose pups are what the look-up forecasts
    sell(cast.rook, cast.sorrel)
    found = breed_on(cast.herd, ASKED, TODAY)
    chances = look_up(cast.wren, cast.bramble).mating.chances
    living = 2.695 * 0.73
    assert means(found, "one_dose")[0] == pytest.approx(living * chances[1], abs=0.15)
    assert means(found, "selfs")[0] == pytest.approx(living * chances[0], abs=0.05)
    assert means(found, "overmarked")[0] == pytest.approx(living * chances[2], abs=0.05)
    assert means(found, "inbreeding")[0] == 0
    assert found["together"]
    assert (found["boars"], found["sows"], found["own_litters"]) == (1, 1, 0)
    assert found["lines"] == [2, 2, 2, 2], "Bramble and Wren have all their own genes"
    assert set(found["series"][0]["measures"]) == set(MEASURES)
    assert len(found["series"][0]["measures"]["lines"]) == 3


def test_brother_and_sister_are_inbred_from_the_first_season(cast):
    sell(cast.bramble, cast.wren)
    found = breed_on(cast.herd, ASKED, TODAY)
    # Sorrel is 256 days old without a litter, and left out: nobody is bred from
    assert found == {"trouble": "stock"}
    Litter.objects.filter(pk=cast.march_litter.pk).update(born=PartialDate(2026, 7, 14))
    found = breed_on(cast.herd, ASKED, TODAY)
    assert means(found, "inbreeding")[0] == pytest.approx(0.25)


def test_doses_of_relatives_are_drawn_together(cast):
    """Rook and Sorrel share a litter of which nobody knows the sire's dose for sure."""
    Litter.objects.filter(pk=cast.march_litter.pk).update(born=PartialDate(2026, 7, 14))
    sell(cast.bramble, cast.wren)
    found = breed_on(cast.herd, ASKED, TODAY)
    chances = look_up(cast.sorrel, cast.rook).mating.chances
    living = 2.695 * 0.73
    assert means(found, "overmarked")[0] == pytest.approx(living * chances[2], abs=0.1)


def test_each_rule_is_tried_again_without_a_boar(cast):
    two = replace(ASKED, policies=("least-kin", "closest-kin"), boars=2, lost_boar=cast.bramble.pk)
    found = breed_on(cast.herd, two, TODAY)
    told = [(one["policy"], one["without"]) for one in found["series"]]
    assert told == [
        ("least-kin", False),
        ("least-kin", True),
        ("closest-kin", False),
        ("closest-kin", True),
    ]
    # with Bramble, Wren goes to him, who is no kin; without him, to their son
    assert means(found, "inbreeding", 0)[0] == 0
    assert means(found, "inbreeding", 1)[0] == pytest.approx(0.25)


def test_without_the_only_boar_nothing_is_bred(cast):
    sell(cast.rook)
    found = breed_on(cast.herd, replace(ASKED, lost_boar=cast.bramble.pk), TODAY)
    assert found == {"trouble": "stock"}


def test_the_share_good_enough_is_of_one_dose_pups(cast):
    found = breed_on(cast.herd, replace(ASKED, showable=0.5), TODAY)
    one, good = means(found, "one_dose"), means(found, "showable")
    assert good == pytest.approx([value / 2 for value in one], abs=0.08)


def test_who_can_be_bred_from(cast):
    AnimalFactory(herd=cast.herd, sex="", name="Moth")
    stock = stock_of(cast.herd, TODAY)
    assert {boar.name for boar in stock.boars} == {"Bramble", "Rook"}, "Flint is on loan"
    assert {sow.name for sow in stock.sows} == {"Wren"}
    # of 17 and 8 months, without a litter
    assert {sow.name for sow in stock.late} == {"Tansy", "Sorrel"}
    assert stock.unsexed == 1


def test_a_sow_of_unknown_age_without_a_litter_is_left_out(cast):
    Litter.objects.filter(pk=cast.tansy.litter_id).update(born=None)
    assert cast.tansy in stock_of(cast.herd, TODAY).late


def test_litter_sizes_are_the_herds_own_from_twenty_on(cast):
    sizes, own = litter_sizes(cast.herd)
    assert own == 0
    sizes = np.array(sizes)
    number = np.arange(len(sizes))
    mean = sizes @ number
    # the study: 2.7 with a spread of 1.03, 1 to 6, 44 per cent of three
    assert sizes.sum() == pytest.approx(1)
    assert mean == pytest.approx(2.7, abs=0.01)
    assert np.sqrt(sizes @ (number - mean) ** 2) == pytest.approx(1.03, abs=0.005)
    LitterFactory.create_batch(
        19, herd=cast.herd, dam=cast.wren, source="home", born_alive=3, born_dead=1
    )
    sizes, own = litter_sizes(cast.herd)
    assert own == 20
    assert sizes == pytest.approx((0, 0, 0.05, 0, 0.95))


def test_records_that_cannot_be_true_are_left_out_and_counted(cast):
    for animal, dose in ((cast.bramble, 2), (cast.wren, 2), (cast.rook, 0)):
        given(animal, dose)
    found = breed_on(cast.herd, ASKED, TODAY)
    assert found["disregarded"] == 4
    assert means(found, "one_dose")[0] > 0


def test_a_family_too_dear_to_be_drawn_together_is_said_to_be(cast, monkeypatch):
    monkeypatch.setattr(projection, "BUDGET", 5)
    given(cast.rook, 1)
    assert not breed_on(cast.herd, ASKED, TODAY)["together"]


def test_a_pedigree_that_contradicts_itself(cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    with pytest.raises(PedigreeError):
        read_book()
    assert breed_on(cast.herd, ASKED, TODAY) == {"trouble": "pedigree"}


def test_the_same_book_gives_the_same_figures(cast):
    assert breed_on(cast.herd, ASKED, TODAY) == breed_on(cast.herd, ASKED, TODAY)


def test_a_season_without_a_pup_has_no_inbreeding(cast):
    found = breed_on(cast.herd, replace(ASKED, losses=1.0), TODAY)
    assert found["series"][0]["measures"]["inbreeding"] == [[None] * 4] * 3


def test_a_job_works_it_out_and_tells_how_far_it_has_come(cast, monkeypatch):
    ensure_current()
    told = []
    monkeypatch.setattr(
        projection.jobs, "tell", lambda job, progress: job and told.append(progress)
    )
    begun = []
    monkeypatch.setattr(
        projection.jobs,
        "start",
        lambda kind, work, user: begun.append(work) or Job.objects.create(kind=kind, user=user),
    )
    row = start_look_ahead(cast.herd, cast.owner, ASKED, TODAY)
    assert row.found == {}
    begun[0](row.job)
    assert told == sorted(told)
    assert len(told) >= 10
    assert told[-1] == pytest.approx(1)
    row.refresh_from_db()
    assert row.found == breed_on(cast.herd, ASKED, TODAY)
    assert ProjectionRequest.from_plain(row.asked) == ASKED


def tap(cast, seasons):
    return start_look_ahead(cast.herd, cast.owner, replace(ASKED, seasons=seasons), TODAY)


def test_only_the_latest_are_kept(cast, other_herd, monkeypatch):
    monkeypatch.setattr(projection, "KEPT", 2)
    other = LookAhead.objects.create(herd=other_herd[1], revision=0, asked={})
    rows = [tap(cast, seasons) for seasons in (1, 2, 3)]
    # all are under way, and none of these goes
    assert LookAhead.objects.count() == 4
    Job.objects.update(state=Job.State.DONE)
    rows.append(tap(cast, 4))
    kept = {other.pk, *(row.pk for row in rows[2:])}
    assert set(LookAhead.objects.values_list("pk", flat=True)) == kept


def test_a_second_tap_leads_to_the_look_ahead_of_the_first(cast):
    first = tap(cast, 2)
    assert tap(cast, 2) == first
    assert Job.objects.count() == 1
    assert tap(cast, 3) != first
    Job.objects.update(state=Job.State.FAILED)
    assert tap(cast, 2) != first


def test_a_book_that_has_changed_is_looked_ahead_from_anew(cast):
    first = tap(cast, 2)
    Book.objects.update_or_create(pk=1, defaults={"revision": first.revision + 1})
    assert tap(cast, 2) != first
