"""A write has the families worked out again that it touches, and no other."""

import pytest
from django.db.models import Model

from genetics.figures import refresh
from genetics.figures.refresh import compute_figures, ensure_current
from genetics.models import Figure, Reckoning, SireShare
from herdbook.book.models import Animal, Book, GivenEvidence
from herdbook.book.partial_date import PartialDate
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory, LookFactory


@pytest.fixture
def two_families(cast):
    """The cast, and beside it a family of two with a litter of which either boar may be the sire.
    None of them lives where the cast's boars were."""
    Book.objects.update_or_create(pk=1, defaults={"revision": 1})
    sow, one, other = (
        AnimalFactory(herd=cast.herd, sex=sex, name=name)
        for sex, name in (("sow", "Teasel"), ("boar", "Burdock"), ("boar", "Yarrow"))
    )
    litter = LitterFactory(
        herd=cast.herd, dam=sow, boars=[one, other], born=PartialDate(2026, 9, 1)
    )
    AnimalFactory(herd=cast.herd, litter=litter, name="Vetch")
    ensure_current()
    return {animal.name: animal for animal in Animal.objects.all()}


def moved_on(revision):
    Book.objects.filter(pk=1).update(revision=revision)
    assert ensure_current().fresh


def revisions():
    return {figure.animal.name: figure.revision for figure in Figure.objects.all()}


def as_made_afresh():
    """Everything in the tables, after all of it was worked out again."""
    Figure.objects.update(family="")
    compute_figures()
    return in_the_tables()


def in_the_tables():
    left_out = {"revision", "id", "made_at"}
    return [
        {key: value for key, value in row.items() if key not in left_out}
        for model in (Figure, SireShare, Reckoning)
        for row in rows_of(model)
    ]


def rows_of(model: type[Model]):
    order = ("litter_id", "boar_id") if model is SireShare else ("pk",)
    return model.objects.order_by(*order).values()


def test_it_works(two_families):
    LookFactory(animal=two_families["Rook"], on=TODAY, stage="full")
    moved_on(2)
    found = revisions()
    assert found["Rook"] == found["Bramble"] == 2
    assert found["Vetch"] == found["Burdock"] == 1
    kept = in_the_tables()
    assert as_made_afresh() == kept


def test_a_litter_joins_two_families(two_families, cast):
    litter = LitterFactory(
        herd=cast.herd,
        dam=two_families["Teasel"],
        boars=[two_families["Rook"]],
        born=PartialDate(2026, 11, 20),
    )
    AnimalFactory(herd=cast.herd, litter=litter, name="Sedge")
    moved_on(2)
    found = revisions()
    assert found["Sedge"] == found["Rook"] == found["Vetch"] == 2
    kept = in_the_tables()
    assert as_made_afresh() == kept


def test_possible_sires_keep_their_shares(two_families):
    shares = list(SireShare.objects.values("litter_id", "boar_id", "share"))
    assert len(shares) == 3
    LookFactory(animal=two_families["Rook"], on=TODAY, stage="full")
    moved_on(2)
    assert list(SireShare.objects.values("litter_id", "boar_id", "share")) == shares


def test_an_animal_that_goes_leaves_its_family_as_it_is_without_it(two_families):
    two_families["Vetch"].delete()
    moved_on(2)
    kept = in_the_tables()
    assert "Vetch" not in revisions()
    assert as_made_afresh() == kept


def test_a_family_that_cannot_be_is_told_while_others_change(two_families, cast):
    pup, rook = two_families["Vetch"], two_families["Rook"]
    for name in ("Teasel", "Burdock", "Yarrow"):
        GivenEvidence.objects.create(
            herd=cast.herd, animal=two_families[name], like0=1, like1=0, like2=0
        )
    GivenEvidence.objects.create(herd=cast.herd, animal=pup, like0=0, like1=0, like2=1)
    moved_on(2)
    (before,) = ensure_current().troubles
    LookFactory(animal=rook, on=TODAY, stage="full")
    moved_on(3)
    (after,) = ensure_current().troubles
    assert after == before
    assert pup.pk in after["animals"]
    assert revisions()["Rook"] == 3


def test_a_tangled_family_is_remembered_while_others_change(two_families, monkeypatch):
    monkeypatch.setattr(refresh, "BUDGET", 1)
    Figure.objects.filter(animal__name="Teasel").update(family="")
    compute_figures()
    monkeypatch.undo()
    assert not refresh.recomputed_at_once()
    LookFactory(animal=two_families["Rook"], on=TODAY, stage="full")
    moved_on(2)
    assert not refresh.recomputed_at_once()
    LookFactory(animal=two_families["Vetch"], on=TODAY, stage="full")
    moved_on(3)
    assert refresh.recomputed_at_once()


def test_figures_stored_meanwhile_have_all_looked_at_again(two_families, monkeypatch):
    """A look at Rook is written and taken back. While the figures without it are made, in which he
    has not changed, another stores those with it."""
    rook = two_families["Rook"]
    make, interrupted = refresh._compute, []

    def slowly(*what):
        made = make(*what)
        if not interrupted:
            interrupted.append(True)
            look = LookFactory(animal=rook, on=TODAY, stage="full")
            Book.objects.filter(pk=1).update(revision=2)
            compute_figures()
            look.delete()
            Book.objects.filter(pk=1).update(revision=3)
        return made

    before = Figure.objects.get(animal=rook).chances
    Book.objects.filter(pk=1).update(revision=3)
    monkeypatch.setattr(refresh, "_compute", slowly)
    compute_figures()
    assert Figure.objects.get(animal=rook).chances == pytest.approx(before, abs=1e-12)
    assert Reckoning.objects.get().revision == 3
    kept = in_the_tables()
    assert as_made_afresh() == kept


def test_the_whole_table_is_written_in_few_queries(two_families, django_assert_max_num_queries):
    Figure.objects.update(family="")
    with django_assert_max_num_queries(60):
        compute_figures()
