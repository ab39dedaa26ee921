"""The chart of how two parents are related."""

import re

import pytest

from herdbook.charts import MOST_PATHS, Animal, Route, Sex, TooLarge, relationship_chart
from herdbook.charts import engine as graphviz_engine
from herdbook.charts.relationship import STROKES
from tests.charts.conftest import SVG, animal

LITTER = Animal(key="litter", name="The litter", look="inbreeding 25.0%")
ANIMALS = {
    name: animal(name, sex, link=f"/animals/{name}/")
    for name, sex in (
        ("Rook", Sex.BOAR),
        ("Sorrel", Sex.SOW),
        ("Bramble", Sex.BOAR),
        ("Wren", Sex.SOW),
    )
}
ROUTES = (
    Route(("Rook", "Bramble"), ("Sorrel", "Bramble"), "through Bramble: 12.5%"),
    Route(("Rook", "Wren"), ("Sorrel", "Wren"), "through Wren: 12.5%"),
)


def drawn(engine, picture, routes=ROUTES, **more):
    chart = relationship_chart(LITTER, ANIMALS, routes, engine=engine, **more)
    return chart, picture(chart.svg)


def lines(seen, number):
    return [
        part
        for part in seen.root.iter(f"{SVG}path")
        if f"path-{number}" in part.get("class", "").split()
    ]


def test_it_works(engine, picture):
    chart, seen = drawn(engine, picture)
    assert [seen.words(box)[0] for box in seen.boxes()] == [
        "The litter",
        "Rook",
        "Bramble",
        "Sorrel",
        "Wren",
    ]
    assert len(lines(seen, 1)) == len(lines(seen, 2)) == 2
    assert [entry.words for entry in chart.key][:2] == [route.words for route in ROUTES]
    assert {box.get("href") for box in seen.boxes()} >= {"/animals/Rook/"}
    assert seen.title(seen.root) == "How the parents of The litter are related"


def test_paths_differ_without_colour(engine, picture):
    _chart, seen = drawn(engine, picture)
    dashes = [{line.get("stroke-dasharray") for line in lines(seen, number)} for number in (1, 2)]
    assert dashes == [{None}, {"9,4"}]
    assert len({(stroke.dashes, stroke.width) for stroke in STROKES}) == MOST_PATHS
    assert len({stroke.colour for stroke in STROKES}) == MOST_PATHS


def test_paths_that_go_the_same_way_run_side_by_side(engine, picture):
    routes = (
        Route(("Rook", "Bramble"), ("Sorrel", "Bramble"), "one"),
        Route(("Rook", "Bramble"), ("Sorrel", "Wren", "Bramble"), "two"),
    )
    _chart, seen = drawn(engine, picture, routes)
    first, second = lines(seen, 1), lines(seen, 2)
    assert (len(first), len(second)) == (2, 3)
    moved = [
        (line.get("d"), other.get("d"), line.get("transform"), other.get("transform"))
        for line in first
        for other in second
        if line.get("d") == other.get("d")
    ]
    assert [pair[2:] for pair in moved] == [("translate(0,-3)", "translate(0,3)")]


def test_an_ancestor_of_the_other_is_one_box(engine, picture):
    _chart, seen = drawn(engine, picture, (Route(("Bramble",), ("Sorrel", "Bramble"), "her sire"),))
    assert [seen.words(box)[0] for box in seen.boxes()] == ["The litter", "Bramble", "Sorrel"]
    assert len(lines(seen, 1)) == 1


def test_the_litter_stands_at_the_left(engine, picture):
    _chart, seen = drawn(engine, picture)
    left = {
        part.text: float(part.get("x")) for box in seen.boxes() for part in box.iter(f"{SVG}text")
    }
    assert left["The litter"] < left["Rook"] == left["Sorrel"] < left["Bramble"] == left["Wren"]


@pytest.mark.parametrize("count", [0, MOST_PATHS + 1])
def test_it_refuses_paths_that_could_not_be_told_apart(count):
    with pytest.raises(ValueError, match="1 to 6 paths"):
        relationship_chart(LITTER, ANIMALS, (ROUTES[0],) * count)


def test_it_refuses_a_chart_too_large(monkeypatch):
    monkeypatch.setattr(graphviz_engine.check_size, "__defaults__", (3,))
    with pytest.raises(TooLarge):
        relationship_chart(LITTER, ANIMALS, ROUTES)


def test_names_stay_words(engine, picture):
    bad = {**ANIMALS, "Wren": animal('<b>"&\\N]', Sex.SOW)}
    chart = relationship_chart(LITTER, bad, ROUTES, engine=engine)
    seen = picture(chart.svg)
    assert '<b>"&\\N]' in [seen.words(box)[0] for box in seen.boxes()]
    assert not re.search(r"\sstyle=|<script|<style", chart.svg)


def test_both_parents_stand_next_to_the_litter(engine, picture):
    # Wren is one generation behind the boar and two behind the sow
    routes = (Route(("Rook", "Wren"), ("Sorrel", "Bramble", "Wren"), "through Wren"),)
    _chart, seen = drawn(engine, picture, routes)
    left = {
        part.text: float(part.get("x")) for box in seen.boxes() for part in box.iter(f"{SVG}text")
    }
    assert left["Rook"] == left["Sorrel"] < left["Bramble"] < left["Wren"]
