"""Roan and satin in a season's plan: what stays out at first, also where it hides, and why."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from genetics.colours.carriers import Looks
from genetics.colours.lethal_risks import risks_of_pairs
from genetics.colours.litter import litter_colours
from genetics.figures.refresh import ensure_current
from genetics.models import SeasonPlan
from genetics.season.candidates import stock_of
from genetics.season.request import LEFT_OUT, LETHAL, SATIN, WELFARE, Wishes
from herdbook.book.models import Animal
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory
from tests.genetics.season.test_planner import pairs, planned, wishes

pytestmark = pytest.mark.usefixtures("today")


def note(animal, coat_type):
    Animal.objects.filter(pk=animal.pk).update(coat_type=coat_type)


def young(cast, sire, dam, **values):
    litter = LitterFactory(
        herd=cast.herd,
        dam=dam,
        boars=[sire],
        born=PartialDate(2026, 4, 1),
        born_alive=1,
        born_dead=0,
        source="home",
    )
    return AnimalFactory(herd=cast.herd, litter=litter, **values)


@pytest.fixture
def hidden(cast):
    """A patched daughter of a roan dam, who may hide roan under white, and a roan boar, no kin."""
    dam = AnimalFactory(herd=cast.herd, sex="sow", state="sold", coat_type="roan")
    sire = AnimalFactory(herd=cast.herd, sex="boar", state="sold", coat="red", coat_type="plain")
    sow = young(cast, sire, dam, sex="sow", coat="red", coat_type="patches", name="Betony")
    note(cast.bramble, "roan")
    return sow


def test_roan_to_roan_stays_out_until_it_is_let_in(cast):
    for animal in (cast.wren, cast.bramble):
        note(animal, "roan")
    pair = (cast.wren.pk, cast.bramble.pk)
    found = planned(cast, left_out=WELFARE)
    assert pair not in pairs(found)
    assert found["pairs_out"]["roan-to-roan"] == 1
    found = planned(cast, left_out=SATIN)
    assert pair in pairs(found)
    (told,) = (one for one in found["pairs"] if (one["sow"], one["boar"]) == pair)
    # Mendel: a quarter, but for a slip in the records
    assert told["lethal"] == pytest.approx(0.25, abs=0.02)


def test_roan_that_may_hide_under_white_keeps_a_pair_out(cast, hidden):
    pair = (hidden.pk, cast.bramble.pk)
    found = planned(cast, left_out=WELFARE)
    assert pair not in pairs(found)
    assert found["pairs_out"]["lethal-white"] >= 1
    # half of a roan's young are roan, and half of these with a roan's get a lethal white at last
    stock = stock_of(cast.herd, wishes())
    row = [sow.pk for sow in stock.sows].index(hidden.pk)
    column = [boar.pk for boar in stock.boars].index(cast.bramble.pk)
    assert stock.risks.lethal[row, column] == pytest.approx(1 / 8, abs=0.01)
    resting = tuple(sow.pk for sow in stock.sows if sow.pk != hidden.pk)
    forced = {"resting": resting, "forbidden": ((hidden.pk, cast.rook.pk),)}
    assert "pairs" not in planned(cast, left_out=WELFARE, **forced)
    assert pairs(planned(cast, left_out=SATIN, **forced)) == {pair}


def test_satins_stay_out_and_it_is_said_why(cast):
    note(cast.tansy, "satin")
    found = planned(cast, left_out=WELFARE)
    assert {"sow": cast.tansy.pk, "why": "satin"} in found["rests"]
    assert cast.tansy.pk in {sow for sow, _ in pairs(planned(cast, left_out=LETHAL))}


def test_carriers_of_satin_are_not_put_to_each_other(cast):
    dam = AnimalFactory(herd=cast.herd, sex="sow", state="sold", coat_type="satin")
    sire = AnimalFactory(herd=cast.herd, sex="boar", state="sold", coat_type="plain")
    sow = young(cast, sire, dam, sex="sow", coat_type="plain")
    boar = young(cast, sire, dam, sex="boar", coat_type="plain")
    far = AnimalFactory(herd=cast.herd, sex="boar", coat_type="plain")
    ensure_current()
    stock = stock_of(cast.herd, wishes(left_out=WELFARE))
    places = {
        animal.pk: place for of in (stock.sows, stock.boars) for place, animal in enumerate(of)
    }
    row = places[sow.pk]
    # Mendel: a quarter of two carriers' young; next to nothing by a boar of no such family
    assert stock.risks.satin[row, places[boar.pk]] == pytest.approx(0.25, abs=0.02)
    assert stock.risks.satin[row, places[far.pk]] == 0
    assert stock.pairs_out[row, places[boar.pk]] == "satin-pups"
    assert (row, places[far.pk]) not in stock.pairs_out


def test_a_small_chance_of_satin_is_told_and_keeps_nobody_out(cast):
    # the young of a carrier, a half of whom carry it: 1/2 x 1/4 of two of them, less by each step
    dam = AnimalFactory(herd=cast.herd, sex="sow", state="sold", coat_type="satin")
    sire = AnimalFactory(herd=cast.herd, sex="boar", state="sold", coat_type="plain")
    carrier = young(cast, sire, dam, sex="sow", state="sold", coat_type="plain")
    mate = AnimalFactory(herd=cast.herd, sex="boar", state="sold", coat_type="plain")
    further = young(cast, mate, carrier, sex="sow", state="sold", coat_type="plain")
    sow = young(cast, mate, further, sex="sow", coat_type="plain")
    boar = young(cast, sire, further, sex="boar", coat_type="plain")
    ensure_current()
    stock = stock_of(cast.herd, wishes(left_out=WELFARE))
    row = [one.pk for one in stock.sows].index(sow.pk)
    column = [one.pk for one in stock.boars].index(boar.pk)
    assert 0.01 < stock.risks.satin[row, column] < 0.05
    assert (row, column) not in stock.pairs_out


def test_the_risks_are_those_of_each_pairs_own_look_up(cast, hidden):
    note(cast.tansy, "roan")
    note(cast.rook, "patches")
    ensure_current()
    sows = [hidden, Animal.objects.get(pk=cast.tansy.pk)]
    boars = [Animal.objects.get(pk=one.pk) for one in (cast.bramble, cast.rook)]
    risks = risks_of_pairs(sows, boars)
    for (row, sow), (column, boar) in product(enumerate(sows), enumerate(boars)):
        alone = litter_colours(sow, boar)
        lethal = alone.chance("roan", "lethal white")
        assert risks.lethal[row, column] == pytest.approx(lethal, abs=0.005)
    assert risks.lethal.max() > 0.2


def test_a_lethal_white_speaks_for_both_its_parents_where_nothing_else_is_written(cast):
    """Neither parent is seen to be roan, both must be: a quarter, but for a slip in the records."""
    young(cast, cast.bramble, cast.wren, coat="lethal", state="died")
    risks = risks_of_pairs([cast.wren, cast.tansy], [cast.bramble])
    assert risks.lethal[0, 0] == pytest.approx(0.25, abs=0.03)
    assert risks.lethal[1, 0] == 0, "no kin of hers shows it"


def test_a_book_without_a_sign_is_not_worked_out(cast, monkeypatch):
    monkeypatch.setattr("genetics.colours.lethal_risks.read_looks", None)
    risks = risks_of_pairs([cast.wren, cast.tansy], [cast.bramble])
    assert risks.lethal.shape == (2, 1)
    assert not risks.lethal.any()
    assert not risks.satin.any()


def test_parents_too_tangled_to_be_worked_out_are_counted(cast, hidden, monkeypatch):
    reckon = Looks.reckon

    def tangled(looks, gene, **given):
        dose = reckon(looks, gene, **given)
        chances = dose.chances.copy()
        chances[looks.reading.place[cast.bramble.pk]] = np.nan
        return replace(dose, chances=chances)

    monkeypatch.setattr(Looks, "reckon", tangled)
    found = planned(cast, left_out=WELFARE)
    assert found["risks_unknown"] == 1
    stock = stock_of(cast.herd, wishes())
    assert not stock.risks.lethal[:, [boar.pk for boar in stock.boars].index(cast.bramble.pk)].any()


def test_a_better_boar_left_out_is_named_with_his_caution(cast):
    for animal in (cast.wren, cast.bramble):
        note(animal, "roan")
    AnimalFactory(herd=cast.herd, sex="boar", bought_as="self", coat="red", coat_type="plain")
    found = planned(cast, left_out=WELFARE)
    why = found["why"][str(cast.wren.pk)]
    assert (why["why"], why["boar"], why["code"]) == ("out", cast.bramble.pk, "roan-to-roan")


def test_welfare_comes_first_unless_it_is_let_in():
    assert set(WELFARE) <= set(LEFT_OUT)
    assert set(WELFARE) <= set(wishes(left_out=LEFT_OUT).left_out)
    assert wishes(left_out=LEFT_OUT).lets_in == ()


def test_a_plan_of_before_is_asked_again_with_welfare_first(cast):
    asked = wishes(left_out=("sow-young", "roan-to-roan")).as_data()
    del asked["counted"]
    plan = SeasonPlan.objects.create(herd=cast.herd, asked=asked)
    again = Wishes.of(SeasonPlan.objects.get(pk=plan.pk).asked).as_now()
    assert set(again.left_out) == {"sow-young", *WELFARE}
    assert again.lets_in == ()
    assert wishes(left_out=SATIN).as_now().lets_in == LETHAL
