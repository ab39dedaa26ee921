"""What a sheet holds before it is printed, and what it refuses."""

import json

import pytest

from herdbook.papers.sheet import PATHS, Ancestor, Inbreeding, SheetAnimal, Weighing
from herdbook.papers.wording import sheet as sheet_wording

from .samples import ancestors, sheet


def test_it_works():
    data = sheet().as_data()
    assert json.loads(json.dumps(data)) == data
    assert [len(row) for row in data["rows"]] == [4, 1, 2, 1, 3, 1, 2, 1] * 2
    assert data["name"] == "Thornmoor Marigold"


def test_each_ancestor_has_one_box_beside_its_own_ancestors():
    rows = sheet(ancestors=ancestors(["sd", "dddd"])).as_data()["rows"]
    begins = {box["path"]: row for row, boxes in enumerate(rows) for box in boxes}
    assert set(begins) == set(PATHS)
    for path in PATHS:
        if len(path) < 4:
            assert begins[path] == begins[path + "s"] < begins[path + "d"]
    known = [box["path"] for boxes in rows for box in boxes if box["known"]]
    assert known == ["sd", "dddd"]


def test_relations_are_said_in_words():
    assert sheet_wording.relation("d") == "dam"
    assert sheet_wording.relation("sdd") == "sire’s dam’s dam"


@pytest.mark.parametrize(
    ("coefficient", "words"),
    [
        (None, "not worked out"),
        (0.0, "0%"),
        (0.00001, "under 0.01%"),
        (0.03125, "3.13%"),
        (0.0625, "6.25%"),
        (0.125, "12.5%"),
        (0.5, "50%"),
    ],
)
def test_inbreeding_is_said_in_per_cent(coefficient, words):
    assert sheet_wording.inbreeding_figure(coefficient, 4) == words


def test_no_ancestor_known_is_no_proof_of_none_in_common():
    assert sheet_wording.inbreeding_figure(0.0, 0) == "not known"


def test_an_ancestor_without_a_name_goes_by_its_number():
    box = sheet(ancestors={"s": Ancestor("", number="TM-7", born="2024")}).as_data()["rows"][0][0]
    assert box["name"] == "TM-7"
    assert box["details"] == ["2024"]


def test_texts_are_tidied():
    animal = SheetAnimal("  Thorn\tmoor\n\x00 Cafe\u0301\u202e ")
    assert animal.name == "Thorn moor Café"


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: sheet(ancestors={"x": Ancestor("A")}),
        lambda: sheet(ancestors={"sssss": Ancestor("A")}),
        lambda: Ancestor(""),
        lambda: SheetAnimal("A", sex="male"),
        lambda: Weighing("today", -4),
        lambda: Weighing("today", "92"),
        lambda: Inbreeding(1.2),
        lambda: Inbreeding(0.1, full_generations=3, deepest_generation=2),
    ],
)
def test_it_refuses_what_cannot_be(wrong):
    with pytest.raises(ValueError, match="."):
        wrong()


def test_every_caution_line_is_printed_unless_others_are_given():
    lines = sheet().as_data()["cautions"]
    assert any("showable, but it is not enough" in line for line in lines)
    assert any("roan to roan" in line for line in lines)
    assert any("A vet decides" in line for line in lines)
    assert sheet(cautions=("Ours.",)).as_data()["cautions"] == ["Ours."]
