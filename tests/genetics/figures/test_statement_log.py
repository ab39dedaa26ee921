"""What was said of each animal is kept as it was said."""

import datetime

import pytest

from genetics.figures import statement_log
from genetics.figures.refresh import compute_figures, engine_mark, ensure_current
from genetics.models import Figure, Reckoning, Said
from genetics.snapshot import conception, reading
from herdbook.book.inputs import LookEntry
from herdbook.book.models import Book, GivenEvidence
from herdbook.book.services.change_set import Submission
from herdbook.book.services.observations import record_observations
from tests.conftest import TODAY


def look(cast, animal, stage):
    record_observations(
        Submission(cast.owner, TODAY, answered={"points-early"}),
        entries=[LookEntry(animal=animal, on=TODAY, stage=stage)],
    )


def test_it_works(cast, today):
    ensure_current()
    assert Said.objects.count() == 6
    (said,) = cast.rook.said.all()
    figure = Figure.objects.get(animal=cast.rook)
    assert said.chances == figure.chances
    assert (said.method, said.error) == (figure.method, figure.error)
    assert said.engine == engine_mark()
    assert said.said_at.date() == TODAY


def test_a_figure_that_moved_is_added_and_the_one_before_stays(cast, today, travel):
    ensure_current()
    before = cast.rook.said.get()
    look(cast, cast.rook, "overmarked")
    travel(datetime.date(2026, 11, 26))

    ensure_current()

    newest, oldest = cast.rook.said.all()
    assert (oldest.pk, oldest.chances, oldest.said_at.date()) == (before.pk, before.chances, TODAY)
    assert newest.chances == Figure.objects.get(animal=cast.rook).chances
    assert newest.revision == Book.objects.get().revision > oldest.revision
    assert newest.said_at.date() == datetime.date(2026, 11, 26)


def test_a_figure_that_stands_still_is_not_said_again(cast):
    ensure_current()
    look(cast, cast.rook, "none")
    compute_figures()
    assert cast.flint.said.count() == 1


@pytest.mark.parametrize(("step", "kept"), [(0.009, 1), (0.011, 2)])
def test_small_moves_do_not_count_but_add_up(cast, step, kept):
    ensure_current()
    figure = Figure.objects.get(animal=cast.flint)
    chances = figure.chances
    figure.dose0, figure.dose1 = chances[0] - step, chances[1] + step
    statement_log.freeze([figure], "another", None)
    assert cast.flint.said.count() == kept
    figure.dose0, figure.dose1 = chances[0] - 2 * step, chances[1] + 2 * step
    statement_log.freeze([figure], "another", None)
    assert cast.flint.said.count() == kept + 1


def test_the_same_chance_by_another_method_is_said_anew(cast):
    ensure_current()
    figure = Figure.objects.get(animal=cast.flint)
    figure.method, figure.error = "refined", 0.08
    for _ in range(2):
        statement_log.freeze([figure], "another", None)
    assert [said.method for said in cast.flint.said.all()] == ["refined", "exact"]


@pytest.mark.parametrize(("module", "name"), [(conception, "SPREAD_DAYS"), (reading, "GROWN_DAYS")])
def test_how_the_book_is_read_moves_the_mark(module, name, monkeypatch):
    before = engine_mark.__wrapped__()
    monkeypatch.setattr(module, name, getattr(module, name) + 1)
    assert engine_mark.__wrapped__() != before


def test_another_mark_alone_says_nothing_anew(cast):
    """As after an update that renames a module, or whose tables do not move this herd."""
    ensure_current()
    Said.objects.update(engine="8-0123abcd")
    Reckoning.objects.update(engine="0123456789abcdef-table")

    assert ensure_current().fresh

    assert set(Said.objects.values_list("engine", flat=True)) == {"8-0123abcd"}
    assert Reckoning.objects.get().engine == f"{engine_mark()}-table"


def test_where_there_is_no_figure_nothing_was_said(cast):
    for parent in (cast.bramble, cast.wren):
        parent.bought_as = ""
        parent.save()
        GivenEvidence.objects.create(herd=cast.herd, animal=parent, like0=1.0, like1=0.0, like2=0.0)
    GivenEvidence.objects.create(herd=cast.herd, animal=cast.rook, like0=0, like1=0, like2=1.0)
    ensure_current()
    assert not cast.rook.said.exists()
    assert cast.tansy.said.exists()


def test_more_animals_cost_no_more_queries(cast, django_assert_num_queries):
    ensure_current()
    figures = list(Figure.objects.all())
    for figure in figures:
        figure.dose0, figure.dose1, figure.dose2 = 0.2, 0.3, 0.5
    for some in (figures[:1], figures):
        with django_assert_num_queries(2):
            statement_log.freeze(some, "another", None)
        for figure in figures:
            figure.dose0, figure.dose2 = figure.dose2, figure.dose0
