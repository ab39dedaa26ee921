"""A sheet says what the book knows, and no more."""

import datetime

import pytest

from genetics.figures.refresh import ensure_current
from genetics.models import Figure
from herdbook.book.models import Animal, CandidateSire, CountedPup, LitterCount
from herdbook.book.partial_date import PartialDate
from herdbook.papers.build_sheet import dose_statement, sheet_of
from tests.conftest import TODAY
from tests.factories import AnimalFactory, LitterFactory, LookFactory, WeighingFactory


@pytest.fixture
def fresh(cast):
    """Reads an animal again with its figure."""

    def read(animal):
        ensure_current()
        return Animal.objects.with_parents().select_related("figure").get(pk=animal.pk)

    return read


def pups_of(cast, dam, count, stage, born):
    litter = LitterFactory(herd=cast.herd, dam=dam, boars=[cast.bramble], born=born)
    for _pup in range(count):
        pup = AnimalFactory(herd=cast.herd, litter=litter)
        LookFactory(animal=pup, on=TODAY, stage=stage)


def test_it_works(cast, fresh):
    WeighingFactory(animal=cast.rook, on=datetime.date(2026, 4, 1), weight_g=260)

    sheet = sheet_of(fresh(cast.rook), today=TODAY)

    assert sheet.animal.name == "Thornmoor Rook"
    assert sheet.ancestors["s"].name == "Thornmoor Bramble"
    assert sheet.ancestors["d"].name == "Thornmoor Wren"
    assert set(sheet.ancestors) == {"s", "d"}
    assert sheet.dose.kind == "probable"
    assert sheet.dose.dose == 1
    assert [(one.weight_g, one.age) for one in sheet.weights] == [(260, "2 weeks")]
    assert sheet.issued_on == "25 November 2026"


def test_offspring_prove_a_boar(cast, fresh):
    # That Wren is a self must be seen too: were she marked, her pups would prove less.
    Animal.objects.filter(pk=cast.wren.pk).update(came_on=PartialDate(2025, 4, 1))
    LookFactory(animal=cast.wren, on=TODAY, stage="none")
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 1, 2))
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 5, 2))

    statement = dose_statement(fresh(cast.bramble))

    assert (statement.kind, statement.dose) == ("proved", 2)
    assert statement.grounds[0].marked == 12


@pytest.fixture
def seen_mates(cast):
    """Wren is seen to be a self and Tansy to be overmarked, whatever they were bought as."""
    for mate, stage in ((cast.wren, "none"), (cast.tansy, "overmarked")):
        Animal.objects.filter(pk=mate.pk).update(came_on=PartialDate(2025, 8, 1))
        for day in (1, 8, 15):
            LookFactory(animal=mate, on=datetime.date(2026, 11, day), stage=stage)


def mates_of(statement):
    return next(ground.mates for ground in statement.grounds if hasattr(ground, "mates"))


def test_the_sheet_says_what_the_mates_were(cast, fresh, seen_mates):
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 1, 2))
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 5, 2))

    assert mates_of(dose_statement(fresh(cast.bramble))) == "self"


def test_the_sheet_of_a_sow_says_what_her_mates_were(cast, fresh, seen_mates):
    for day in (1, 8, 15):
        LookFactory(animal=cast.bramble, on=datetime.date(2026, 11, day), stage="overmarked")
    pups_of(cast, cast.sorrel, 6, "full", PartialDate(2026, 9, 2))

    assert mates_of(dose_statement(fresh(cast.sorrel))) == "overmarked"


def test_of_mates_of_all_sorts_the_sheet_says_nothing(cast, fresh, seen_mates):
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 1, 2))
    pups_of(cast, cast.tansy, 6, "overmarked", PartialDate(2026, 5, 2))

    assert mates_of(dose_statement(fresh(cast.bramble))) == ""


def test_of_a_mate_that_is_not_known_the_sheet_says_nothing(cast, fresh, seen_mates):
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 1, 2))
    pups_of(cast, None, 6, "full", PartialDate(2026, 5, 2))

    assert mates_of(dose_statement(fresh(cast.bramble))) == ""


def test_a_mate_whose_young_are_too_young_to_judge_is_not_counted(cast, fresh, seen_mates):
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 1, 2))
    pups_of(cast, cast.tansy, 2, "none", PartialDate(2026, 11, 10))

    assert mates_of(dose_statement(fresh(cast.bramble))) == "self"


def test_two_pups_do_not_prove_a_boar_that_was_seen_to_be_overmarked(cast, fresh):
    Animal.objects.filter(pk=cast.bramble.pk).update(bought_as="")
    pups_of(cast, cast.wren, 2, "full", PartialDate(2026, 5, 2))
    LookFactory(animal=cast.bramble, on=TODAY, stage="overmarked", warmth="mild")

    statement = dose_statement(fresh(cast.bramble))

    assert statement.chance > 0.99
    assert (statement.kind, statement.dose) == ("seen", 2)


def test_a_look_at_a_grown_animal_is_seen(cast, fresh):
    LookFactory(animal=cast.rook, on=TODAY, stage="full")

    statement = dose_statement(fresh(cast.rook))

    assert (statement.kind, statement.dose) == ("seen", 1)


