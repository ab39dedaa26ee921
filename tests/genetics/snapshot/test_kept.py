"""What follows from one state of the book is worked out once, and goes when the book moves on."""

import threading

import pytest
from django.utils import timezone

from genetics.doses.explanation import why
from genetics.figures.refresh import ensure_current
from genetics.matings.lookup import look_up, pair_all
from genetics.models import Reckoning
from genetics.snapshot import kept, reading
from genetics.snapshot.kept import Kept
from genetics.snapshot.reading import read_book
from herdbook.book.models import Animal, Book
from tests.conftest import TODAY
from tests.factories import LookFactory


@pytest.fixture
def revision(cast):
    """Moves the book on, as every service that writes does."""
    Book.objects.update_or_create(pk=1, defaults={"revision": 1})
    return lambda number: Book.objects.filter(pk=1).update(revision=number)


def test_it_works(cast, revision):
    first = read_book()
    assert read_book() is first
    assert read_book(colours={}).keys == first.keys


def test_a_write_moves_on(cast, revision):
    before = read_book()
    LookFactory(animal=cast.rook, on=TODAY, stage="full")
    revision(2)
    after = read_book()
    row = after.place[cast.rook.pk]
    assert len(after.looks[row]) == len(before.looks[row]) + 1


def test_other_figures_leave_what_rests_on_the_records_alone(cast, revision):
    ensure_current()
    records, figures = kept.records_of_book(), kept.state_of_book()
    Reckoning.objects.update(made_at=timezone.now())
    assert kept.records_of_book() == records
    assert kept.state_of_book() != figures


def test_what_is_kept_cannot_be_changed(cast, revision):
    kept_reading = read_book()
    with pytest.raises(ValueError, match="read-only"):
        kept_reading.likelihood[0] = 0.0
    with pytest.raises(TypeError):
        kept_reading.place[0] = 1


def test_answers_to_the_same_question_are_kept(cast, revision):
    ensure_current()
    rook = Animal.objects.get(pk=cast.rook.pk)
    assert why(rook) is why(cast.rook)
    assert look_up(cast.tansy, rook) is look_up(cast.tansy, cast.rook)
    assert look_up(cast.tansy, rook) is not look_up(cast.tansy, cast.bramble)
    both = [cast.tansy, cast.wren]
    assert pair_all(both, [rook]) is pair_all(both, [cast.rook])
    before = why(rook)
    revision(2)
    ensure_current()
    assert why(rook) is not before


def test_a_book_written_to_while_it_is_read_is_read_again(cast, revision, monkeypatch):
    read, times = reading._read, []

    def interrupted(current):
        found = read(current)
        times.append(found)
        if len(times) == 1:
            revision(2)
        return found

    monkeypatch.setattr(reading, "_read", interrupted)
    assert reading._at_rest(reading.current_parameters()) is times[1]


def test_a_fault_between_two_writes_is_read_again_and_any_other_is_raised(
    cast, revision, monkeypatch
):
    def torn(current):
        revision(2)
        monkeypatch.undo()
        raise KeyError(cast.rook.pk)

    monkeypatch.setattr(reading, "_read", torn)
    assert len(reading._at_rest(reading.current_parameters())) == 6
    monkeypatch.setattr(reading, "_read", lambda current: {}["no such row"])
    with pytest.raises(KeyError):
        reading._at_rest(reading.current_parameters())


def test_what_was_made_while_the_book_moved_on_is_not_kept(cast, revision):
    one = Kept(2)
    assert one.get("a", lambda: revision(2) and "of revision 1") == "of revision 1"
    assert one.get("a", lambda: "of revision 2") == "of revision 2"
    assert len(one) == 1


def test_the_one_asked_for_least_lately_goes(cast, revision):
    one = Kept(2)
    for key in "abac":
        one.get(key, lambda key=key: key)
    assert one.get("a", lambda: "anew") == "a"
    assert one.get("b", lambda: "anew") == "anew"
    assert len(one) == 2


def test_a_fault_is_not_kept(cast, revision):
    one = Kept(2)
    with pytest.raises(ZeroDivisionError):
        one.get("a", lambda: 1 / 0)
    assert one.get("a", lambda: "right") == "right"


def test_threads_that_ask_at_once_make_it_once():
    one, made, together = Kept(2, lambda: (1,)), [], threading.Barrier(4)
    slow = threading.Event()

    def make():
        made.append(1)
        slow.wait(0.2)
        return "it"

    def ask():
        together.wait()
        assert one.get("a", make) == "it"

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 1
