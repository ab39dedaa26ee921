"""Animals at the desk: what is written, refused and kept."""

import datetime

import pytest

from herdbook.book.exceptions import ConfirmationNeededError, RecordRefusedError
from herdbook.book.inputs import AnimalEntry, ParentsEntry
from herdbook.book.models import Animal, Litter
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.animals import correct_animal, move_animal, record_animal
from herdbook.book.services.change_set import Submission
from tests.factories import LitterFactory

TODAY = datetime.date(2026, 11, 25)


def write(cast, parents=None, **values):
    return record_animal(
        Submission(cast.owner, TODAY),
        herd=cast.herd,
        entry=AnimalEntry({"name": "Teasel", "sex": "sow", **values}, parents or ParentsEntry()),
    )


def refused(cast, parents=None, **values):
    animals, litters = Animal.objects.count(), Litter.objects.count()
    with pytest.raises(RecordRefusedError) as found:
        write(cast, parents, **values)
    assert (Animal.objects.count(), Litter.objects.count()) == (animals, litters)
    return [(finding.code, finding.field) for finding in found.value.findings]


def correct(cast, animal, values, parents=None, version=1):
    return correct_animal(
        Submission(cast.owner, TODAY, version=version),
        animal=animal,
        entry=AnimalEntry(values, parents or ParentsEntry()),
    )


def test_it_works(cast):
    parents = ParentsEntry(cast.wren, (cast.bramble, cast.flint), (), PartialDate(2026, 5))
    animal = write(cast, parents, coat="cream")
    assert (animal.dam, str(animal.born), animal.coat) == (cast.wren, "2026-05", "cream")
    assert animal.litter.source == "paper"
    assert set(animal.litter.candidate_boars) == {cast.bramble, cast.flint}
    assert list(Animal.objects.matching("TEASEL")) == [animal]


def test_it_refuses_an_animal_without_name_and_number(cast):
    assert refused(cast, name="") == [("nameless", "name")]


@pytest.mark.parametrize("sign", ["\u202e", "\u200b", "\u2066"])
def test_it_refuses_a_sign_that_cannot_be_seen(cast, sign):
    assert refused(cast, name=f"Tea{sign}sel") == [("hidden-sign:name", "name")]


def test_it_takes_names_of_other_scripts(cast):
    assert write(cast, name="نرگس می\u200cخواهد").name == "نرگس می\u200cخواهد"


def test_it_refuses_a_number_that_is_taken(cast):
    ((code, _field),) = refused(cast, number=cast.rook.number)
    assert code.startswith("field:")


def test_it_refuses_a_parent_that_is_too_young(cast):
    parents = ParentsEntry(dam=cast.sorrel, born=PartialDate(2026, 3, 1))
    assert refused(cast, parents) == [(f"parent-too-young:{cast.sorrel.pk}", "dam")]


@pytest.mark.parametrize("field", ["came_on", "left_on"])
def test_it_refuses_days_to_come_and_days_before_birth(cast, field):
    born = ParentsEntry(born=PartialDate(2026, 5, 2))
    assert refused(cast, born, **{field: PartialDate(2026, 12)}) == [(f"future:{field}", field)]
    assert refused(cast, born, **{field: PartialDate(2026, 4)}) == [
        (f"before-birth:{field}", field)
    ]


@pytest.mark.parametrize("field", ["came_on", "left_on"])
def test_it_refuses_a_year_that_is_a_slip(cast, field):
    assert refused(cast, **{field: PartialDate(206)}) == [(f"long-ago:{field}", field)]
    assert refused(cast, ParentsEntry(born=PartialDate(1))) == [("long-ago:born", "born")]


def test_it_refuses_leaving_before_coming(cast):
    days = {"came_on": PartialDate(2026, 5), "left_on": PartialDate(2026, 4)}
    assert refused(cast, **days) == [("left-before-came", "left_on")]


def test_leaving_is_held_against_the_day_it_came_though_that_is_not_written_again(cast):
    animal = write(cast, came_on=PartialDate(2026, 5))
    with pytest.raises(RecordRefusedError) as found:
        move_animal(
            Submission(cast.owner, TODAY, version=1),
            animal=animal,
            state="sold",
            on=PartialDate(2026, 4),
        )
    assert [finding.code for finding in found.value.findings] == ["left-before-came"]


def test_it_refuses_a_dam_made_a_boar_and_a_sire_made_a_sow(cast):
    for animal, sex, code in [
        (cast.wren, "boar", "dam-as-boar"),
        (cast.bramble, "sow", "sire-as-sow"),
    ]:
        with pytest.raises(RecordRefusedError) as found:
            correct(cast, animal, {"sex": sex})
        assert [(finding.code, finding.field) for finding in found.value.findings] == [
            (code, "sex")
        ]


def test_a_wrong_sexing_is_put_right_and_stays_in_history(cast):
    animal = correct(cast, cast.rook, {"sex": "sow"})
    assert [was.sex for was in animal.history.all()] == ["sow", "boar"]


def test_a_correction_leaves_a_litter_born_at_home_alone(cast):
    correct(cast, cast.rook, {"name": "Raven"})
    cast.march_litter.refresh_from_db()
    assert cast.march_litter.dam == cast.wren
    assert cast.march_litter.version == 1


def test_a_correction_puts_parents_from_paper_right(cast):
    animal = write(cast, ParentsEntry(cast.wren, (cast.bramble,), (), PartialDate(2026, 5)))
    correct(
        cast, animal, {"name": "Teasel"}, ParentsEntry(cast.tansy, (), (), PartialDate(2026, 6))
    )
    litter = Litter.objects.get(pk=animal.litter_id)
    assert (litter.dam, str(litter.born), litter.candidate_boars) == (cast.tansy, "2026-06", [])
    assert litter.version == 2


def test_it_refuses_an_animal_among_its_own_ancestors(cast):
    LitterFactory(herd=cast.herd, dam=cast.tansy, source="paper")
    with pytest.raises(RecordRefusedError) as found:
        correct(cast, cast.wren, {"name": "Wren"}, ParentsEntry(dam=cast.sorrel))
    codes = [finding.code for finding in found.value.findings]
    assert codes == [f"own-ancestor:{cast.sorrel.pk}"]


def test_an_animal_is_sold_and_comes_back(cast):
    animal = move_animal(
        Submission(cast.owner, TODAY, version=1),
        animal=cast.rook,
        state="sold",
        on=PartialDate(2026, 11, 1),
        went_to="a friend",
    )
    assert (animal.state, animal.went_to) == ("sold", "a friend")
    animal = move_animal(
        Submission(cast.owner, TODAY, version=2), animal=animal, state="in_herd", on=None
    )
    assert animal.left_on is None
    assert [was.state for was in animal.history.all()] == ["in_herd", "sold", "in_herd"]


def test_a_correction_to_lethal_white_is_asked_once(cast):
    with pytest.raises(ConfirmationNeededError) as found:
        correct(cast, cast.rook, {"coat": "lethal"})
    assert [finding.code for finding in found.value.findings] == ["lethal-white"]
    Animal.objects.filter(pk=cast.rook.pk).update(coat="lethal")
    cast.rook.refresh_from_db()
    corrected = correct(cast, cast.rook, {"coat": "lethal", "name": "Pale"})
    assert corrected.name == "Pale"
