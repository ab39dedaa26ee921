"""Reading a pedigree file: what is taken, and every fault with its row and what to do."""

import csv
import io
import math
from datetime import date

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from herdbook.exchange.exceptions import FaultyFileError
from herdbook.exchange.pedigree_file import COLUMNS, read_pedigree_file


def read(text):
    return read_pedigree_file(text.encode())


def faults(data):
    with pytest.raises(FaultyFileError) as caught:
        read_pedigree_file(data if isinstance(data, bytes) else data.encode())
    return list(map(str, caught.value.faults))


def the_fault(data):
    found = faults(data)
    assert len(found) == 1, found
    return found[0]


def test_it_works():
    file = read(
        "id,sire,dam,litter,sex,born,points,seen,name,coat\n"
        "Bracken,,,,boar,2024-01-05,,,Thornhay Bracken,cream\n"
        "Moss,,,,boar,,,,,\n"
        "Sorrel,,,,,2024-02-01,full,2024-08-01,,\n"
        "P1,Bracken:3|Moss:1,Sorrel,L1,sow,2025-03-01,,,,\n"
        "P2,Moss:1|Bracken:3,Sorrel,L1,,2025-03-01,coming,2025-04-01,,\n"
    )
    bracken, moss, sorrel, first, second = file.rows
    assert [row.number for row in file.rows] == [2, 3, 4, 5, 6]
    assert bracken.name == "Thornhay Bracken"
    assert bracken.coat == "cream"
    assert (moss.sex, sorrel.sex, second.sex) == ("boar", "sow", "")
    assert sorrel.seen == date(2024, 8, 1)
    assert first.sires == ("Bracken", "Moss")
    assert first.sire_weights == pytest.approx((0.75, 0.25), abs=0)
    assert second.points == "coming"


def test_it_takes_a_file_of_ids_alone():
    assert [row.id for row in read("id\nA\nB\n").rows] == ["A", "B"]


def test_it_takes_a_header_without_animals():
    assert read("id,sire,dam\n").rows == ()


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_it_takes_any_line_ends_and_the_mark_of_utf_8(ends, mark):
    text = ends.join(["ID, Sire ,dam", "Bébé,,", "Łoś,Bébé,", ""])
    file = read_pedigree_file(mark + text.encode())
    assert [(row.id, row.sires) for row in file.rows] == [("Bébé", ()), ("Łoś", ("Bébé",))]


def test_equal_shares_where_no_weight_stands():
    file = read("id,sire\nA,\nB,\nC,\nD,A|B|C\n")
    assert file.rows[3].sire_weights == (1 / 3, 1 / 3, 1 / 3)


def test_weights_near_the_largest_number_still_sum_to_one():
    file = read("id,sire\nA,\nB,\nD,A:1e308|B:1e308\n")
    assert file.rows[2].sire_weights == (0.5, 0.5)


def test_likelihoods_are_taken_on_any_scale():
    file = read("id,like0,like1,like2\nA,0,1e-150,2e150\nB,,,\n")
    assert [row.likelihood for row in file.rows] == [(0.0, 1e-150, 2e150), None]


def test_a_birth_over_midnight_is_one_litter():
    assert len(read("id,litter,born\nA,L,2025-03-01\nB,L,2025-03-02\n").rows) == 2


def test_empty_lines_count_as_rows_and_are_passed_over():
    assert [row.number for row in read("id,dam\nA,\n\n\nB,A\n").rows] == [2, 5]


def test_a_row_is_a_row_although_a_cell_has_line_breaks():
    text = 'id,name,dam\nA,"one\ntwo\nthree",\nB,,Ghost\n'
    assert the_fault(text).startswith("row 3, dam: 'Ghost' has no row in this file")


def test_ids_that_a_spreadsheet_would_work_out_are_text():
    assert [row.id for row in read("id\n=cmd()\n@x\n-1\n+2\n").rows] == ["=cmd()", "@x", "-1", "+2"]


