"""The grid of all pairs: the better a pair ranks, the darker its cell."""

from types import SimpleNamespace

from herdbook.pages.matings.grid import lay_out


def pair(sow, boar, *grave):
    mating = SimpleNamespace(sow=SimpleNamespace(pk=sow), boar=SimpleNamespace(pk=boar))
    return SimpleNamespace(prospect=SimpleNamespace(mating=mating, grave=grave), address="")


def shades(*ranked):
    return [cell.shade for row in lay_out(list(ranked)).rows for cell in row.cells]


def test_it_works():
    assert shades(pair(1, 1), pair(2, 1), pair(3, 1)) == [3, 2, 1]


def test_pairs_with_a_grave_caution_are_white_and_leave_the_others_as_dark():
    last = [pair(sow, 1, "roan to roan") for sow in (4, 5, 6)]
    assert shades(pair(1, 1), pair(2, 1), pair(3, 1), *last) == [3, 2, 1, 0, 0, 0]


def test_no_pair_is_shaded_where_each_has_a_grave_caution():
    assert shades(pair(1, 1, "roan to roan"), pair(2, 1, "roan to roan")) == [0, 0]
