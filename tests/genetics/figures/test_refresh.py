"""Figures follow the book."""

import datetime

import pytest

from genetics.figures import refresh
from genetics.figures.refresh import ensure_current
from genetics.models import Figure, Job
from genetics.snapshot import conception
from genetics.snapshot.parameters import FREQUENCY
from herdbook.book.inputs import LookEntry
from herdbook.book.models import Animal, GivenEvidence
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.change_set import Submission
from herdbook.book.services.observations import record_observations
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory, LookFactory


def chances(animal):
    return Figure.objects.get(animal=animal).chances


def look(cast, animal, stage, on=TODAY):
    record_observations(
        Submission(cast.owner, TODAY, answered={"points-early"}),
        entries=[LookEntry(animal=animal, on=on, stage=stage)],
    )


def test_it_works(cast):
    assert ensure_current().fresh
    # Bramble is all but sure of two doses and Wren of none: Mendel gives their son one.
    assert chances(cast.rook)[1] == pytest.approx(0.94, abs=0.01)
    assert sum(chances(cast.rook)) == pytest.approx(1, abs=1e-12)


def test_it_works_out_again_after_a_look(cast):
    ensure_current()
    before = chances(cast.rook)[1]
    look(cast, cast.rook, "full")

    standing = ensure_current()

    assert standing.fresh
    assert chances(cast.rook)[1] > before


def test_a_black_coat_hides_the_gene(cast):
    Animal.objects.filter(pk=cast.rook.pk).update(coat="black")
    LookFactory(animal=cast.rook, on=TODAY, stage="none")
    LookFactory(animal=cast.sorrel, on=TODAY, stage="none")

    ensure_current()

    assert chances(cast.sorrel)[0] > chances(cast.rook)[0]


def test_the_look_that_a_founder_was_bought_on_counts_once(cast):
    Animal.objects.filter(pk=cast.tansy.pk).update(came_on=PartialDate(2025, 9, 1))
    ensure_current()
    before = chances(cast.tansy)
    look(cast, cast.tansy, "full", on=datetime.date(2025, 9, 5))

    ensure_current()

    assert chances(cast.tansy) == pytest.approx(before, abs=1e-12)


def test_an_unwritten_sire_is_one_of_the_boars_that_were_there(cast):
    litter = LitterFactory(
        herd=cast.herd, dam=cast.wren, born=PartialDate(2026, 9, 1), source="home"
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, name="Teasel")

    ensure_current()

    # A third each: Bramble (two doses, gives 1), his son Rook (1/2), Flint (a founder: 1/4). A boar
    # from elsewhere would give 1/4.
    assert chances(pup)[1] == pytest.approx((1 + 1 / 2 + 1 / 4) / 3, abs=0.05)


def test_no_one_here_sired_the_litter_of_a_sow_bought_in_pig(cast):
    Animal.objects.filter(pk=cast.wren.pk).update(came_on=PartialDate(2026, 8, 20))
    litter = LitterFactory(
        herd=cast.herd, dam=cast.wren, born=PartialDate(2026, 9, 1), source="home"
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, name="Teasel")

    ensure_current()

    assert chances(pup)[1] == pytest.approx(FREQUENCY, abs=0.05)


def test_evidence_that_came_with_an_animal_is_used_as_given(cast):
    before_rook = (ensure_current(), chances(cast.rook))[1]
    GivenEvidence.objects.create(herd=cast.herd, animal=cast.rook, like0=1.0, like1=1.0, like2=50.0)
    refresh.compute_figures()

    odds = [chances(cast.rook)[dose] / before_rook[dose] for dose in range(3)]
    assert odds[2] / odds[0] == pytest.approx(50, rel=1e-9)


def test_a_family_that_cannot_be_has_no_figure_and_others_keep_theirs(cast):
    for parent in (cast.bramble, cast.wren):
        GivenEvidence.objects.create(herd=cast.herd, animal=parent, like0=1.0, like1=0.0, like2=0.0)
    Animal.objects.filter(pk__in=[cast.bramble.pk, cast.wren.pk]).update(bought_as="")
    GivenEvidence.objects.create(herd=cast.herd, animal=cast.rook, like0=0, like1=0, like2=1.0)

    standing = ensure_current()

    assert chances(cast.rook) is None
    assert Figure.objects.get(animal=cast.rook).method == "impossible"
    assert chances(cast.tansy) is not None
    assert standing.troubles[0]["kind"] == "impossible"
    assert cast.rook.pk in standing.troubles[0]["animals"]


def test_a_book_too_large_to_wait_for_is_a_job(cast, monkeypatch):
    monkeypatch.setattr(refresh, "AT_ONCE", 2)

    standing = ensure_current()
    again = ensure_current()

    assert not standing.fresh
    assert Job.objects.get() == standing.job == again.job


@pytest.mark.parametrize(("done", "words"), [(True, ""), (False, "once for this computer")])
def test_a_page_that_waits_hears_that_the_calculation_is_being_prepared(
    cast, monkeypatch, done, words
):
    told = []
    monkeypatch.setattr(refresh.precompile, "is_done", lambda: done)
    monkeypatch.setattr(refresh.jobs, "tell", lambda job, progress, note="": told.append(note))
    refresh.compute_figures()
    assert words in max(told, key=len)
    assert any(told) is not done


def test_a_book_with_a_tangled_family_is_not_worked_out_many_times_over(cast, monkeypatch):
    ensure_current()
    assert refresh.recomputed_at_once()
    monkeypatch.setattr(refresh, "BUDGET", 1)
    Figure.objects.update(family="another")
    refresh.compute_figures()
    assert not refresh.recomputed_at_once()
    monkeypatch.undo()
    Figure.objects.update(family="another")
    refresh.compute_figures()
    assert refresh.recomputed_at_once()


def test_inbreeding_is_of_the_pedigree_as_written(cast):
    litter = LitterFactory(
        herd=cast.herd, dam=cast.sorrel, boars=[cast.rook], born=PartialDate(2026, 10, 1)
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, name="Teasel")

    ensure_current()

    figure = Figure.objects.get(animal=pup)
    assert figure.inbreeding == pytest.approx(0.25)  # full sibs mated: Wright's 1/4
    assert (figure.full_generations, figure.deepest_generation) == (2, 2)


def test_a_crowd_of_boars_without_dates_names_none(cast, monkeypatch):
    monkeypatch.setattr(conception, "MOST_CANDIDATES", 2)
    litter = LitterFactory(
        herd=cast.herd, dam=cast.wren, born=PartialDate(2026, 9, 1), source="home"
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, name="Teasel")

    ensure_current()

    assert chances(pup)[1] == pytest.approx(FREQUENCY, abs=0.05)