@pytest.mark.parametrize(
    ("rows", "place", "words"),
    [
        (["id,dam", ",A", "A,"], "row 2, id", "Give this animal an id"),
        (["id,dam", ",", "A,"], "row 2, id", "delete the row"),
        (["id", "A|B"], "row 2, id", "Use another character"),
        (["id", "A:B"], "row 2, id", "Use another character"),
        (["id", '"A\nB"'], "row 2, id", "line break"),
        (["id", "A", "B", "A"], "row 4, id", "'A' is already in row 2"),
        (["id,sire", "A,Ghost"], "row 2, sire", "'Ghost' has no row"),
        (["id,sire", "A,", "B,A|Ghost"], "row 3, sire", "'Ghost' has no row"),
        (["id,sire", "A,", "C,", "B,A:1|C"], "row 4, sire", "Give all a weight, or none"),
        (["id,sire", "A,", "B,A|A"], "row 3, sire", "'A' is in the list twice"),
        (["id,sire", "A,", "B,A|"], "row 3, sire", "a name is missing"),
        (["id,sire", "A,", "B,A:"], "row 3, sire", "'' is not a number"),
        (["id,sire", "A,", "B,A:1:2"], "row 3, sire", "'1:2' is not a number"),
        (["id,sire", "A,", "C,", "B,A:1|C:0"], "row 4, sire", "not above 0"),
        (["id,sire", "A,", "C,", "B,A:1|C:-2"], "row 4, sire", "not above 0"),
        (["id,sire", "A,", "C,", "B,A:1|C:nan"], "row 4, sire", "not a number"),
        (["id,sire", "A,", "C,", "B,A:1|C:inf"], "row 4, sire", "not a number"),
        (["id,sire", "A,", "C,", "B,A:1|C:1e999"], "row 4, sire", "too large"),
        (["id,sire", "A,", "C,", "B,A:1|C:1e-999"], "row 4, sire", "too small"),
        (["id,sire", "A,", "C,", "B,A:1e308|C:1e-300"], "row 4, sire", "too far apart"),
        (["id,like0,like1,like2", "A,1,1e-307,1e20"], "row 2, like1", "too far apart"),
        (["id,sire", "A,", "C,", 'B,"A:0,7|C:0.3"'], "row 4, sire", "with a decimal point"),
        (["id,sex", "A,M"], "row 2, sex", "Write boar or sow"),
        (["id,sire,sex", "A,,sow", "B,A,"], "row 2, sex", "a sire in row 3"),
        (["id,dam,sex", "A,,boar", "B,A,"], "row 2, sex", "a dam in row 3"),
        (["id,sire,dam", "A,,", "B,A,", "C,,A"], "row 2, sex", "sire in row 3 and a dam in row 4"),
        (["id,sire,dam", "A,,", "B,A,A"], "row 2, sex", "sire in row 3 and a dam in row 3"),
        (["id,sire,dam", "A,,", "D,,", "B,A|D,A"], "row 2, sex", "sire in row 4 and a dam in row"),
        (["id,born", "A,01/03/2025"], "row 2, born", "not a date like 2026-03-01"),
        (["id,born", "A,2025-02-29"], "row 2, born", "is not a date"),
        (["id,born", "A,20250301"], "row 2, born", "is not a date"),
        (["id,born", "A,0000-01-01"], "row 2, born", "is not a date"),
        (
            ["id,dam,born", "A,,2025-03-01", "B,A,2025-03-01"],
            "row 3, dam",
            "'A' (row 2, born 2025-03-01) is not older than its young",
        ),
        (
            ["id,sire,born", "B,A|C,2025-03-01", "A,,2024-03-01", "C,,2026-03-01"],
            "row 2, sire",
            "'C' (row 4, born 2026-03-01)",
        ),
        (["id,born,points,seen", "A,2025-03-01,full,"], "row 2, seen", "Write when"),
        (["id,born,points,seen", "A,2025-03-01,,2025-04-01"], "row 2, points", "no stage"),
        (["id,born,points,seen", "A,,full,2025-04-01"], "row 2, born", "for the age"),
        (["id,points,seen", "A,full,2025-04-01"], "row 2, born", "for the age"),
        (["id,born,points,seen", "A,2025-03-01,dark,2025-04-01"], "row 2, points", "overmarked"),
        (
            ["id,born,points,seen", "A,2025-03-01,full,2025-02-28"],
            "row 2, seen",
            "before the birth",
        ),
        (["id,like0,like1,like2", "A,1,1,"], "row 2, like2", "or none"),
        (["id,like0,like1", "A,1,1"], "row 2, like2", "or none"),
        (["id,like0,like1,like2", "A,0,0,0.0"], "row 2, like0", "all 0"),
        (["id,like0,like1,like2", "A,1,-1,1"], "row 2, like1", "less than 0"),
        (["id,like0,like1,like2", "A,1,nan,1"], "row 2, like1", "not a number"),
        (["id,like0,like1,like2", "A,1,inf,1"], "row 2, like1", "not a number"),
        (["id,like0,like1,like2", "A,1,1e400,1"], "row 2, like1", "too large"),
        (["id,like0,like1,like2", "A,1,1_0,1"], "row 2, like1", "not a number"),
        (["id,sire", "A,A"], "row 2, sire", "'A' (row 2), from 'A' (row 2)"),
        (
            ["id,sire,dam", "A,,C", "B,A,", "C,X|B,", "X,,"],
            "row 2, dam",
            "'A' (row 2), from 'C' (row 4), from 'B' (row 3), from 'A' (row 2)",
        ),
        (["id,sire,litter", "A,,", "B,A,L", "C,,L"], "row 4, sire", "litter 'L'"),
        (["id,sire,litter", "A,,", "D,,", "B,A|D,L", "C,D,L"], "row 5, sire", "in row 4"),
        (["id,sire,litter", "A,,", "D,,", "B,A|D,L", "C,A:2|D:1,L"], "row 5, sire", "weights"),
        (["id,litter,born", "A,L,2025-03-01", "B,L,2025-09-01"], "row 3, born", "another litter"),
        (["id,sire,dam", "A,", "B,,"], "row 2", "2 cells where the header has 3"),
        (["id,sire", "A,,"], "row 2", "3 cells where the header has 2"),
        (["id,damm", "A,"], "row 1", "'damm' is not a column"),
        (["id,", "A,"], "row 1", "column 2 has no name"),
        (["id,dam,Dam", "A,,"], "row 1, dam", "is there twice"),
        (["sire,dam", "A,B"], "row 1", "no column 'id'"),
        (["", "id", "A"], "row 1", "no column 'id'"),
        (["id;sire;dam", "A;;"], "row 1", "separated by semicolons"),
        (["id\tsire", "A\t"], "row 1", "separated by tabs"),
        (["id,sire", 'A,"open', "B,"], "row 2", "quotation mark"),
        (["id,sire", 'A,"B" x'], "row 2", "quotation mark"),
        ([""], "row 1", "the file is empty"),
        ([" ", "\t"], "row 1", "the file is empty"),
    ],
)
def test_it_names_the_fault_its_place_and_what_to_do(rows, place, words):
    fault = the_fault("\n".join(rows) + "\n")
    assert fault.startswith(place + ": ")
    assert words in fault


