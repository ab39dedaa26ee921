"""Cleaning, measuring and breaking words."""

from hypothesis import given
from hypothesis import strategies as st

from herdbook.charts.text import _pieces, clean, escape, fit, width


def test_it_works():
    assert fit("Thistledown Copper Beech", 12, 2) == ["Thistledown", "Copper Beech"]


def test_markup_and_escapes_are_made_literal():
    assert escape(r"Tom & <b>\N") == r"Tom &amp; &lt;b&gt;\\N"


def test_controls_and_turned_directions_are_dropped_and_space_is_folded():
    assert clean("\x1b x \x1b") == "x"
    assert clean("a\x00b \n\t c\u202ed\ud800") == "ab cd"


def test_a_long_name_ends_in_dots():
    lines = fit("Sir Bartholomew of the Long Meadow by the River", 11, 2)

    assert len(lines) == 2
    assert lines[1].endswith("…")


def test_a_word_too_long_for_a_line_is_broken():
    assert "".join(fit("x" * 30, 10, 5)) == "x" * 30


def test_an_accent_is_never_torn_from_its_letter():
    assert all(not line.startswith("\u0301") for line in fit("e\u0301" * 30, 5, 20))


@given(st.text(max_size=60), st.integers(4, 15), st.integers(1, 3))
def test_lines_fit_their_room_and_lose_nothing_unless_they_say_so(text, room, lines):
    broken = fit(text, room, lines)

    assert len(broken) <= lines
    assert all(line for line in broken)
    for line in broken:
        assert width(line) <= room or len(_pieces(line)) == 1
    if not broken or not broken[-1].endswith("…"):
        assert "".join(broken).replace(" ", "") == clean(text).replace(" ", "")
