"""What every write at the desk promises, whatever it writes."""

import datetime
import uuid

import pytest

from herdbook.book.exceptions import (
    AlreadyWrittenError,
    ConfirmationNeededError,
    EditConflictError,
    RecordRefusedError,
)
from herdbook.book.inputs import LitterEntry, PupEntry, WeighingEntry
from herdbook.book.models import Answer, Book, ChangeSet, Litter, Weighing
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import correct_litter, record_litter
from herdbook.book.services.observations import (
    correct_observation,
    record_observations,
    remove_observation,
)

TODAY = datetime.date(2026, 11, 25)
DAY = datetime.date(2026, 11, 20)


def revision():
    return Book.objects.values_list("revision", flat=True).first() or 0


def write_litter(cast, *, key="", answered=(), **values):
    values = {
        "dam": cast.wren,
        "boars": (cast.bramble,),
        "born": PartialDate.of(DAY),
        "pups": (PupEntry(sex="boar"), PupEntry(sex="sow")),
        **values,
    }
    return record_litter(
        Submission(cast.owner, TODAY, key=key, answered=answered),
        herd=cast.herd,
        entry=LitterEntry(**values),
    )


def weigh(cast, grams=950, *, key="", answered=(), on=DAY):
    (weighing,) = record_observations(
        Submission(cast.owner, TODAY, key=key, answered=answered),
        entries=[WeighingEntry(cast.rook, on, grams)],
    )
    return weighing


def test_it_works(cast):
    before = revision()
    litter = write_litter(cast, key=uuid.uuid4().hex)
    change_set = ChangeSet.objects.get(subject=litter.public_id)
    assert (change_set.user, change_set.herd) == (cast.owner, cast.herd)
    assert change_set.action == "record litter"
    assert change_set.revision == revision() == before + 1


def test_each_history_row_names_its_user_and_change_set(cast):
    litter = write_litter(cast)
    change_set = ChangeSet.objects.get(subject=litter.public_id)
    pups = list(litter.pups.all())
    rows = [litter, litter.sires.get(), *pups]
    for row in rows:
        (was,) = row.history.all()
        assert was.history_user == cast.owner
        assert was.history_change_reason == str(change_set.pk)
        assert was.history_type == "+"


def test_a_refused_record_writes_nothing(cast):
    litters, before = Litter.objects.count(), revision()
    with pytest.raises(RecordRefusedError):
        write_litter(cast, dam=cast.rook)
    assert (Litter.objects.count(), revision()) == (litters, before)
    assert not ChangeSet.objects.exists()


def test_an_asked_record_writes_nothing_until_it_is_answered(cast):
    litters, before = Litter.objects.count(), revision()
    with pytest.raises(ConfirmationNeededError) as asked:
        write_litter(cast, pups=(PupEntry(birth_weight_g=400),))
    assert (Litter.objects.count(), revision()) == (litters, before)
    code = asked.value.findings[0].code
    write_litter(cast, pups=(PupEntry(birth_weight_g=400),), answered=[code])
    kept = Answer.objects.get()
    assert kept.code == code
    assert "400 g" in kept.question
    assert kept.change_set.subject == Litter.objects.latest("pk").public_id


def test_a_form_is_written_once(cast):
    key = uuid.uuid4().hex
    litter = write_litter(cast, key=key)
    litters, before = Litter.objects.count(), revision()
    with pytest.raises(AlreadyWrittenError) as again:
        write_litter(cast, key=key)
    assert again.value.change_set.subject == litter.public_id
    assert (Litter.objects.count(), revision()) == (litters, before)


def test_a_row_counts_its_versions(cast):
    weighing = weigh(cast)
    assert weighing.version == 1
    entry = WeighingEntry(cast.rook, DAY, 960)
    weighing = correct_observation(
        Submission(cast.owner, TODAY, version=1), row=weighing, entry=entry
    )
    assert weighing.version == 2
    assert [was.weight_g for was in weighing.history.all()] == [960, 950]


def test_a_second_save_of_an_old_page_is_shown_what_changed_and_only_that(cast):
    weighing = weigh(cast)
    correct_observation(
        Submission(cast.owner, TODAY, version=1),
        row=weighing,
        entry=WeighingEntry(cast.rook, DAY, 960),
    )
    before = revision()
    with pytest.raises(EditConflictError) as changed:
        correct_observation(
            Submission(cast.owner, TODAY, version=1),
            row=weighing,
            entry=WeighingEntry(cast.rook, DAY, 970, remarks="mine"),
        )
    # The remark is new on this page; it did not change in the book.
    assert changed.value.differences == {"weight_g": 960}
    assert revision() == before
    assert Weighing.objects.get().weight_g == 960


def test_a_row_taken_out_meanwhile_is_refused_in_words(cast):
    weighing = weigh(cast)
    remove_observation(Submission(cast.owner, version=1), row=Weighing.objects.get())
    with pytest.raises(RecordRefusedError) as refused:
        correct_observation(
            Submission(cast.owner, TODAY, version=1),
            row=weighing,
            entry=WeighingEntry(cast.rook, DAY, 960),
        )
    assert [finding.code for finding in refused.value.findings] == ["gone"]


def test_what_is_taken_out_stays_in_history(cast):
    weighing = weigh(cast)
    remove_observation(Submission(cast.owner, version=1), row=weighing)
    assert not Weighing.objects.exists()
    last = Weighing.history.filter(public_id=weighing.public_id).latest("history_id")
    assert (last.history_type, last.weight_g, last.history_user) == ("-", 950, cast.owner)


def test_a_stale_page_does_not_take_a_row_out(cast):
    weighing = weigh(cast)
    correct_observation(
        Submission(cast.owner, TODAY, version=1),
        row=weighing,
        entry=WeighingEntry(cast.rook, DAY, 960),
    )
    with pytest.raises(EditConflictError):
        remove_observation(Submission(cast.owner, version=1), row=weighing)
    assert Weighing.objects.get().weight_g == 960


def test_many_rows_carry_the_same_change_set(cast):
    rows = record_observations(
        Submission(cast.owner, TODAY),
        entries=[WeighingEntry(cast.rook, DAY, 900), WeighingEntry(cast.sorrel, DAY, 850)],
    )
    reasons = {row.history.get().history_change_reason for row in rows}
    assert reasons == {str(ChangeSet.objects.get().pk)}
    assert revision() == 1


def test_a_fault_that_only_a_row_shows_is_refused_at_its_field(cast):
    with pytest.raises(RecordRefusedError) as refused:
        weigh(cast, grams=5)
    assert refused.value.findings[0].field == "weight_g"
    assert not ChangeSet.objects.exists()


def test_a_correction_does_not_ask_again_what_was_answered(cast):
    strange = {"boar_in": PartialDate(2026, 11, 1), "born": PartialDate.of(DAY)}
    litter = write_litter(cast, answered=["born-early"], **strange)
    entry = LitterEntry(
        dam=cast.wren, boars=(cast.bramble,), born_alive=2, remarks="at night", **strange
    )
    litter = correct_litter(Submission(cast.owner, TODAY, version=1), litter=litter, entry=entry)
    assert litter.remarks == "at night"
    assert Answer.objects.count() == 1


def test_a_correction_asks_what_has_become_strange(cast):
    litter = write_litter(cast)
    with pytest.raises(ConfirmationNeededError):
        correct_litter(
            Submission(cast.owner, TODAY, version=1),
            litter=litter,
            entry=LitterEntry(
                dam=cast.wren,
                boars=(cast.bramble,),
                born=PartialDate.of(DAY),
                boar_in=PartialDate(2026, 11, 1),
                born_alive=2,
            ),
        )