def test_it_tells_every_fault_at_once_in_the_order_of_the_file():
    found = faults(
        "id,sire,dam,sex,born\nA,Ghost,Shade,hen,yesterday\nA,,,,\nB,A:x|A:-1,,,\nC,C,,,\n"
    )
    assert [fault.split(":")[0] for fault in found] == [
        "row 2, sire",
        "row 2, dam",
        "row 2, sex",
        "row 2, born",
        "row 3, id",
        "row 4, sire",
        "row 4, sire",
        "row 4, sire",
        "row 5, sire",
    ]


def test_each_knot_of_loops_is_named():
    found = faults("id,sire,dam\nA,B,\nB,A,\nC,A,D\nD,,C\nE,D,\n")
    assert any("'A' (row 2), from 'B' (row 3), from 'A' (row 2)" in fault for fault in found)
    assert any("'C' (row 4), from 'D' (row 5), from 'C' (row 4)" in fault for fault in found)


def test_a_long_loop_is_cut_in_the_middle():
    rows = [f"{n},{(n + 1) % 1000}" for n in range(1000)]
    fault = the_fault("\n".join(["id,sire", *rows]))
    assert "989 more, from '999' (row 1001), from '0' (row 2). Correct" in fault
    assert fault.count("from") == 12


def test_it_says_where_the_file_is_not_utf_8():
    data = "id,name\nA,Bébé\nB,Zoé\nC,\n".encode("latin-1")
    assert the_fault(data).startswith("row 2: here the file is not UTF-8")
    assert the_fault("id,name\nA,b\né,Zo\n".encode("latin-1")).startswith("row 3: ")


