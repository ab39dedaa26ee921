"""A family too large for exact figures is taken up where the last write to the book left it."""

from functools import partial

import numpy as np
import pytest

from genetics.core.large_pedigree import exact_trial, solver
from genetics.core.large_pedigree.register_store import RegisterStore
from genetics.core.large_pedigree.solver import Register
from genetics.figures import refresh
from genetics.figures.refresh import compute_figures, ensure_current
from genetics.models import Figure
from herdbook.book.models import Book
from herdbook.book.partial_date import PartialDate
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory, LookFactory


@pytest.fixture
def large(monkeypatch):
    """Families of three are large, and the kernels run as plain Python."""
    monkeypatch.setattr(exact_trial, "LARGE", 3)
    monkeypatch.setattr(solver, "available", lambda: False)
    monkeypatch.setattr(refresh, "dose_posterior", partial(refresh.dose_posterior, budget=10))
    monkeypatch.setattr(refresh, "_registers", RegisterStore())


@pytest.fixture
def begun(monkeypatch):
    """How many animals each register had that began again."""
    sizes, begin = [], Register._begin

    def counted(self):
        sizes.append(len(self.animals))
        begin(self)

    monkeypatch.setattr(Register, "_begin", counted)
    return sizes


@pytest.fixture
def line(cast, large):
    """Beside the cast a line of eight generations, each a sow and a boar's litter of two."""
    Book.objects.update_or_create(pk=1, defaults={"revision": 1})
    dam = AnimalFactory(herd=cast.herd, sex="sow")
    found = []
    for number in range(8):
        boar = AnimalFactory(herd=cast.herd, sex="boar")
        litter = LitterFactory(
            herd=cast.herd, dam=dam, boars=[boar], born=PartialDate(2018 + number, 3, 1)
        )
        dam = AnimalFactory(herd=cast.herd, litter=litter, sex="sow")
        found.append(AnimalFactory(herd=cast.herd, litter=litter))
    ensure_current()
    return found


def figures():
    rows = Figure.objects.order_by("pk").values_list("pk", "dose0", "dose1", "dose2", "error")
    return np.array(rows, dtype=float)


def moved_on(revision):
    Book.objects.filter(pk=1).update(revision=revision)
    assert ensure_current().fresh
    return figures()


def meets_a_fresh_start(warm, monkeypatch):
    monkeypatch.setattr(refresh, "_registers", RegisterStore())
    Figure.objects.update(family="")
    compute_figures()
    fresh = figures()
    off = np.abs(warm[:, 1:4] - fresh[:, 1:4]).max(axis=1)
    assert (off <= warm[:, 4] + fresh[:, 4] + 1e-12).all()


def test_a_check_starts_from_the_last_figures(line, begun, monkeypatch):
    assert set(Figure.objects.filter(animal=line[4]).values_list("method", flat=True)) == {
        "refined"
    }
    before = figures()
    LookFactory(animal=line[4], on=TODAY, stage="overmarked")
    warm = moved_on(2)
    assert begun == []
    row = warm[:, 0].tolist().index(line[4].pk)
    assert warm[row, 3] > before[row, 3] + 0.1
    meets_a_fresh_start(warm, monkeypatch)


def test_a_deleted_animal_starts_from_the_last_figures(line, begun, monkeypatch):
    LookFactory(animal=line[6], on=TODAY, stage="full")
    moved_on(2)
    line[3].delete()
    warm = moved_on(3)
    assert begun == []
    meets_a_fresh_start(warm, monkeypatch)


def test_a_process_that_has_just_started_has_none(line, begun, monkeypatch):
    monkeypatch.setattr(refresh, "_registers", RegisterStore())
    LookFactory(animal=line[4], on=TODAY, stage="full")
    moved_on(2)
    assert len(begun) == 1
