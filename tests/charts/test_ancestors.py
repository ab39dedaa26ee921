"""The chart of ancestors, drawn by each engine and read back from its SVG."""

import itertools
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from herdbook.charts import Ancestor, Animal, DrawingTimeoutError, Sex, ancestors_chart
from herdbook.charts.text import clean

from .conftest import SVG, Picture, animal, frame_of, overlap


def test_it_works(engine, family, picture):
    chart = ancestors_chart(family["hazel"], 3, engine=engine)
    drawn = picture(chart.svg)

    hazel = drawn.boxes()[0]
    assert drawn.words(hazel) == [
        "Hazel",
        "TH 12 · born 2025",
        "cream, chocolate points",
        "one dose 98%",
    ]
    assert hazel.tag == f"{SVG}a"
    assert hazel.get("href") == "/animals/1/"
    assert drawn.title(drawn.root) == "Ancestors of Hazel"


@pytest.mark.parametrize("generations", [1, 3, 5])
def test_each_place_has_its_box_even_where_nobody_is_known(engine, picture, generations):
    drawn = picture(ancestors_chart(Ancestor(animal("Sorrel")), generations, engine=engine).svg)

    assert len(drawn.boxes()) == 2 ** (generations + 1) - 1
    assert len(drawn.boxes("blank")) == 2 ** (generations + 1) - 2
    assert len(drawn.boxes("blank", "boar")) == 2**generations - 1
    assert not any(drawn.words(box) for box in drawn.boxes("blank"))


def test_a_blank_box_says_whose_parent_is_not_known(engine, family, picture):
    drawn = picture(ancestors_chart(family["hazel"], 2, engine=engine).svg)

    assert [drawn.title(box) for box in drawn.boxes("blank")] == ["Unknown dam: Fern"]