def test_an_unmarked_pup_is_not_said_to_be_seen(cast, fresh):
    LookFactory(animal=cast.rook, on=datetime.date(2026, 3, 20), stage="none")

    assert dose_statement(fresh(cast.rook)).kind == "probable"


def test_ancestors_behind_a_choice_of_sires_are_left_out(cast, fresh):
    CandidateSire.objects.create(herd=cast.herd, litter=cast.march_litter, boar=cast.flint)
    young = LitterFactory(
        herd=cast.herd, dam=cast.sorrel, boars=[cast.rook], born=PartialDate(2026, 10, 1)
    )
    pup = AnimalFactory(herd=cast.herd, litter=young)

    sheet = sheet_of(fresh(pup), today=TODAY)

    assert sheet.ancestors["ss"].uncertain
    assert "sss" not in sheet.ancestors
    assert sheet.ancestors["sd"].name == "Thornmoor Wren"


def test_a_buyer_is_told_of_both_figures_of_inbreeding(cast, fresh):
    rook = fresh(cast.rook)
    assert sheet_of(rook, today=TODAY).inbreeding.as_written is None
    figure = Figure.objects.filter(animal=rook)
    figure.update(inbreeding=0.125, inbreeding_as_written=0.0625)
    told = sheet_of(rook, today=TODAY).inbreeding
    assert (told.coefficient, told.as_written) == (0.125, 0.0625)


def test_a_buyer_is_told_of_satin_and_roan(cast, fresh):
    Animal.objects.filter(pk=cast.rook.pk).update(coat="red", coat_type="satin")
    Animal.objects.filter(pk=cast.wren.pk).update(coat="", coat_type="roan")
    Animal.objects.filter(pk=cast.bramble.pk).update(coat="cream", coat_type="plain")
    sheet = sheet_of(fresh(cast.rook), today=TODAY)
    assert sheet.animal.coat == "red, satin"
    assert sheet.ancestors["d"].colours.startswith("colour not known, roan or dalmatian")
    assert "plain" not in sheet.ancestors["s"].colours


def test_a_hidden_coat_says_so(cast, fresh):
    Animal.objects.filter(pk=cast.rook.pk).update(coat="black")

    statement = dose_statement(fresh(cast.rook))

    assert any(getattr(ground, "coat", "") == "black" for ground in statement.grounds)


def test_two_pups_do_not_prove_a_boar_bought_as_overmarked(cast, fresh):
    pups_of(cast, cast.wren, 3, "full", PartialDate(2026, 1, 2))

    assert dose_statement(fresh(cast.bramble)).kind != "proved"


def test_parents_do_not_make_a_dose_proved_by_offspring(cast, fresh):
    # Rook has one dose by his parents alone: two marked pups and a self add nothing that proves.
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.rook], born=PartialDate(2026, 9, 1)
    )
    for stage in ("full", "none"):
        LookFactory(animal=AnimalFactory(herd=cast.herd, litter=litter), on=TODAY, stage=stage)

    assert dose_statement(fresh(cast.rook)).kind == "probable"


def test_a_count_of_pups_not_told_apart_is_a_ground(cast, fresh):
    Animal.objects.filter(pk__in=[cast.bramble.pk, cast.wren.pk]).update(bought_as="")
    count = LitterCount.objects.create(
        herd=cast.herd, litter=cast.march_litter, on=TODAY, full=1, none=1
    )
    for pup in (cast.rook, cast.sorrel):
        CountedPup.objects.create(herd=cast.herd, count=count, animal=pup)

    of_a_pup = dose_statement(fresh(cast.rook))
    of_its_sire = dose_statement(fresh(cast.bramble))

    assert "it was counted with its littermates, not one by one" in of_a_pup.grounds
    assert "its own pups were counted, not one by one" in of_its_sire.grounds


def test_a_figure_that_is_not_exact_is_said_to_be_about(cast, fresh):
    LookFactory(animal=cast.rook, on=datetime.date(2026, 11, 1), stage="full")
    rook = fresh(cast.rook)
    rook.figure.method, rook.figure.error = "refined", 0.03
    assert dose_statement(rook).error == 0.03
    rook.figure.error = 0.0
    assert dose_statement(rook).error == 0


def test_a_sheet_keeps_its_statement_where_reasons_would_be_too_dear(cast, fresh, monkeypatch):
    LookFactory(animal=cast.rook, on=datetime.date(2026, 11, 1), stage="full")

    def too_dear(*given, **told):
        raise AssertionError("no reckoning is needed to say what was seen")

    rook = fresh(cast.rook)
    monkeypatch.setattr("genetics.doses.explanation.reasons.evidence_weights", too_dear)
    assert (dose_statement(rook).kind, dose_statement(rook).dose) == ("seen", 1)


def test_young_prove_a_dose_in_a_tangled_herd_too(cast, fresh, monkeypatch):
    Animal.objects.filter(pk=cast.wren.pk).update(came_on=PartialDate(2025, 4, 1))
    LookFactory(animal=cast.wren, on=TODAY, stage="none")
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 1, 2))
    pups_of(cast, cast.wren, 6, "full", PartialDate(2026, 5, 2))
    bramble = fresh(cast.bramble)
    monkeypatch.setattr("genetics.doses.progeny_test.BUDGET", 1.0)
    assert dose_statement(bramble).kind == "proved"
