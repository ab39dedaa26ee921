"""`kinship FILE`: published relationship tables, the form of the answer, and what is refused."""

import io
import json
import os
import subprocess
import sys
from itertools import combinations_with_replacement
from pathlib import Path

import pytest
from django.conf import settings as book_settings
from django.core.management import call_command
from hypothesis import given, settings

from herdbook.exchange.file_command import figure
from herdbook.exchange.management.commands import kinship as kinship_command
from tests.exchange.conftest import PROJECT, as_table
from tests.exchange.herds import shuffled_herds

CASES = json.loads((PROJECT / "tests/reference/kinship.json").read_text())


def kinship_of(text, *options):
    """The command in this process, for the many small cases."""
    out = io.StringIO()
    path = book_settings.HOME / "kinship.csv"
    path.write_text(text)
    call_command("kinship", str(path), *options, stdout=out)
    lines = [line.split(",") for line in out.getvalue().splitlines()[1:]]
    return {(a, b): float(value) for a, b, value in lines}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_it_works_on_published_tables(run, case):
    """Relationship is twice the kinship. Sources: Mrode 2014, Table 2.1; Christensen K, Population
    Genetics, sec. 4.5 (both as given with the case). Exact in binary, so told to the last digit."""
    done = run("kinship", as_table(case["pedigree"]))
    assert (done.status, done.faults) == (0, [])
    ids = [row["id"] for row in case["pedigree"]]
    pairs = combinations_with_replacement(range(len(ids)), 2)
    expected = [f"{ids[a]},{ids[b]},{case['relationship'][a][b] / 2:.10g}" for a, b in pairs]
    assert done.stdout.decode() == "\n".join(["id_a,id_b,kinship", *expected, ""])


def test_it_gives_one_pair_in_the_order_asked(run):
    case = CASES[0]
    done = run("kinship", as_table(case["pedigree"]), "--pair", "6", "3")
    assert done.stdout == b"id_a,id_b,kinship\n6,3,0.28125\n"


def test_it_gives_an_animal_with_itself():
    text = as_table(CASES[0]["pedigree"])
    assert kinship_of(text, "--pair", "5", "5") == {("5", "5"): (1 + 1 / 8) / 2}


def test_it_reads_standard_input_and_writes_utf_8_in_any_locale(run_process):
    bytes_in = 'id,dam\n"Łoś, the second",\n=Bébé,"Łoś, the second"\n'.encode()
    done = run_process("kinship", Path("-"), stdin=bytes_in, LC_ALL="C", PYTHONIOENCODING="latin-1")
    assert (done.status, done.faults) == (0, [])
    assert done.stdout.decode("utf-8") == (
        "id_a,id_b,kinship\n"
        '"Łoś, the second","Łoś, the second",0.5\n'
        '"Łoś, the second",=Bébé,0.25\n'
        "=Bébé,=Bébé,0.5\n"
    )


def test_littermates_share_an_unknown_parent_and_an_uncertain_draw():
    """By the definition. One unknown sire for the litter: full sibs of unrelated parents, 1/4. A
    litter's one draw of sire: 1/4 too, where two draws from A|B would make 1/8 + 1/16."""
    known_dam = "id,dam,litter\nD,,\nP,D,L\nQ,D,L\nR,D,\n"
    assert kinship_of(known_dam)["P", "Q"] == 1 / 4
    assert kinship_of(known_dam)["P", "R"] == 1 / 8
    two_sires = "id,sire,dam,litter\nA,,,\nB,,,\nD,,,\nP,A|B,D,L\nQ,A|B,D,L\nR,A|B,D,\n"
    assert kinship_of(two_sires)["P", "Q"] == 1 / 4
    assert kinship_of(two_sires)["P", "R"] == 1 / 8 + 1 / 16


def test_weights_are_expectations():
    found = kinship_of("id,sire\nA,\nB,\nP,A:3|B:1\n")
    assert found["A", "P"] == 3 / 16
    assert found["B", "P"] == 1 / 16


def test_it_writes_a_header_alone_for_a_file_without_animals():
    assert kinship_of("id,sire,dam\n") == {}


def test_it_refuses_a_stranger_in_a_pair(run):
    done = run("kinship", "id\nA\n", "--pair", "A", "Ghost")
    assert (done.status, done.stdout) == (2, b"")
    assert done.faults == ["--pair: 'Ghost' has no row in this file. Give two ids from the file."]


def test_it_names_every_fault_and_writes_nothing(run):
    done = run("kinship", "id,sire,dam\nA,Ghost,\nA,,\nB,A,A\n")
    assert (done.status, done.stdout) == (2, b"")
    assert [fault.split(":")[0] for fault in done.faults] == [
        "row 2, sire",
        "row 2, sex",
        "row 3, id",
    ]


def test_it_refuses_a_file_that_is_not_there(run_process, tmp_path):
    done = run_process("kinship", tmp_path / "nowhere.csv")
    assert (done.status, done.stdout) == (2, b"")
    assert len(done.faults) == 1
    assert "nowhere.csv cannot be read (No such file or directory)" in done.faults[0]


def test_a_long_file_is_answered_some_rows_at_a_time(monkeypatch):
    text = "id,sire,dam,litter\nA,,,\nB,,,\nP,A,B,1\nQ,A,B,1\nR,P,Q,\n"
    expected = kinship_of(text)
    assert expected["P", "R"] == 3 / 8
    monkeypatch.setattr(kinship_command, "ROWS", 2)
    assert list(kinship_of(text).items()) == list(expected.items())  # in the same order, too


def test_it_ends_quietly_when_its_reader_has_had_enough(tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text("id\n" + "".join(f"P{number}\n" for number in range(1000)))
    process = subprocess.Popen(
        [sys.executable, "manage.py", "kinship", str(path)],
        cwd=PROJECT,
        env=os.environ | {"HERDBOOK_HOME": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout.readline() == b"id_a,id_b,kinship\n"
    process.stdout.close()
    said = process.stderr.read().decode()
    process.stderr.close()
    assert [line for line in said.splitlines() if not line.startswith("Note: ")] == []
    assert process.wait() == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_it_says_so_when_the_disk_is_full(tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text("id\nA\n")
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "manage.py", "kinship", str(path)],
            cwd=PROJECT,
            env=os.environ | {"HERDBOOK_HOME": str(tmp_path)},
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == 1
    assert "could not be written completely: No space left on device." in done.stderr.decode()
    assert "Traceback" not in done.stderr.decode()


@settings(max_examples=60, deadline=None)
@given(shuffled_herds())
def test_the_order_of_rows_changes_no_figure(herd):
    rows, _shuffled = herd
    expected, found = (kinship_of(as_table(order)) for order in herd)
    assert len(found) == len(rows) * (len(rows) + 1) // 2
    for (a, b), value in found.items():
        either_way = expected[a, b] if (a, b) in expected else expected[b, a]
        assert value == pytest.approx(either_way, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (1.0, "1"),
        (0.25, "0.25"),
        (1 / 3, "0.3333333333"),
        (2 / 3, "0.6666666667"),
        (1.23456789012e-7, "1.23456789e-07"),
    ],
)
def test_figures_have_ten_significant_digits(value, text):
    assert figure(value) == text
