"""A form's key is its own: nobody else's form, and no other page's, is taken for it."""

import pytest

from herdbook.book.exceptions import AlreadyWrittenError
from herdbook.book.inputs import WeighingEntry
from herdbook.book.models import Limits, Weighing
from herdbook.book.services.change_set import Submission
from herdbook.book.services.observations import record_observations
from herdbook.book.services.settings import set_limits
from tests.conftest import TODAY
from tests.factories import AnimalFactory, MembershipFactory

KEY = "one and the same"


def weigh(user, animal):
    entry = WeighingEntry(animal, TODAY, 900)
    return record_observations(Submission(user, TODAY, key=KEY), entries=[entry])


def test_a_double_tap_writes_once(cast):
    weigh(cast.owner, cast.rook)

    with pytest.raises(AlreadyWrittenError):
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


def test_a_form_of_another_herd_of_the_same_keeper_is_written(cast):
    herds = (cast.herd, MembershipFactory(user=cast.owner, herd__name="Second").herd)
    for herd in herds:
        set_limits(Submission(cast.owner, TODAY, key=KEY), herd=herd, values={"sow_rests_days": 30})

    assert {limits.herd for limits in Limits.objects.all()} == set(herds)
