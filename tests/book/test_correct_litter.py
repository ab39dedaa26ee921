"""A litter put right at the desk: its own facts, its sires, a pup overlooked, a mix-up."""

import datetime
from dataclasses import replace

import pytest

from herdbook.book.exceptions import ConfirmationNeededError, EditConflictError, RecordRefusedError
from herdbook.book.inputs import PupEntry
from herdbook.book.models import Book, CandidateSire
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import add_pups, correct_litter, entry_of, exchange_records
from tests.factories import AnimalFactory, LitterFactory, LookFactory, WeighingFactory

TODAY = datetime.date(2026, 11, 25)
SINCE = datetime.date(2026, 5, 1)
EARLIER = datetime.date(2026, 4, 1)
LATER = datetime.date(2026, 6, 1)


def correct(cast, *, version=1, answered=(), **values):
    return correct_litter(
        Submission(cast.owner, TODAY, answered=answered, version=version),
        litter=cast.march_litter,
        entry=replace(entry_of(cast.march_litter), **values),
    )


def test_it_works(cast):
    litter = correct(cast, born=PartialDate(2026, 3, 15), born_dead=1, remarks="at night")
    assert (str(litter.born), litter.born_dead, litter.version) == ("2026-03-15", 1, 2)
    assert [str(was.born) for was in litter.history.all()][-1] == "2026-03-14"
    assert litter.pups.count() == 2


def test_a_sire_is_added_and_one_removed(cast):
    litter = correct(cast, boars=(cast.bramble, cast.flint), weights=())
    assert set(litter.candidate_boars) == {cast.bramble, cast.flint}
    kept = litter.sires.get(boar=cast.bramble)
    litter = correct(cast, version=2, boars=(cast.flint,), weights=())
    assert litter.candidate_boars == [cast.flint]
    assert CandidateSire.history.filter(id=kept.pk).first().history_type == "-"


def test_shares_stay_where_the_sires_stay(cast):
    cast.march_litter.sires.update(weight=3.0)
    litter = correct(cast, remarks="again")
    assert litter.sires.get().weight == 3.0


def test_a_save_of_an_old_page_is_told_of_the_sires_too(cast):
    old = replace(entry_of(cast.march_litter), remarks="mine")
    correct(cast, boars=(cast.flint,), weights=())
    with pytest.raises(EditConflictError) as changed:
        correct_litter(
            Submission(cast.owner, TODAY, version=1), litter=cast.march_litter, entry=old
        )
    assert changed.value.differences == {"boars": [cast.flint]}


def test_a_pup_that_was_overlooked_is_added(cast):
    litter = add_pups(
        Submission(cast.owner, TODAY, version=1),
        litter=cast.march_litter,
        pups=(PupEntry(sex="sow", birth_weight_g=90),),
    )
    assert litter.born_alive == 3
    assert litter.pups.count() == 3
    added = litter.pups.get(number="7")
    assert (added.sex, added.birth_weight_g, added.dam) == ("sow", 90, cast.wren)


def test_a_pup_born_alive_without_a_line_gets_one(cast):
    cast.march_litter.born_alive = 4
    cast.march_litter.save()
    litter = add_pups(
        Submission(cast.owner, TODAY, version=1),
        litter=cast.march_litter,
        pups=(PupEntry(), PupEntry()),
    )
    assert (litter.born_alive, litter.pups.count()) == (4, 4)


def test_pups_left_without_a_line_before_are_not_asked_about_again(cast):
    cast.march_litter.born_alive = 4
    cast.march_litter.save()
    litter = add_pups(
        Submission(cast.owner, TODAY, version=1), litter=cast.march_litter, pups=(PupEntry(),)
    )
    assert (litter.born_alive, litter.pups.count()) == (4, 3)
    with pytest.raises(ConfirmationNeededError) as asked:
        correct(cast, version=2, born_alive=5)
    assert [finding.code for finding in asked.value.findings] == ["pups-not-written"]


def test_an_added_pup_is_asked_about_at_its_own_line(cast):
    with pytest.raises(ConfirmationNeededError) as asked:
        add_pups(
            Submission(cast.owner, TODAY, version=1),
            litter=cast.march_litter,
            pups=(PupEntry(birth_weight_g=400),),
        )
    (finding,) = asked.value.findings
    assert finding.field == "pups-0-birth_weight_g"


def test_a_pup_asked_about_at_birth_is_not_asked_about_again(cast):
    cast.rook.birth_weight_g = 400
    cast.rook.save()
    assert correct(cast, remarks="again").remarks == "again"


# A mix-up


def swap(cast, since=SINCE, first=None, second=None, answered=()):
    exchange_records(
        Submission(cast.owner, TODAY, answered=answered),
        first=first or cast.rook,
        second=second or cast.sorrel,
        since=since,
    )


def test_a_mix_up_is_put_right_from_its_day_on(cast):
    before = WeighingFactory(animal=cast.rook, on=EARLIER, weight_g=300)
    rooks = WeighingFactory(animal=cast.rook, on=SINCE, weight_g=500)
    sorrels = WeighingFactory(animal=cast.sorrel, on=LATER, weight_g=600)
    look = LookFactory(animal=cast.sorrel, on=LATER, stage="full")
    swap(cast, answered=["sexes-differ"])
    for row in (before, rooks, sorrels, look):
        row.refresh_from_db()
    assert before.animal == cast.rook
    assert rooks.animal == cast.sorrel
    assert sorrels.animal == look.animal == cast.rook
    assert [was.animal_id for was in rooks.history.all()] == [cast.sorrel.pk, cast.rook.pk]
    assert rooks.version == 2


def test_a_mix_up_of_another_litter_is_refused(cast):
    WeighingFactory(animal=cast.rook, on=LATER, weight_g=500)
    for other in (cast.tansy, cast.rook):
        with pytest.raises(RecordRefusedError) as refused:
            swap(cast, second=other)
        assert refused.value.findings[0].field == "second"


def test_a_mix_up_to_come_is_refused(cast):
    with pytest.raises(RecordRefusedError) as refused:
        swap(cast, since=datetime.date(2026, 11, 26))
    assert "future" in [finding.code for finding in refused.value.findings]


def test_a_mix_up_with_nothing_to_exchange_is_refused(cast):
    WeighingFactory(animal=cast.rook, on=EARLIER, weight_g=300)
    with pytest.raises(RecordRefusedError) as refused:
        swap(cast, answered=["sexes-differ"])
    assert "nothing-since" in [finding.code for finding in refused.value.findings]
    assert not Book.objects.filter(revision__gt=0).exists()


def test_a_mix_up_asks_about_litters_of_their_own(cast):
    WeighingFactory(animal=cast.rook, on=LATER, weight_g=500)
    other = AnimalFactory(herd=cast.herd, sex="sow", litter=cast.march_litter)
    LitterFactory(herd=cast.herd, dam=cast.sorrel, born=PartialDate(2026, 10, 1))
    with pytest.raises(ConfirmationNeededError) as asked:
        swap(cast)
    codes = [finding.code for finding in asked.value.findings]
    assert codes == [f"has-litters:{cast.sorrel.pk}", "sexes-differ"]
    swap(cast, answered=codes)
    swap(cast, first=cast.sorrel, second=other, answered=codes)
