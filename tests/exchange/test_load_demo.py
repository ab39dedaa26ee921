"""The demo herd goes into an empty herd, whole, and ends on the day it is loaded."""

import datetime
import json

import pytest

from herdbook.book.exceptions import RecordRefusedError
from herdbook.book.models import Animal, Book, ChangeSet, Herd, Litter, Weighing
from herdbook.book.rules.audit import examine
from herdbook.book.services.opening import open_book
from herdbook.exchange import demo
from herdbook.exchange.demo import DEMO_HERD, load_demo
from tests.conftest import TODAY


@pytest.fixture
def empty(db):
    """An owner whose herd is still empty."""
    owner = open_book()
    return {"user": owner, "herd": Herd.objects.for_user(owner).get()}


@pytest.mark.parametrize(
    "today",
    [datetime.date(2027, 1, 1), datetime.date(2028, 2, 29), datetime.date(2031, 7, 31)],
    ids=str,
)
def test_dates_move_with_today(empty, today):
    load_demo(**empty, today=today)
    ages = {today - litter.born.latest for litter in Litter.objects.filter(source="home")}
    assert datetime.timedelta(days=9) in ages
    assert datetime.timedelta(days=49) in ages
    assert Weighing.objects.order_by("-on").first().on == today
    assert list(examine(Animal.objects.all(), today=today)) == []


def test_it_refuses_a_herd_that_has_animals(empty):
    load_demo(**empty, today=TODAY)
    before = Animal.objects.count(), Book.objects.get().revision
    with pytest.raises(ValueError, match="has animals already"):
        load_demo(**empty, today=TODAY)
    assert (Animal.objects.count(), Book.objects.get().revision) == before


def test_it_goes_in_whole_or_not_at_all(empty, tmp_path, monkeypatch):
    told = json.loads(DEMO_HERD.read_text(encoding="utf-8"))
    told["weighings"][-1]["weight_g"] = 0
    spoilt = tmp_path / "spoilt.json"
    spoilt.write_text(json.dumps(told), encoding="utf-8")
    monkeypatch.setattr(demo, "DEMO_HERD", spoilt)
    with pytest.raises(RecordRefusedError):
        load_demo(**empty, today=TODAY)
    assert not Animal.objects.exists()
    assert not ChangeSet.objects.exists()
    assert Herd.objects.get().name != "Larkenshaw"