def test_other_faults_are_told_beside_a_wrong_encoding():
    found = faults("id,name,sire\nA,Bébé,Ghost\n".encode("latin-1"))
    assert len(found) == 2
    assert "'Ghost'" in found[1]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le"])
def test_it_names_utf_16_in_one_line(encoding):
    assert "CSV UTF-8" in "\n".join(faults("id,sire\nA,\n".encode(encoding)))


def test_it_finds_a_nul():
    assert the_fault("id,name\nA,x\nB,y\0\n").startswith("row 3: here is a NUL")


def test_a_cell_of_ten_megabytes_is_a_fault():
    text = "id,name\nA,\nB," + "x" * 10_000_000 + "\nC,\n"
    assert the_fault(text).startswith("row 3: a cell is longer than")


def test_a_fault_is_one_line_whatever_the_cell_holds():
    fault = the_fault('id,sire\nA,"G\nh\x1b[31m\u202eost' + "y" * 1000 + '"\n')
    assert fault.isprintable()
    assert "'G\\nh\\x1b[31m\\u202eost" in fault
    assert len(fault) < 250


def test_nothing_of_a_broken_file_is_called_missing():
    assert the_fault('id,sire\nA,B\n"C,\nB,\n').startswith("row 3: a quotation mark")


def test_sex_by_use_leaves_a_doubtful_sex_alone():
    assert the_fault("id,sire,sex\nA,,cock\nB,A,\n").startswith("row 2, sex: 'cock'")


cell = st.one_of(
    st.sampled_from(["", "A", "B", "C", "A|B", "A:0.5|B:1", "A:0", "2025-01-01", "2024-02-30"]),
    st.sampled_from(["boar", "sow", "full", "none", "0", "1", "1e-5", "-1", "nan", "=A1", "L1"]),
    st.text(max_size=6),
)
header = st.lists(st.sampled_from([*COLUMNS, "damm"]), max_size=8).map(lambda rest: ["id", *rest])


@st.composite
def tables(draw):
    columns = draw(header)
    row = st.lists(cell, min_size=len(columns) - 1, max_size=len(columns))
    out = io.StringIO()
    csv.writer(out).writerows([columns, *draw(st.lists(row, max_size=6))])
    return out.getvalue().encode("utf-8", "surrogatepass")


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.binary(), st.text().map(str.encode), tables()))
@example(b'id\n"')
@example(b'"id')
@example(b"id\r\r\nA")
@example(b"id,sire,sire\nA,A,A")
def test_any_bytes_are_either_rows_or_faults(data):
    rows, found = [], []
    try:
        rows = read_pedigree_file(data).rows
    except FaultyFileError as faulty:
        found = faulty.faults
        assert_each_is_a_line(found)
    assert not (rows and found)
    ids = [row.id for row in rows]
    assert len(set(ids)) == len(ids)
    for row in rows:
        assert {*row.sires, *row.dams} <= set(ids)
        for weights in (row.sire_weights, row.dam_weights):
            assert not weights or math.isclose(sum(weights), 1)


def assert_each_is_a_line(found):
    assert found
    assert all(fault.row >= 1 and str(fault).isprintable() for fault in found)
