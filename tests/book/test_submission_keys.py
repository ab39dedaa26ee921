"""A form's key is its own: nobody else's form, and no other page's, is taken for it."""

import pytest

from herdbook.book.desk.observations import record_weighings
from herdbook.book.desk.writing import AlreadyWritten
from herdbook.book.entries import WeighingEntry
from herdbook.book.models import Weighing
from tests.conftest import TODAY
from tests.factories import AnimalFactory

KEY = "one and the same"


def weigh(user, animal):
    entry = WeighingEntry(animal, TODAY, 900)
    return record_weighings(
        user=user, herd=animal.herd, entries=[entry], today=TODAY, submission_key=KEY
    )


def test_a_double_tap_writes_once(cast):
    weigh(cast.owner, cast.rook)

    with pytest.raises(AlreadyWritten):
        weigh(cast.owner, cast.rook)

    assert Weighing.objects.count() == 1


def test_another_animals_form_is_written(cast):
    weigh(cast.owner, cast.rook)
    weigh(cast.owner, cast.sorrel)

    assert Weighing.objects.count() == 2


def test_another_keepers_form_is_written(cast, other_herd):
    user, herd = other_herd
    weigh(cast.owner, cast.rook)
    weigh(user, AnimalFactory(herd=herd))

    assert Weighing.objects.count() == 2
