"""The lines of a herd, from the book."""

from datetime import date

import pytest

from genetics.core.exceptions import PedigreeError
from genetics.figures.refresh import ensure_current
from genetics.herd import founders as lines
from genetics.herd.founders import lines_of
from genetics.models import KeptLines
from herdbook.book.models import Animal, Book, Litter
from herdbook.book.partial_date import PartialDate
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory


def named(founders):
    return {
        founder.animal.name if founder.animal else founder.unknown: founder for founder in founders
    }


def test_it_works(cast):
    found = lines_of(cast.herd, TODAY)
    assert found.animals == 6, "Flint is on loan, and still the herd's"
    founders = named(found.founders)
    # six animals: Bramble and Wren themselves and half of each of their two young
    assert founders["Bramble"].share == pytest.approx(2 / 6)
    assert founders["Wren"].share == pytest.approx(2 / 6)
    assert founders["Tansy"].share == pytest.approx(1 / 6)
    assert found.effective_founders == pytest.approx(1 / (2 / 9 + 2 / 36))
    assert [keeper.animal.name for keeper in founders["Bramble"].keepers] == [
        "Bramble",
        "Rook",
        "Sorrel",
    ]
    assert founders["Bramble"].left == 1
    # all of Bramble's genes are in him; what his young lack, he alone has: half of a half
    assert founders["Bramble"].keepers[0].alone == pytest.approx(1 / 4, abs=0.03)
    assert {founder.animal.name for founder in found.about_to_go} == {"Tansy", "Flint"}


def test_a_dead_founders_genes_rest_on_its_young(cast):
    Animal.objects.filter(pk__in=[cast.bramble.pk, cast.sorrel.pk]).update(state="died")
    found = lines_of(cast.herd, TODAY)
    bramble = named(found.founders)["Bramble"]
    (rook,) = bramble.keepers
    assert (rook.animal, rook.has) == (cast.rook, 0.5)
    # he got one of two genes
    assert bramble.left == rook.alone == pytest.approx(0.5)
    assert bramble.about_to_go


def test_a_founder_with_nobody_left_is_not_told_of(cast):
    gone = [cast.bramble, cast.rook, cast.sorrel]
    Animal.objects.filter(pk__in=[animal.pk for animal in gone]).update(state="sold")
    assert "Bramble" not in named(lines_of(cast.herd, TODAY).founders)


def test_parents_that_nobody_knows_are_founders_of_the_litter(cast):
    litter = LitterFactory(herd=cast.herd, dam=cast.tansy, born=PartialDate(2026, 1, 5))
    pups = AnimalFactory.create_batch(2, herd=cast.herd, litter=litter)
    unknown = named(lines_of(cast.herd, TODAY).founders)["sire"]
    assert unknown.animal is None
    assert set(unknown.pups) == set(pups)
    assert {keeper.animal for keeper in unknown.keepers} == set(pups)
    # each pup has one gene of two; both have the same one half the time
    assert unknown.left == pytest.approx(0.75, abs=0.03)


def test_an_uncertain_sire_counts_by_his_weight(cast):
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.tansy,
        boars=[cast.bramble, cast.flint],
        born=PartialDate(2026, 1, 5),
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter)
    flint = named(lines_of(cast.herd, TODAY).founders)["Flint"]
    assert {keeper.animal: keeper.has for keeper in flint.keepers} == {cast.flint: 1, pup: 0.25}


def test_those_bred_from_lately_make_the_effective_size(cast):
    found = lines_of(cast.herd, TODAY)
    assert (found.boars, found.sows, found.size_by_parents) == (1, 1, 2)
    later = lines_of(cast.herd, date(2027, 6, 1))
    assert (later.boars, later.sows, later.size_by_parents) == (0, 0, None)


def test_litters_taken_in_from_paper_count_where_their_dam_is_in_the_herd(cast):
    taken_in = {"source": "paper", "born": PartialDate(2026, 5, 1), "born_dead": None}
    LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.rook], **taken_in)
    found = lines_of(cast.herd, TODAY)
    assert (found.boars, found.sows) == (2, 2)
    Animal.objects.filter(pk=cast.tansy.pk).update(state="sold")
    found = lines_of(cast.herd, TODAY)
    assert (found.boars, found.sows) == (1, 1), "a litter of a sow elsewhere is not the herd's"


def test_the_size_by_kinship_needs_kin(cast):
    found = lines_of(cast.herd, TODAY)
    # one pair of six has a generation behind it: full sibs, kinship 1/4, in one generation
    assert found.size_by_kinship == pytest.approx(2)
    Animal.objects.filter(pk=cast.sorrel.pk).update(state="sold")
    assert lines_of(cast.herd, TODAY).size_by_kinship is None


def test_a_herd_of_nobody(other_herd):
    assert lines_of(other_herd[1], TODAY) is None


def test_it_refuses_a_pedigree_that_contradicts_itself(cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    with pytest.raises(PedigreeError, match="its own ancestor"):
        lines_of(cast.herd, TODAY)


def test_lines_are_found_once_a_revision(cast, monkeypatch):
    ensure_current()
    first = lines_of(cast.herd, TODAY)
    monkeypatch.setattr(lines, "_found", None)
    assert lines_of(cast.herd, TODAY) == first


def test_a_change_of_the_book_finds_them_anew(cast):
    ensure_current()
    assert lines_of(cast.herd, TODAY).animals == 6
    Animal.objects.filter(pk=cast.tansy.pk).update(state="sold")
    Book.objects.update_or_create(pk=1, defaults={"revision": 9})
    assert lines_of(cast.herd, TODAY).animals == 5


def test_lines_of_figures_that_are_behind_are_not_kept(cast):
    """They took possible sires as written: with the figures they are found again."""
    lines_of(cast.herd, TODAY)
    assert not KeptLines.objects.exists()
    ensure_current()
    lines_of(cast.herd, TODAY)
    assert KeptLines.objects.exists()
