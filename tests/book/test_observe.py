"""Weighings and looks at the desk: what is written, refused and asked."""

import datetime

import pytest

from herdbook.book.exceptions import ConfirmationNeededError, RecordRefusedError
from herdbook.book.inputs import LookEntry, WeighingEntry
from herdbook.book.models import Animal, ChangeSet, Look, Weighing
from herdbook.book.services.change_set import Submission
from herdbook.book.services.observations import (
    correct_observation,
    record_observations,
    remove_observation,
)
from herdbook.book.services.photos import keep_photo
from tests.book.test_keep_photo import photo_file
from tests.factories import LookFactory, WeighingFactory

TODAY = datetime.date(2026, 11, 25)
BORN = datetime.date(2026, 3, 14)


def days_old(days):
    return BORN + datetime.timedelta(days=days)


def weigh(cast, *entries, answered=()):
    return record_observations(Submission(cast.owner, TODAY, answered=answered), entries=entries)


def look(cast, stage, on=TODAY, *, animal=None, answered=(), **values):
    return record_observations(
        Submission(cast.owner, TODAY, answered=answered),
        entries=[LookEntry(animal or cast.rook, on, stage, values)],
    )[0]


def codes(found):
    return [(finding.code, finding.field) for finding in found.value.findings]


def test_it_works(cast):
    (weighing,) = weigh(cast, WeighingEntry(cast.rook, TODAY, 950, "fasted"))
    assert (weighing.animal, weighing.weight_g, weighing.remarks) == (cast.rook, 950, "fasted")
    seen = look(cast, "coming", days_old(40), smut="dense", ears="coming", warmth="cold")
    assert (seen.stage, seen.smut, seen.ears, seen.warmth) == ("coming", "dense", "coming", "cold")
    subjects = set(ChangeSet.objects.values_list("subject", flat=True))
    assert subjects == {cast.rook.public_id}


def test_a_look_keeps_its_photo(cast):
    photo = keep_photo(herd=cast.herd, file=photo_file())
    seen = look(cast, "full", photo=photo)
    assert seen.photo == photo
    entry = LookEntry(cast.rook, TODAY, "coming", {"photo": None})
    corrected = correct_observation(Submission(cast.owner, TODAY, version=1), row=seen, entry=entry)
    assert corrected.photo is None
    assert [was.photo_id for was in corrected.history.all()] == [None, photo.pk]


def test_a_whole_litter_is_looked_at_in_one_change(cast):
    looks = record_observations(
        Submission(cast.owner, TODAY),
        entries=[
            LookEntry(cast.rook, TODAY, "full"),
            LookEntry(cast.sorrel, TODAY, "none"),
        ],
    )
    assert {seen.animal: seen.stage for seen in looks} == {cast.rook: "full", cast.sorrel: "none"}
    assert ChangeSet.objects.count() == 1


def test_it_refuses_a_day_to_come(cast):
    tomorrow = TODAY + datetime.timedelta(days=1)
    for write in (
        lambda: weigh(cast, WeighingEntry(cast.rook, tomorrow, 950)),
        lambda: look(cast, "full", tomorrow),
    ):
        with pytest.raises(RecordRefusedError) as refused:
            write()
        assert codes(refused) == [("future", "on")]


def test_it_refuses_a_year_that_is_a_slip(cast):
    slip = datetime.date(206, 11, 20)
    for write in (
        lambda: weigh(cast, WeighingEntry(cast.tansy, slip, 950)),
        lambda: look(cast, "full", slip),
    ):
        with pytest.raises(RecordRefusedError) as refused:
            write()
        assert ("long-ago:on", "on") in codes(refused)


def test_it_refuses_a_day_before_birth(cast):
    for write in (
        lambda: weigh(cast, WeighingEntry(cast.rook, days_old(-1), 95)),
        lambda: look(cast, "none", days_old(-1)),
    ):
        with pytest.raises(RecordRefusedError) as refused:
            write()
        assert codes(refused) == [("before-birth", "on")]


def test_it_takes_a_weighing_on_the_day_of_birth(cast):
    assert weigh(cast, WeighingEntry(cast.rook, BORN, 95))


@pytest.mark.parametrize("grams", [9, 4001])
def test_it_refuses_a_weight_that_no_cavy_has(cast, grams):
    with pytest.raises(RecordRefusedError) as refused:
        weigh(cast, WeighingEntry(cast.rook, TODAY, grams), answered=["heavy"])
    assert codes(refused) == [("field:weight_g", "weight_g")]


def test_it_asks_of_a_very_heavy_animal(cast):
    with pytest.raises(ConfirmationNeededError) as asked:
        weigh(cast, WeighingEntry(cast.rook, TODAY, 1801))
    assert codes(asked) == [("heavy", "weight_g")]
    assert weigh(cast, WeighingEntry(cast.rook, TODAY, 1800))


@pytest.mark.parametrize(("grams", "asks"), [(449, True), (450, False), (2250, True)])
def test_it_asks_of_a_jump_in_weight(cast, grams, asks):
    WeighingFactory(animal=cast.rook, on=days_old(100), weight_g=900)
    entry = WeighingEntry(cast.rook, days_old(107), grams)
    if asks:
        with pytest.raises(ConfirmationNeededError) as asked:
            weigh(cast, entry)
        assert ("weight-jump", "weight_g") in codes(asked) or grams <= 2250
    else:
        assert weigh(cast, entry)


