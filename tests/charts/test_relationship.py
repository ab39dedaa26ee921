"""The chart of how two parents are related."""

import math
import re

import pytest

from herdbook.charts import MOST_PATHS, Animal, ChartTooLargeError, Route, Sex, relationship_chart
from herdbook.charts import graphviz as graphviz_engine
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
    (_one, _other, here, there), *more = moved
    assert not more
    (over, down), (other_over, other_down) = (
        [float(number) for number in re.findall(r"-?[\d.]+", words)] for words in (here, there)
    )
    # The line goes down and aside, and the two are six apart square to it.
    assert (over, down) == (-other_over, -other_down)
    assert over < 0
    assert down != 0
    assert math.hypot(2 * over, 2 * down) == pytest.approx(6, abs=0.2)


def test_an_ancestor_of_the_other_is_one_box(engine, picture):
    _chart, seen = drawn(engine, picture, (Route(("Bramble",), ("Sorrel", "Bramble"), "her sire"),))
    assert [seen.words(box)[0] for box in seen.boxes()] == ["The litter", "Bramble", "Sorrel"]
    assert len(lines(seen, 1)) == 1


def test_the_litter_stands_at_the_top_and_the_sire_left_of_the_dam(engine, picture):
    _chart, seen = drawn(engine, picture)
    frames = seen.frames()
    top = {name: frame[2] for name, frame in frames.items()}
    assert top["The litter"] < top["Rook"] == top["Sorrel"] < top["Bramble"] == top["Wren"]
    assert frames["Rook"][1] < frames["Sorrel"][0]
    assert frames["Rook"][0] < frames["The litter"][1] < frames["Sorrel"][1]


def test_both_engines_place_the_boxes_alike(engines, picture):
    first, second = (drawn(path, picture)[1].frames() for path in engines)
    assert first.keys() == second.keys()
    for name, here in first.items():
        assert here == pytest.approx(second[name], abs=1)


def many(names):
    """As many strangers as asked abreast, each an ancestor that both parents have."""
    known = {name: animal(name, Sex.SOW, born="2020") for name in names}
    routes = tuple(Route(("Rook", name), ("Sorrel", name), name) for name in names)
    return {**ANIMALS, **known}, routes


def test_three_stand_abreast_on_a_phone_and_names_are_whole(engine, picture):
    names = ("Dapplecombe Merriman", "Larkenshaw Midnight Oil", "Kettlefen Bellwether")
    animals, routes = many(names)
    chart = relationship_chart(LITTER, animals, routes, engine=engine)
    seen = picture(chart.svg)
    assert seen.width() <= 324 * 12 / 11, "drawn with words of 11 px it fits 324"
    assert not chart.wider_than_a_phone
    words = [seen.words(box) for box in seen.boxes()]
    assert ["born 2020", "Dapplecombe", "Merriman"] in words
    assert ["born 2020", "Larkenshaw", "Midnight Oil"] in words


def test_a_chart_wider_than_a_phone_says_so(engine, picture):
    animals, routes = many(("Ash", "Elm", "Fir", "Oak"))
    chart = relationship_chart(LITTER, animals, routes, engine=engine)
    assert chart.wider_than_a_phone
    assert 324 * 12 / 11 < picture(chart.svg).width() < 1086


def test_a_line_reaches_both_its_boxes_however_many_run_beside_it(engine, picture):
    steps = ("Elm", "Fir", "Oak", "Ash", "Yew", "Box")
    routes = tuple(Route(("Rook", name, "Wren"), ("Sorrel", "Wren"), name) for name in steps)
    animals, _routes = many(steps)
    seen = picture(relationship_chart(LITTER, animals, routes, engine=engine).svg)
    frames = seen.frames()
    for number in range(1, 7):
        down = next(
            line
            for line in lines(seen, number)
            if _ends(line)[0] < frames["Sorrel"][3] and _ends(line)[1] > frames["Wren"][2]
        )
        assert down is not None


def _ends(line):
    """Where a line begins and ends from the top, moved as it is."""
    numbers = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", line.get("d"))]
    moved = re.findall(r"-?\d+(?:\.\d+)?", line.get("transform") or "0,0")
    return numbers[1] + float(moved[1]), numbers[-1] + float(moved[1])


@pytest.mark.parametrize("count", [0, MOST_PATHS + 1])
def test_it_refuses_paths_that_could_not_be_told_apart(count):
    with pytest.raises(ValueError, match="1 to 6 paths"):
        relationship_chart(LITTER, ANIMALS, (ROUTES[0],) * count)


def test_it_refuses_a_chart_too_large(monkeypatch):
    monkeypatch.setattr(graphviz_engine.check_size, "__defaults__", (3,))
    with pytest.raises(ChartTooLargeError):
        relationship_chart(LITTER, ANIMALS, ROUTES)


def test_names_stay_words(engine, picture):
    bad = {**ANIMALS, "Wren": animal('<b>"&\\N]', Sex.SOW)}
    chart = relationship_chart(LITTER, bad, ROUTES, engine=engine)
    seen = picture(chart.svg)
    assert '<b>"&\\N]' in [seen.words(box)[-1] for box in seen.boxes()]
    assert not re.search(r"\sstyle=|<script|<style", chart.svg)


def test_both_parents_stand_next_to_the_litter(engine, picture):
    # Wren is one generation behind the boar and two behind the sow
    routes = (Route(("Rook", "Wren"), ("Sorrel", "Bramble", "Wren"), "through Wren"),)
    _chart, seen = drawn(engine, picture, routes)
    top = {name: frame[2] for name, frame in seen.frames().items()}
    assert top["Rook"] == top["Sorrel"] < top["Bramble"] < top["Wren"]