def test_no_two_boxes_overlap_and_each_parent_is_right_of_its_young(engine, family, picture):
    drawn = picture(ancestors_chart(family["hazel"], 4, engine=engine).svg)

    frames = [frame_of(box) for box in drawn.boxes()]
    assert not any(overlap(*both) for both in itertools.combinations(frames, 2))
    for slot in range(2, len(frames) + 1):
        assert frames[slot - 1][0] > frames[slot // 2 - 1][1]


def test_both_engines_place_the_boxes_alike(engines, family, picture):
    first, second = (
        [
            frame_of(box)
            for box in picture(ancestors_chart(family["hazel"], 4, engine=path).svg).boxes()
        ]
        for path in engines
    )
    for here, there in zip(first, second, strict=True):
        assert here == pytest.approx(there, abs=1)


def test_an_ancestor_who_comes_twice_stands_twice_with_one_letter(engine, family, picture):
    drawn = picture(ancestors_chart(family["hazel"], 2, engine=engine).svg)

    again = drawn.boxes("again")
    assert [drawn.words(box) for box in again] == [["Bracken", "A"], ["Bracken", "A"]]
    assert all(box.find(f"{SVG}polygon").get("stroke-width") == "3" for box in again)


def test_a_mating_of_relatives_has_a_double_line(engine, family, picture):
    related = picture(ancestors_chart(family["hazel"], 2, engine=engine).svg)
    unrelated = picture(ancestors_chart(family["rowan"], 2, engine=engine).svg)

    assert len(related.lines("related")) == 2
    assert all(path.get("d").count("M") == 2 for path in related.lines("related"))
    assert unrelated.lines("related") == []


def test_parents_are_related_by_an_ancestor_beyond_the_chart(engine, family, picture):
    drawn = picture(ancestors_chart(family["hazel"], 1, engine=engine).svg)

    assert len(drawn.lines("related")) == 2


def test_a_pedigree_of_thousands_of_generations_is_walked(engine, picture):
    line = founder = Ancestor(animal("Founder", Sex.BOAR))
    for number in range(3000):
        line = Ancestor(animal(f"Boar {number}", Sex.BOAR), (line,))
    young = Ancestor(animal("Pip"), (line,), Ancestor(animal("Elm", Sex.SOW), (founder,)))

    assert len(picture(ancestors_chart(young, 1, engine=engine).svg).lines("related")) == 2


def test_a_sire_put_to_his_daughter_is_a_mating_of_relatives(engine, picture):
    sire = Ancestor(animal("Oak", Sex.BOAR))
    young = Ancestor(animal("Acorn"), (sire,), Ancestor(animal("Elm", Sex.SOW), (sire,)))

    assert len(picture(ancestors_chart(young, 1, engine=engine).svg).lines("related")) == 2


def test_the_book_may_know_more_of_the_parents_than_the_chart(engine, family, picture):
    rowan = replace(family["rowan"], parents_related=True)

    assert len(picture(ancestors_chart(rowan, 1, engine=engine).svg).lines("related")) == 2


def test_a_doubtful_sire_makes_relatives_only_if_each_possible_one_does(engine, picture):
    dam = Ancestor(animal("Elm", Sex.SOW), (Ancestor(animal("Oak", Sex.BOAR)),))
    oak, ash = dam.sires[0], Ancestor(animal("Ash", Sex.BOAR))
    perhaps = Ancestor(animal("Acorn"), (oak, ash), dam)

    assert picture(ancestors_chart(perhaps, 1, engine=engine).svg).lines("related") == []


def test_a_doubtful_sire_is_named_as_such_with_a_dashed_line(engine, family, picture):
    chart = ancestors_chart(family["rowan"], 2, engine=engine)
    drawn = picture(chart.svg)

    box = drawn.boxes()[3]
    assert drawn.words(box) == ["Aldo", "or Bran"]
    dashed = [p for p in drawn.root.iter(f"{SVG}path") if p.get("stroke-dasharray")]
    assert len(dashed) == 1
    assert "possible parents, with the chance of each" in [entry.words for entry in chart.key]


def test_the_shares_of_possible_sires_stand_below_their_names(engine, picture):
    shares = {"Aldo": "93%", "Bran": "5%", "Cobb": "2%"}
    sires = tuple(
        Ancestor(animal(name, Sex.BOAR, link=f"/animals/{name}/"), share=share)
        for name, share in shares.items()
    )
    drawn = picture(ancestors_chart(Ancestor(animal("Pip"), sires), 1, engine=engine).svg)

    box = drawn.boxes()[1]
    assert drawn.words(box) == ["Aldo", "or Bran", "or Cobb", "93%, 5%, 2%"]
    links = [link.get("href") for link in drawn.root.iter(f"{SVG}a")]
    assert links == [f"/animals/{name}/" for name in shares]
    assert drawn.title(box).startswith("Aldo, boar, 93% likely the sire or Bran, boar")


def test_each_of_several_possible_sires_has_its_own_link(engine, picture):
    sires = tuple(Ancestor(animal(name, Sex.BOAR, link=f"/animals/{name}/")) for name in "ABCD")
    drawn = picture(ancestors_chart(Ancestor(animal("Pip"), sires), 1, engine=engine).svg)

    assert drawn.words(drawn.boxes()[1]) == ["A", "or B", "or 2 others"]
    links = [link.get("href") for link in drawn.root.iter(f"{SVG}a")]
    assert links == ["/animals/A/", "/animals/B/"]
    assert all(name in drawn.title(drawn.boxes()[1]) for name in "ABCD")


def test_the_key_explains_what_occurs_and_nothing_else(engine, family):
    words = {entry.words for entry in ancestors_chart(family["hazel"], 2, engine=engine).key}
    plain = ancestors_chart(Ancestor(animal("Pip", Sex.BOAR, copies=0)), 1, engine=engine).key

    assert {"boar", "sow", "half filled: clean marked (one dose)", "has died"} <= words
    assert {"mating of relatives", "unknown"} <= words
    assert [entry.words for entry in plain] == [
        "boar",
        "empty: self (no dose)",
        "the animal this chart is of",
        "unknown",
    ]


def test_sex_shows_in_the_shape_and_dose_in_the_filling(engine, picture):
    shapes = {}
    for sex in Sex:
        for copies in (0, 1, 2, None):
            subject = Ancestor(animal("Pip", sex, copies=copies))
            box = picture(ancestors_chart(subject, 1, engine=engine).svg).boxes()[0]
            paths = [p for p in box.iter(f"{SVG}path") if p.get("stroke-width") == "1.5"]
            filled = [p for p in box.iter(f"{SVG}path") if p.get("stroke") is None]
            mark = [t.text for t in box.iter(f"{SVG}text")][1:]
            shapes[sex, copies] = (paths[0].get("fill") != "none", len(filled) - 1, mark)
    for sex in Sex:
        assert shapes[sex, 0] == (False, 0, [])
        assert shapes[sex, 1] == (False, 1, [])
        assert shapes[sex, 2] == (True, 0, [])
        assert shapes[sex, None] == (False, 0, ["?"])


def test_it_can_stand_in_a_page_under_a_strict_policy(engine, family):
    svg = ancestors_chart(family["hazel"], 4, engine=engine).svg

    assert not re.search(r"<style|<script|<!|<\?|\sstyle=|\son\w+=|xlink|javascript:", svg)
    assert 'role="group"' in svg
    assert hasattr(svg, "__html__")


def test_ids_begin_with_the_given_name_so_two_charts_can_share_a_page(engine, picture):
    subject = Ancestor(animal("柔らかい"), (Ancestor(animal("حصان")),))
    ids = [
        part.get("id")
        for name in ("one", "two")
        for part in picture(ancestors_chart(subject, 1, name=name, engine=engine).svg).root.iter()
        if part.get("id")
    ]
    assert len(ids) == len(set(ids)) == 6


def test_without_links_it_is_an_image(engine, picture):
    root = picture(ancestors_chart(Ancestor(animal("Pip")), 1, engine=engine).svg).root

    assert root.get("role") == "img"


@pytest.mark.parametrize("generations", [0, 6, -1])
def test_it_refuses_generations_that_do_not_fit(generations):
    with pytest.raises(ValueError, match="1 to 5 generations"):
        ancestors_chart(Ancestor(animal("Pip")), generations)


@pytest.mark.parametrize(
    "link",
    [
        "//elsewhere.example/x",
        "https://elsewhere.example/",
        "javascript:alert(1)",
        " javascript:alert(1)",
        "java\nscript:alert(1)",
        "/\\elsewhere.example",
        "\\\\elsewhere.example",
        "data:text/html,x",
        "\t//elsewhere.example",
    ],
)
def test_it_refuses_a_link_that_leads_away(engine, link):
    with pytest.raises(ValueError, match="only to pages of this site"):
        ancestors_chart(Ancestor(animal("Pip", link=link)), 1, engine=engine)


def test_it_says_when_the_engine_takes_too_long(slow_engine, family):
    with pytest.raises(DrawingTimeoutError, match="longer than 0.2 s"):
        ancestors_chart(family["hazel"], 3, engine=slow_engine, seconds=0.2)


NASTY = [
    "Tom & Jerry",
    "<b>",
    "</b></TD>",
    "<IMG SRC='x'/>",
    "a \"quoted\" 'name'",
    r"\N",
    r"\G \L \E \T \H \n \l \r",
    "\\",
    "\\\\N",
    "&amp;",
    "&lt;i&gt;",
    "&#65; &Eacute; &nosuch;",
    "]]>",
    "]",
    "pup [2]",
    "<!-- x",
    "-->",
    "two\nlines\r\nand\ttabs",
    "\x00N\x07U\x1fL\x85",
    "\ud800lone",
    "\ufffe\uffff.",
    "🐹👩‍👩‍👧🏽",
    "حصان أحمر",
    "abc \u202e cba",
    "e\u0301\u0327\u0323",
    "Z̷̢̛a̸̧͝l̶̡͠g̴̢̛o̵̡",
    "柔らかいモルモット",
    "%3 %N %",
    "#",
    "{a|b}",
    "label=x];",
    "𒐫﷽",
    "x" * 500,
    "\u200b",
    "",
    "   ",
]


@pytest.mark.parametrize("name", NASTY)
def test_a_nasty_name_comes_back_as_text(engine, name):
    _check_name_comes_back(engine, name)


@settings(max_examples=40, deadline=None)
@given(name=st.text(max_size=12))
def test_any_name_comes_back_as_text(engine, name):
    _check_name_comes_back(engine, name)


@settings(max_examples=40, deadline=None)
@given(name=st.text(alphabet=r"\NGLEn&;#<>lt'\"%1]-!", max_size=10))
def test_any_string_of_special_letters_comes_back_as_text(engine, name):
    _check_name_comes_back(engine, name)


def _check_name_comes_back(path, name):
    subject = Animal(key=1, name=name, look=f"{name} x", link="/animals/1/")
    drawn = Picture(ancestors_chart(Ancestor(subject), 1, engine=path).svg)
    box = drawn.boxes()[0]
    visible = drawn.words(box)
    wanted = clean(name) or "no name"
    assert drawn.title(box).startswith(wanted)
    name_lines, look = visible[:-1], visible[-1]
    in_picture = "".join(name_lines).replace(" ", "")
    if len(wanted) <= 10:
        assert in_picture == wanted.replace(" ", "")
        assert look == clean(f"{name} x")
    else:
        assert wanted.replace(" ", "").startswith(in_picture.removesuffix("…"))
        assert len(in_picture) > 8
    assert drawn.root.find(f".//{SVG}b") is None
    assert drawn.root.find(f".//{SVG}image") is None
