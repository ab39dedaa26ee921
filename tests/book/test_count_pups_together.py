"""Pups seen together and not told apart, at the desk: what is written, refused and asked."""

import datetime
from dataclasses import replace

import pytest

from herdbook.book.exceptions import (
    AlreadyWrittenError,
    ConfirmationNeededError,
    EditConflictError,
    RecordRefusedError,
)
from herdbook.book.inputs import CountEntry, PupEntry
from herdbook.book.models import Animal, Answer, Book, ChangeSet, CountedPup, Litter, LitterCount
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.audit import examine
from herdbook.book.services.change_set import Submission
from herdbook.book.services.counts import correct_count, record_count, remove_count
from herdbook.book.services.litters import add_pups, correct_litter, entry_of
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LookFactory

BORN = datetime.date(2026, 3, 14)
SEVEN_WEEKS = BORN + datetime.timedelta(days=49)


@pytest.fixture
def litter(cast):
    """Bramble and Wren's, of which five were born and three have a line."""
    AnimalFactory(herd=cast.herd, litter=cast.march_litter, name="Teasel", sex="boar")
    Litter.objects.filter(pk=cast.march_litter.pk).update(born_alive=5)
    return Litter.objects.get(pk=cast.march_litter.pk)


def entry(litter, *, on=SEVEN_WEEKS, pups=None, nameless=0, warmth="", **counted):
    stages = {"none": 0, "coming": 0, "full": 0, "overmarked": 0, **counted}
    here = tuple(litter.pups.all()) if pups is None else pups
    return CountEntry(litter, on, stages, here, nameless, warmth)


def count(cast, entry, *, answered=(), submission_key=""):
    return record_count(
        Submission(cast.owner, TODAY, key=submission_key, answered=answered), entry=entry
    )


def codes(found):
    return {(finding.code, finding.field) for finding in found.value.findings}


def test_it_works(cast, litter):
    revision = Book.objects.get_or_create(pk=1)[0].revision
    row = count(cast, entry(litter, coming=2, none=3, nameless=2, warmth="mild"))
    assert (row.counted, row.nameless, row.warmth) == ((3, 2, 0, 0), 2, "mild")
    assert {pup.name for pup in row.pups} == {"Rook", "Sorrel", "Teasel"}
    change = ChangeSet.objects.get(action="record count")
    assert (change.subject, change.revision) == (litter.public_id, revision + 1)
    assert row.history.get().history_change_reason == str(change.pk)
    assert set(CountedPup.history.values_list("history_change_reason", flat=True)) == {
        str(change.pk)
    }


def test_a_double_tap_counts_once(cast, litter):
    count(cast, entry(litter, coming=3), submission_key="tap")
    with pytest.raises(AlreadyWrittenError):
        count(cast, entry(litter, coming=3), submission_key="tap")
    assert LitterCount.objects.count() == 1


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({}, ("nothing-counted", "none")),
        ({"coming": 4}, ("more-than-there", "none")),
        ({"coming": 6, "nameless": 3}, ("more-than-nameless", "nameless")),
        ({"coming": 3, "on": BORN - datetime.timedelta(days=1)}, ("before-birth", "on")),
        ({"coming": 3, "on": TODAY + datetime.timedelta(days=1)}, ("future", "on")),
        ({"coming": 3, "on": datetime.date(206, 3, 14)}, ("long-ago:on", "on")),
    ],
)
def test_it_refuses_what_cannot_be(cast, litter, told, code):
    with pytest.raises(RecordRefusedError) as found:
        count(cast, entry(litter, **told))
    assert code in codes(found)
    assert not LitterCount.objects.exists()


def test_it_refuses_a_pup_of_another_litter_and_one_that_hides_its_points(cast, litter):
    Animal.objects.filter(pk=cast.rook.pk).update(coat="black")
    black = Animal.objects.get(pk=cast.rook.pk)
    with pytest.raises(RecordRefusedError) as found:
        count(cast, entry(litter, coming=3, pups=(black, cast.sorrel, cast.tansy)))
    assert codes(found) == {
        (f"not-of-the-litter:{cast.tansy.pk}", "pups"),
        (f"coat-hides-points:{black.pk}", "pups"),
    }


def test_it_refuses_one_pup_that_can_be_looked_at_by_name(cast, litter):
    with pytest.raises(RecordRefusedError) as found:
        count(cast, entry(litter, coming=1, pups=(cast.rook,)))
    assert codes(found) == {("one-pup", "pups")}


def test_it_refuses_a_litter_without_a_day_of_birth(cast, litter):
    litter.born = None
    with pytest.raises(RecordRefusedError) as found:
        count(cast, entry(litter, coming=3))
    assert codes(found) == {("no-birth-date", "on")}