@pytest.mark.parametrize(
    ("days", "grams", "asks"), [(5, 110, False), (5, 1040, True), (35, 330, False), (5, 40, True)]
)
def test_the_first_weighing_is_held_against_the_birth_weight(cast, days, grams, asks):
    Animal.objects.filter(pk=cast.rook.pk).update(birth_weight_g=82)
    cast.rook.refresh_from_db()
    entry = WeighingEntry(cast.rook, days_old(days), grams)
    if asks:
        with pytest.raises(ConfirmationNeededError) as asked:
            weigh(cast, entry)
        assert codes(asked) == [("weight-jump", "weight_g")]
    else:
        assert weigh(cast, entry)


def test_months_between_two_weighings_are_no_jump(cast):
    WeighingFactory(animal=cast.rook, on=days_old(7), weight_g=120)
    assert weigh(cast, WeighingEntry(cast.rook, days_old(63), 600))


def test_it_asks_of_a_second_weighing_on_one_day(cast):
    WeighingFactory(animal=cast.rook, on=TODAY, weight_g=950)
    with pytest.raises(ConfirmationNeededError) as asked:
        weigh(cast, WeighingEntry(cast.rook, TODAY, 951))
    assert codes(asked) == [("same-day", "on")]


def test_several_weighings_are_asked_about_each_for_itself(cast):
    entries = [WeighingEntry(cast.rook, TODAY, 1900), WeighingEntry(cast.sorrel, TODAY, 1900)]
    with pytest.raises(ConfirmationNeededError) as asked:
        weigh(cast, *entries)
    assert codes(asked) == [
        (f"heavy:{cast.rook.pk}", f"weight_g-{cast.rook.public_id}"),
        (f"heavy:{cast.sorrel.pk}", f"weight_g-{cast.sorrel.public_id}"),
    ]
    with pytest.raises(ConfirmationNeededError):
        weigh(cast, *entries, answered=[f"heavy:{cast.rook.pk}"])
    assert not Weighing.objects.exists()


def test_a_weighing_moved_to_another_day_is_not_held_against_itself(cast):
    weighing = WeighingFactory(animal=cast.rook, on=days_old(30), weight_g=95)
    corrected = correct_observation(
        Submission(cast.owner, TODAY, version=1),
        row=weighing,
        entry=WeighingEntry(cast.rook, days_old(31), 350),
    )
    assert corrected.weight_g == 350


def test_it_asks_of_a_weighing_after_the_animal_left(cast):
    cast.rook.state, cast.rook.left_on = "died", BORN.replace(month=10)
    cast.rook.save()
    cast.rook.refresh_from_db()
    with pytest.raises(ConfirmationNeededError) as asked:
        weigh(cast, WeighingEntry(cast.rook, TODAY, 950))
    assert codes(asked) == [("after-left", "on")]
    assert weigh(cast, WeighingEntry(cast.rook, BORN.replace(month=10), 950))


@pytest.mark.parametrize(
    ("stage", "days", "asks"),
    [
        ("full", 27, True),
        ("full", 28, False),
        ("overmarked", 20, True),
        ("overmarked", 21, False),
        ("coming", 1, False),
        ("none", 0, False),
    ],
)
def test_it_asks_of_points_that_are_early(cast, stage, days, asks):
    if asks:
        with pytest.raises(ConfirmationNeededError) as asked:
            look(cast, stage, days_old(days))
        assert codes(asked) == [("points-early", "stage")]
        assert look(cast, stage, days_old(days), answered=["points-early"])
    else:
        assert look(cast, stage, days_old(days))


def test_it_asks_of_points_on_a_body_that_hides_them(cast):
    cast.rook.coat = "black"
    cast.rook.save()
    with pytest.raises(ConfirmationNeededError) as asked:
        look(cast, "full")
    assert codes(asked) == [("coat-hides-points", "stage")]
    assert look(cast, "none")


def test_it_asks_of_points_that_are_gone(cast):
    LookFactory(animal=cast.rook, on=days_old(120), stage="full")
    with pytest.raises(ConfirmationNeededError) as asked:
        look(cast, "none")
    assert codes(asked) == [("points-gone", "stage")]
    assert look(cast, "coming")


def test_a_look_corrected_to_none_is_not_held_against_itself(cast):
    seen = LookFactory(animal=cast.rook, on=days_old(120), stage="full")
    corrected = correct_observation(
        Submission(cast.owner, TODAY, version=1),
        row=seen,
        entry=LookEntry(cast.rook, days_old(121), "none"),
    )
    assert corrected.stage == "none"


def test_it_asks_of_a_second_look_on_one_day(cast):
    LookFactory(animal=cast.rook, on=TODAY, stage="full")
    with pytest.raises(ConfirmationNeededError) as asked:
        look(cast, "full")
    assert codes(asked) == [("same-day", "on")]


def test_it_refuses_smut_spread_over_a_face_without_smut(cast):
    with pytest.raises(RecordRefusedError) as refused:
        look(cast, "none", smut="none", spread="face")
    assert codes(refused) == [("spread-without-smut", "spread")]


def test_a_look_taken_out_leads_back_to_its_animal(cast):
    seen = look(cast, "full")
    remove_observation(Submission(cast.owner, version=1), row=seen)
    assert not Look.objects.exists()
    assert ChangeSet.objects.first().subject == cast.rook.public_id
