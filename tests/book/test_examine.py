"""The book is examined as a whole."""

from datetime import date

import pytest
from django.core.management import call_command

from herdbook.book.models import Animal, CandidateSire, Litter
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.audit import examine
from tests.conftest import TODAY
from tests.factories import WeighingFactory


def codes():
    return {found.finding.code for found in examine(Animal.objects.all(), today=TODAY)}


def test_it_works(cast):
    assert codes() == set()


def test_it_finds_a_dam_younger_than_her_litter(cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(born=PartialDate(2026, 5, 1))

    assert f"parent-too-young:{cast.wren.pk}" in codes()


def test_it_finds_a_boar_as_dam(cast):
    Animal.objects.filter(pk=cast.wren.pk).update(sex="boar")

    assert {f"wrong-sex:{cast.wren.pk}", "dam-as-boar"} <= codes()


def test_it_finds_an_animal_that_is_its_own_ancestor(cast):
    CandidateSire.objects.create(herd=cast.herd, litter=cast.bramble.litter, boar=cast.rook)

    assert f"own-ancestor:{cast.rook.pk}" in codes()


def test_it_finds_a_weighing_before_birth(cast):
    WeighingFactory(animal=cast.rook, on=date(2026, 3, 1), weight_g=90)

    assert "before-birth" in codes()


def test_the_command_ends_with_status_1_where_something_cannot_be(cast, capsys):
    Animal.objects.filter(pk=cast.wren.pk).update(sex="boar")

    with pytest.raises(SystemExit) as end:
        call_command("examine")

    assert end.value.code == 1
    assert "Wren" in capsys.readouterr().out


def test_the_command_says_that_nothing_is_wrong(cast, capsys):
    call_command("examine")

    assert "No impossible records" in capsys.readouterr().out