def test_it_asks_about_what_is_hard_to_believe(cast, litter):
    count(cast, entry(litter, coming=3))
    LookFactory(animal=cast.rook, on=SEVEN_WEEKS, stage="coming")
    Animal.objects.filter(pk=cast.sorrel.pk).update(state="sold", left_on=PartialDate(2026, 4, 1))
    with pytest.raises(ConfirmationNeededError) as found:
        count(cast, entry(litter, coming=2))
    assert codes(found) == {
        ("left-out:1", "none"),
        ("same-day", "on"),
        (f"looked-at:{cast.rook.pk}", "pups"),
        (f"after-left:{cast.sorrel.pk}", "on"),
    }
    answered = {code for code, _ in codes(found)}
    count(cast, entry(litter, coming=2), answered=answered)
    assert set(Answer.objects.values_list("code", flat=True)) == answered


def test_it_asks_about_points_that_come_early(cast, litter):
    day = BORN + datetime.timedelta(days=10)
    with pytest.raises(ConfirmationNeededError) as found:
        count(cast, entry(litter, full=2, overmarked=1, on=day))
    assert {field for _, field in codes(found)} == {"full", "overmarked"}


def test_a_count_is_corrected_and_its_history_stays(cast, litter):
    row = count(cast, entry(litter, coming=2, none=1))
    told = entry(litter, coming=2, pups=(cast.rook, cast.sorrel))
    told_again = correct_count(Submission(cast.owner, TODAY, version=1), count=row, entry=told)
    assert (told_again.counted, told_again.version) == ((0, 2, 0, 0), 2)
    again = LitterCount.objects.get()
    assert set(again.pups) == {cast.rook, cast.sorrel}
    assert [one.none for one in again.history.all()] == [0, 1]
    assert sorted(CountedPup.history.values_list("history_type", flat=True)) == ["+"] * 3 + ["-"]
    with pytest.raises(EditConflictError):
        correct_count(Submission(cast.owner, TODAY, version=1), count=row, entry=told)


def test_a_pup_is_put_into_a_count(cast, litter):
    row = count(cast, entry(litter, coming=2, pups=(cast.rook, cast.sorrel)))
    whole = entry(litter, coming=2, none=1)
    correct_count(Submission(cast.owner, TODAY, version=1), count=row, entry=whole)
    assert len(LitterCount.objects.get().pups) == 3


def test_a_count_that_never_was_is_taken_out_and_its_history_stays(cast, litter):
    row = count(cast, entry(litter, coming=3))
    remove_count(Submission(cast.owner, version=1), count=row)
    assert not LitterCount.objects.exists()
    assert not CountedPup.objects.exists()
    assert LitterCount.history.filter(history_type="-").count() == 1
    assert CountedPup.history.filter(history_type="-").count() == 3
    with pytest.raises(RecordRefusedError):
        remove_count(Submission(cast.owner, version=1), count=row)


def test_a_litter_is_not_born_after_its_pups_were_counted(cast, litter):
    count(cast, entry(litter, coming=3))
    with pytest.raises(RecordRefusedError) as found:
        correct_litter(
            Submission(cast.owner, TODAY, version=litter.version),
            litter=litter,
            entry=replace(entry_of(litter), born=PartialDate(2026, 6, 1)),
        )
    assert any(code.startswith("counted-before-birth") for code, _ in codes(found))


def test_a_book_is_examined_for_counts_that_cannot_be_any_more(cast, litter):
    count(cast, entry(litter, coming=5, nameless=2))
    assert not _of_counts()
    Litter.objects.filter(pk=litter.pk).update(born_alive=3)
    assert [found.finding.code for found in _of_counts()] == ["more-than-nameless"]


def _of_counts():
    found = examine(Animal.objects.all(), today=TODAY)
    return [one for one in found if isinstance(one.row, LitterCount)]


def test_a_pup_added_is_nameless_no_more(cast, litter):
    """Of two counts it was among one: there it is known now, and the other is left as it was."""
    among = count(cast, entry(litter, coming=5, nameless=2))
    later = SEVEN_WEEKS + datetime.timedelta(days=1)
    other = count(cast, entry(litter, on=later, coming=4, nameless=1))
    submission = Submission(cast.owner, TODAY, version=litter.version)
    told = add_pups(
        submission, litter=litter, pups=(PupEntry(name="Rue", sex="sow"),), counted=(among,)
    )
    assert told.born_alive == 5, "two had no line, one of them has one now"
    assert told.counts.get(pk=among.pk).nameless == 1
    assert "Rue" in {row.animal.name for row in CountedPup.objects.filter(count=among)}
    assert told.counts.get(pk=other.pk).nameless == 1
    assert "Rue" not in {row.animal.name for row in CountedPup.objects.filter(count=other)}
