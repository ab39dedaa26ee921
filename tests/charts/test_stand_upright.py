"""The chart of ancestors as narrow as a phone, drawn by each engine and read back."""

import itertools
import re

import pytest

from herdbook.charts import Ancestor, Sex, ancestors_chart

from .conftest import SVG, Picture, animal, frame_of, overlap

PAGE, PHONE = 1086, 324


def upright(subject, generations, engine) -> Picture:
    return Picture(ancestors_chart(subject, generations, engine=engine).upright)


def full(generations, name="Kettlefen Bellwether the Younger", sex=Sex.BOAR) -> Ancestor:
    """An animal all of whose ancestors are known, with a long line for everything."""
    details = {"number": "47", "born": "2023", "look": "golden, points chocolate"}
    one = animal(name, sex, dose="two doses over 99.9%", copies=2, **details)
    if not generations:
        return Ancestor(one)
    sire = full(generations - 1, f"{name}s")
    dam = full(generations - 1, f"{name}d", Sex.SOW)
    return Ancestor(one, (sire,), dam)


def test_it_works(engine, family):
    drawn = upright(family["hazel"], 2, engine)

    assert drawn.words(drawn.boxes()[0]) == [
        "TH 12",
        "Hazel",
        "born 2025",
        "cream, chocolate",
        "points",
        "one dose 98%",
    ]
    frames = drawn.frames()
    hazel, rowan, fern = (frames[name] for name in ("Hazel", "Rowan", "Fern"))
    assert hazel[3] < rowan[2] == fern[2], "both parents below her, side by side"
    assert rowan[1] < fern[0]
    assert frames["Ivy"][2] > rowan[3]
    assert rowan[0] < frames["Ivy"][0], "a generation is a step to the right"


@pytest.mark.parametrize("generations", [3, 4, 5])
def test_everything_fits_its_screen_and_no_box_lies_over_another(engine, generations):
    chart = ancestors_chart(full(generations), generations, engine=engine)
    for svg, room in ((chart.svg, PAGE), (chart.upright, PHONE)):
        drawn = Picture(svg)
        frames = [frame_of(box) for box in drawn.boxes()]
        assert drawn.width() <= room
        assert len(frames) == 2 ** (generations + 1) - 1
        assert not any(overlap(*both) for both in itertools.combinations(frames, 2))
        sizes = {float(text.get("font-size", 12)) for text in drawn.root.iter(f"{SVG}text")}
        assert min(sizes) >= 12


def test_a_year_for_which_a_letter_leaves_no_room_stands_below(engine):
    again = Ancestor(animal("Dapplecombe Jig", Sex.SOW, born="2019"))
    line = again
    for name in "abcd":
        line = Ancestor(animal(name, Sex.BOAR), (), line)
    drawn = upright(Ancestor(animal("Pip"), (line,), again), 5, engine)

    words = [drawn.words(box) for box in drawn.boxes("again")]
    assert ["sow", "Dapplecombe", "Jig", "born 2019", "A"] in words
    assert ["born 2019", "Dapplecombe Jig", "A"] in words


def test_nobody_is_drawn_behind_one_who_is_not_known(engine):
    drawn = upright(Ancestor(animal("Pip"), (Ancestor(animal("Oak", Sex.BOAR)),)), 4, engine)

    assert list(drawn.frames()) == [
        "Pip",
        "Oak",
        "Unknown dam: Pip",
        "Unknown sire: Oak",
        "Unknown dam: Oak",
    ]


def test_relatives_have_a_double_line_between_them_alone(engine, family):
    assert len(upright(family["hazel"], 2, engine).lines("related")) == 1
    assert upright(family["rowan"], 2, engine).lines("related") == []


def test_a_doubtful_sire_has_a_line_for_each_name_and_a_dashed_one_to_him(engine, family):
    drawn = upright(family["rowan"], 2, engine)

    box = next(box for box in drawn.boxes() if "Aldo" in drawn.title(box))
    assert drawn.words(box) == ["boar", "Aldo", "or Bran"]
    parts = [p for p in drawn.root.iter(f"{SVG}path") if p.get("stroke-dasharray")]
    assert len(parts) == 1


def test_both_engines_place_the_boxes_alike(engines, family):
    first, second = (upright(family["hazel"], 4, path).boxes() for path in engines)
    for here, there in zip(first, second, strict=True):
        assert frame_of(here) == pytest.approx(frame_of(there), abs=1)


def test_ids_differ_from_those_of_the_wide_one(engine):
    chart = ancestors_chart(Ancestor(animal("柔らかい")), 1, engine=engine)
    ids = re.findall(r'\sid="([^"]+)"', chart.svg + chart.upright)
    assert len(ids) == len(set(ids)) == 4
