"""How many queries each page takes: a page that asks the database once a row fails here."""

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext

from herdbook.book.models import Book, LitterCount
from herdbook.book.partial_date import PartialDate
from tests.factories import (
    AnimalFactory,
    JudgementFactory,
    LitterFactory,
    LookFactory,
    WeighingFactory,
)
from tests.pages.site_map import OPEN, address, pages

#: The most queries that each page may take on the cast once its figures are up to date. A page
#: that needs one more for good reason gets a new number; a new page gets its own.
MOST_QUERIES = {
    "add-pups": 10,
    "ahead": 11,
    "animal": 24,
    "animal-changes": 12,
    "animal-reasons": 24,
    "animal-sheet": 17,
    "animal-sheet-pdf": 17,
    "animals": 8,
    "as-expected": 17,
    "boars for a sow": 42,
    "came-true": 10,
    "correct-animal": 5,
    "correct-count": 7,
    "correct-judgement": 3,
    "correct-litter": 10,
    "correct-look": 3,
    "correct-weighing": 3,
    "count-litter": 9,
    "doubts": 6,
    "exchange-records": 8,
    "find-animal": 2,
    "glossary": 2,
    "help": 2,
    "help-page": 2,
    "herd": 3,
    "home": 14,
    "job": 3,
    "limits": 4,
    "lines": 12,
    "litter": 29,
    "litters": 8,
    "look-ahead": 5,
    "look-at-litter": 7,
    "mating of a pair": 60,
    "mating": 7,
    "mating-grid": 39,
    "move-animal": 5,
    "photo": 3,
    "ranking-weights": 4,
    "record-animal": 3,
    "record-judgement": 6,
    "record-litter": 7,
    "record-look": 6,
    "record-weighing": 6,
    "remove-count": 4,
    "remove-judgement": 3,
    "remove-look": 3,
    "remove-weighing": 3,
    "search-help": 2,
    "season": 14,
    "season-plan": 9,
    "suggest-animals": 4,
    "take-in": 3,
    "taught": 13,
    "weigh-litter": 7,
}
#: Pages that show what stood in the book when they were asked for.
_OF_A_DAY = {"job", "look-ahead", "season-plan"}
#: The same pages as asked about a pair of animals, or a sow alone.
_ASKED = {
    "mating of a pair": ("mating", ("sow", "boar")),
    "boars for a sow": ("mating", ("sow",)),
}


def queries_of(client, where):
    """How many queries a page takes that was opened before: its figures are then up to date."""
    client.get(where)
    with CaptureQueriesContext(connection) as taken:
        response = client.get(where)
    assert response.status_code in (200, 302)
    return len(taken)


@pytest.fixture
def addresses(cast, rows):
    """Where each page of the table stands."""
    pair = {"sow": cast.sorrel.public_id, "boar": cast.bramble.public_id}
    asked = {
        name: f"{address(page, rows)}?{'&'.join(f'{one}={pair[one]}' for one in of)}"
        for name, (page, of) in _ASKED.items()
    }
    return {name: address(name, rows) for name in MOST_QUERIES.keys() - asked} | asked


def test_every_page_has_its_number():
    assert MOST_QUERIES.keys() - _ASKED == {pattern.name for pattern in pages()} - OPEN


@pytest.mark.parametrize("name", sorted(MOST_QUERIES))
def test_no_page_takes_more(name, owner_client, addresses):
    assert queries_of(owner_client, addresses[name]) <= MOST_QUERIES[name]


def test_a_herd_twice_as_large_takes_no_more(owner_client, addresses, cast, today):
    add_family(cast, today)
    names = sorted(MOST_QUERIES.keys() - _OF_A_DAY)
    before = {name: queries_of(owner_client, addresses[name]) for name in names}
    add_family(cast, today)
    add_family(cast, today)
    after = {name: queries_of(owner_client, addresses[name]) for name in names}
    assert after == before


@pytest.mark.parametrize("name", ["animal", "animal-sheet", "animal-sheet-pdf"])
def test_more_ancestors_take_no_more(name, owner_client, addresses, cast):
    sides = cast.bramble, cast.wren
    add_ancestors([sides[0]], 3)
    before = queries_of(owner_client, addresses[name])
    add_ancestors([sides[1]], 3)
    assert queries_of(owner_client, addresses[name]) == before


def add_family(cast, today):
    """A founder sow with a litter by Rook, and two more of his littermates, each seen, weighed
    and judged; Rook himself once more."""
    sow = AnimalFactory(herd=cast.herd, sex="sow")
    born = {"born": PartialDate(2026, 8, 1), "born_alive": 2, "source": "home"}
    litter = LitterFactory(herd=cast.herd, dam=sow, boars=[cast.rook], **born)
    litters = (litter, cast.march_litter)
    pups = [
        AnimalFactory(herd=cast.herd, litter=of, sex=sex)
        for of in litters
        for sex in ("boar", "sow")
    ]
    for animal in (sow, *pups, cast.rook):
        LookFactory(animal=animal, on=today, stage="full")
        WeighingFactory(animal=animal, on=today, weight_g=700)
        JudgementFactory(animal=animal, on=today, verdict="showable")
    for of in litters:
        LitterCount.objects.create(herd=cast.herd, litter=of, on=today, coming=2)
    _move_revision()


def add_ancestors(animals, generations):
    """Both parents of each animal, and theirs, for so many generations."""
    for _generation in range(generations):
        parents = []
        for animal in animals:
            boar, sow = (AnimalFactory(herd=animal.herd, sex=sex) for sex in ("boar", "sow"))
            litter = LitterFactory(herd=animal.herd, dam=sow, boars=[boar], born=None)
            type(animal).objects.filter(pk=animal.pk).update(litter=litter)
            parents += [boar, sow]
        animals = parents
    _move_revision()


def _move_revision():
    """Rows made straight in the tables do not make the figures stale: their revision does."""
    Book.objects.get_or_create(pk=1)
    Book.objects.update(revision=F("revision") + 1)
