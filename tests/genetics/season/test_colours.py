"""A colour wanted of a season's plan: Mendel by hand, what it moves, what it refuses."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from genetics.colours.carriers import Looks
from genetics.figures.refresh import ensure_current
from genetics.models import SeasonPlan
from genetics.season.candidates import stock_of
from genetics.season.planner import work_out
from genetics.season.request import Wishes
from herdbook.book.models import Animal, GivenEvidence
from tests.factories import AnimalFactory

pytestmark = pytest.mark.usefixtures("today")

# Frequencies and shares misrecorded as in loci.toml, alleles that look alike taken as one: C is
# full colour, k the ck and cd of cream and red, w the cr and ca of cream and white.
ALBINO = {"C": 0.35, "k": 0.35, "w": 0.30}
EXTENSION = {"E": 0.14, "p": 0.01, "e": 0.85}
CHOCOLATE = {"B": 0.85, "b": 0.15}


def albino(pair):
    if pair == "ww":
        return "white"
    return "cream" if pair in ("kw", "wk") else "red"


def extension(pair):
    return "red series" if pair == "ee" else "dark"


def chocolate(pair):
    return "chocolate" if pair == "bb" else "black"


def by_hand(frequencies, class_of, misrecorded, said, wanted):
    """The chance of a class in a pup of two founders of whom one word each is written.

    Bayes over ordered pairs of alleles, a wrong word being that of any founder; then every pup.
    """
    share = {a + b: frequencies[a] * frequencies[b] for a in frequencies for b in frequencies}
    handed = []
    for word in said:
        alike = sum(one for pair, one in share.items() if class_of(pair) == word)
        weight = {
            pair: one * ((1 - misrecorded) * (class_of(pair) == word) + misrecorded * alike)
            for pair, one in share.items()
        }
        total = sum(weight.values())
        handed.append(
            {
                a: sum(one * pair.count(a) / 2 for pair, one in weight.items()) / total
                for a in frequencies
            }
        )
    first, second = handed
    return sum(first[a] * second[b] for a in first for b in second if class_of(a + b) == wanted)


@pytest.fixture
def shed(other_herd):
    """A cream self sow, a cream boar of one dose and a red one of two; points on each known."""
    herd = other_herd[1]
    sow = AnimalFactory(herd=herd, sex="sow", coat="cream", point_colour="chocolate")
    cream = AnimalFactory(herd=herd, sex="boar", coat="cream", point_colour="chocolate")
    red = AnimalFactory(herd=herd, sex="boar", coat="red", point_colour="black")
    for animal, dose in ((sow, 0), (cream, 1), (red, 2)):
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=herd, animal=animal, **share)
    ensure_current()
    return herd, sow, cream, red


def wishes(**values):
    start = date(2026, 12, 1)
    usual = {"boar_in": start, "boar_out": start + timedelta(days=17), "pens": 10}
    return Wishes(**(usual | {"sows_a_boar": 4, "left_out": ()} | values))


def planned(herd, **values):
    plan = SeasonPlan.objects.create(herd=herd, asked=wishes(**values).as_data())
    work_out(plan)
    return plan.found


def pairs(found):
    return {(pair["sow"], pair["boar"]) for pair in found["pairs"]}


@pytest.mark.parametrize("body", ["white", "cream"])
def test_it_works(shed, body):
    herd, sow, cream, red = shed
    stock = stock_of(herd, wishes(body=body))
    assert stock.sows == (sow,)
    for boar, coat in ((cream, "cream"), (red, "red")):
        chance = by_hand(ALBINO, albino, 0.05, ("cream", coat), body) * by_hand(
            EXTENSION, extension, 0.01, ("red series", "red series"), "red series"
        )
        assert stock.coloured.chances[0, stock.boars.index(boar)] == pytest.approx(chance)
    # cream to cream: a quarter white and a half cream, but for words that may be wrong
    mendel = {"white": 1 / 4, "cream": 1 / 2}[body]
    chance = stock.coloured.chances[0, stock.boars.index(cream)]
    assert chance == pytest.approx(mendel, abs=0.04)
    assert stock.coloured.error == 0


def test_the_genes_of_body_and_points_multiply(shed):
    herd, _, cream, red = shed
    stock = stock_of(herd, wishes(body="white", points="chocolate"))
    for boar, coat, points in ((cream, "cream", "chocolate"), (red, "red", "black")):
        chance = (
            by_hand(ALBINO, albino, 0.05, ("cream", coat), "white")
            * by_hand(EXTENSION, extension, 0.01, ("red series", "red series"), "red series")
            * by_hand(CHOCOLATE, chocolate, 0.01, ("chocolate", points), "chocolate")
        )
        assert stock.coloured.chances[0, stock.boars.index(boar)] == pytest.approx(chance)


def test_points_count_on_a_red_series_body_alone(shed):
    herd, sow, cream, _ = shed
    for dark in (sow, cream):
        Animal.objects.filter(pk=dark.pk).update(coat="chocolate")
    stock = stock_of(herd, wishes(points="chocolate"))
    chance = by_hand(CHOCOLATE, chocolate, 0.01, ("chocolate", "chocolate"), "chocolate") * by_hand(
        EXTENSION, extension, 0.01, ("dark", "dark"), "red series"
    )
    assert stock.coloured.chances[0, stock.boars.index(cream)] == pytest.approx(chance)


def test_a_colour_moves_the_plan_by_what_it_counts(shed):
    """Three pups: all of one dose by the red boar, half by the cream one; of white there are more
    by the cream one."""
    herd, sow, cream, red = shed
    little = planned(herd, body="white", colour_more=1.0)
    assert pairs(little) == {(sow.pk, red.pk)}
    much = planned(herd, body="white", colour_more=20.0)
    assert pairs(much) == {(sow.pk, cream.pk)}
    (pair,) = much["pairs"]
    # of three born, 27 in a hundred lost; half of the rest of one dose, half of these good enough
    assert pair["one"] == pytest.approx(1.5 * 0.73)
    assert pair["showable"] == pytest.approx(0.75 * 0.73)
    assert pair["in_colour"] == pytest.approx(
        0.75 * 0.73 * stock_of(herd, wishes(body="white")).coloured.chances.max()
    )
    assert much["value"] == pytest.approx(pair["showable"] + 20 * pair["in_colour"])
    assert much["colour"] == {"noted": {"extension": 3, "albino": 3}, "of": 3, "error": 0.0}


def test_a_colour_that_counts_nothing_is_told_and_moves_nothing(shed):
    herd, sow, _, red = shed
    told = planned(herd, body="white")
    assert pairs(told) == {(sow.pk, red.pk)}
    assert told["value"] == pytest.approx(3 * 0.73 * 0.5)
    assert told["pairs"][0]["in_colour"] > 0


def test_without_a_colour_nothing_is_worked_out_and_nothing_counts(shed, monkeypatch):
    herd = shed[0]
    monkeypatch.setattr("genetics.season.colours.read_looks", None)
    plain, more = planned(herd), planned(herd, colour_more=5.0)
    assert more == plain
    assert plain["colour"] is None


@pytest.mark.parametrize(
    ("wanted", "genes"),
    [
        ({"body": "cream"}, ["extension", "albino"]),
        ({"body": "cream", "points": "black"}, ["extension", "albino", "chocolate"]),
    ],
)
def test_each_gene_is_worked_out_once_for_all_pairs(shed, monkeypatch, wanted, genes):
    herd = shed[0]
    AnimalFactory.create_batch(4, herd=herd, sex="sow")
    ensure_current()
    reckoned, reckon = [], Looks.reckon

    def count(looks, gene, **given):
        reckoned.append(gene.key)
        return reckon(looks, gene, **given)

    monkeypatch.setattr(Looks, "reckon", count)
    told = []
    stock = stock_of(herd, wishes(**wanted), told.append)
    assert stock.coloured.chances.shape == (5, 2)
    assert reckoned == genes
    assert told == [number / len(genes) for number in range(len(genes))]


def test_it_refuses_to_plan_by_colours_too_tangled_to_be_worked_out(shed, monkeypatch):
    herd, _, cream, _ = shed
    reckon = Looks.reckon

    def tangled(looks, gene, **given):
        dose = reckon(looks, gene, **given)
        chances = dose.chances.copy()
        chances[looks.reading.place[cream.pk]] = np.nan
        return replace(dose, chances=chances)

    monkeypatch.setattr(Looks, "reckon", tangled)
    found = planned(herd, body="cream", colour_more=1.0)
    assert found["none"] == [{"limit": "colours", "number": 1}]
    assert "pairs" not in found
    assert "pairs" in planned(herd)


def test_a_herd_without_animals(other_herd):
    ensure_current()
    assert planned(other_herd[1], body="cream")["none"] == [{"limit": "pairs", "number": 0}]


def test_more_animals_cost_no_more_queries(shed, django_assert_max_num_queries):
    herd = shed[0]
    AnimalFactory.create_batch(10, herd=herd, sex="sow", coat="red")
    AnimalFactory.create_batch(5, herd=herd, sex="boar", coat="cream")
    ensure_current()
    plan = SeasonPlan.objects.create(
        herd=herd, asked=wishes(body="cream", colour_more=1.0).as_data()
    )
    with django_assert_max_num_queries(40):
        work_out(plan)
