"""A birth is not put after what the animal is known to have done."""

import datetime

import pytest

from herdbook.book.exceptions import RecordRefusedError
from herdbook.book.inputs import AnimalEntry, ParentsEntry
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.animals import correct_animal
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import correct_litter, entry_of
from tests.conftest import TODAY
from tests.factories import LookFactory, WeighingFactory


def born_on(cast, animal, day):
    return correct_animal(
        Submission(cast.owner, TODAY, version=animal.version),
        animal=animal,
        entry=AnimalEntry({"name": animal.name}, ParentsEntry(born=day)),
    )


def codes(refused):
    return {finding.code.split(":")[0] for finding in refused.value.findings}


def test_it_works(cast):
    born_on(cast, cast.wren, PartialDate(2025, 2, 20))

    cast.wren.litter.refresh_from_db()
    assert cast.wren.born == PartialDate(2025, 2, 20)


@pytest.mark.parametrize("parent", ["wren", "bramble"])
def test_it_refuses_an_animal_younger_than_its_young(cast, parent):
    with pytest.raises(RecordRefusedError) as refused:
        born_on(cast, getattr(cast, parent), PartialDate(2026, 11, 20))

    assert "younger-than-its-young" in codes(refused)


def test_it_refuses_a_birth_after_a_look(cast):
    LookFactory(animal=cast.tansy, on=datetime.date(2025, 8, 1), stage="none")

    with pytest.raises(RecordRefusedError) as refused:
        born_on(cast, cast.tansy, PartialDate(2025, 9))

    assert "seen-before-birth" in codes(refused)


def test_it_refuses_a_litter_moved_past_a_weighing_of_a_pup(cast):
    WeighingFactory(animal=cast.rook, on=datetime.date(2026, 3, 20), weight_g=120)
    entry = entry_of(cast.march_litter)
    later = type(entry)(**{**entry.__dict__, "born": PartialDate(2026, 4, 2), "pups": ()})

    with pytest.raises(RecordRefusedError) as refused:
        correct_litter(
            Submission(cast.owner, TODAY, version=cast.march_litter.version),
            litter=cast.march_litter,
            entry=later,
        )

    assert "seen-before-birth" in codes(refused)
