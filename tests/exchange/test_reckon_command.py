"""`reckon FILE`: published posteriors, Mendel's ratios, the form of the answer, refusals."""

import csv
import io
import json
from fractions import Fraction

import numpy as np
import pytest
from django.conf import settings as book_settings
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.penetrance.likelihood import WEEKS, shown_by
from tests.exchange.conftest import PROJECT, as_table
from tests.exchange.herds import shuffled_herds
from tests.exchange.test_read_pedigree_file import tables
from tests.genetics.core.chances import look_likelihood

REFERENCE = PROJECT / "tests/reference"
RISKS = json.loads((REFERENCE / "carrier_risk.json").read_text())["carrier_risk"]
MATINGS = list(csv.DictReader((REFERENCE / "test_matings.csv").open()))

# What an animal is known to be, as the three likelihoods. In the test-mating argument two doses
# are the recessive, one dose its unseen carrier, and 'normal' says: not two.
NONE, ONE, TWO = (1, 0, 0), (0, 1, 0), (0, 0, 1)
NORMAL = (1, 1, 0)
TENTH = 1e-9


def animal(name, likelihood=None, **cells):
    likes = zip(("like0", "like1", "like2"), likelihood or ("", "", ""), strict=True)
    return {"id": name, "sire": "", "dam": "", **cells, **dict(likes)}


def doses_of(text, *options):
    """The command in this process, for the many small cases: id to (dose0, dose1, dose2)."""
    out = io.StringIO()
    path = book_settings.HOME / "reckon.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    call_command("reckon", str(path), *options, stdout=out, stderr=io.StringIO())
    return {
        row["id"]: tuple(float(row[f"dose{dose}"]) for dose in range(3))
        for row in csv.DictReader(io.StringIO(out.getvalue(), newline=""))
    }


def carrier(found, name="X"):
    """The chance that a normal animal carries one dose, and that it carries none."""
    return pytest.approx((found[name][1], found[name][0]), rel=TENTH)


def sib_of_recessive(likelihood=NORMAL):
    return [
        animal("S", ONE),
        animal("D", ONE),
        animal("X", likelihood, sire="S", dam="D"),
    ]


def half_a_carrier():
    return [animal("S", NONE), animal("D", ONE), animal("X", NORMAL, sire="S", dam="D")]


def normal_young(mate, likelihood, number):
    """`number` normal young of X and a mate that is known for what it is."""
    young = (animal(f"{mate}{n}", NORMAL, sire="X", dam=mate) for n in range(number))
    return [animal(mate, likelihood), *young]


def case_rows(name):
    """A published case as a pedigree. The X-linked cases have the arithmetic of a test mating to
    the recessive: each unaffected son is one more coin that fell well."""
    if name == "AR_sib_negative_test_90pct":
        return sib_of_recessive((1, 0.1, 0))
    if name == "polled_bull_2horned_3het_5polled":
        mates = (("H", TWO, 2), ("T", ONE, 3), ("P", NONE, 5))
        return half_a_carrier() + [row for mate in mates for row in normal_young(*mate)]
    if name == "xlinked_3_unaffected_sons":
        return half_a_carrier() + normal_young("M", TWO, 3)
    if name == "DMD_two_unaffected_sons":
        return half_a_carrier() + normal_young("M", TWO, 2)
    return sib_of_recessive() + normal_young("M", TWO, int(name.rpartition("_n")[2]))


def own_daughters(number):
    """X, half a carrier, to `number` of his own daughters by clear dams, one normal young each."""
    rows = half_a_carrier() + [animal("C", NONE)]
    for n in range(number):
        rows.append(animal(f"F{n}", sire="X", dam="C"))
        rows.append(animal(f"Y{n}", NORMAL, sire="X", dam=f"F{n}"))
    return rows


def test_it_works(run):
    """A two-dose boar to selfs gives one-dose pups; two of one dose give 1:2:1 (Mendel); an
    animal of which nothing is known stands at Hardy-Weinberg; Mrode's animals 5 and 6 are 1/8
    inbred (Mrode 2014, Table 2.1)."""
    rows = [
        animal("Bracken", TWO),
        animal("Moss", NONE),
        animal("P", sire="Bracken", dam="Moss"),
        animal("Q", sire="Bracken", dam="Moss"),
        animal("R", sire="P", dam="Q"),
        animal("S, unknown"),
    ]
    done = run("reckon", as_table(rows), "--frequency", "0.25", "--errors", "0")
    assert (done.status, done.faults) == (0, [])
    assert done.stdout.decode() == (
        "id,dose0,dose1,dose2,inbreeding,method,error\n"
        "Bracken,0,0,1,0,exact,\n"
        "Moss,1,0,0,0,exact,\n"
        "P,0,1,0,0,exact,\n"
        "Q,0,1,0,0,exact,\n"
        "R,0.25,0.5,0.25,0.25,exact,\n"
        '"S, unknown",0.5625,0.375,0.0625,0,exact,\n'
    )


@pytest.mark.parametrize("case", RISKS, ids=lambda case: case["name"])
def test_it_gives_the_published_carrier_risk(case):
    """Sources stand with each case: Ogino and Wilson 2004, and the textbook test mating."""
    expected = tuple(float(Fraction(share)) for share in case["posterior"])
    for frequency in ("0.01", "0.5"):  # the parents are known: how rare the gene is says nothing
        found = doses_of(as_table(case_rows(case["name"])), "--frequency", frequency)
        assert expected == carrier(found)


def test_it_runs_a_published_case_as_a_process(run_process):
    case = RISKS[-1]
    done = run_process("reckon", as_table(case_rows(case["name"])))
    bull = next(row for row in done.rows if row["id"] == "X")
    assert bull["dose1"] == f"{27 / 283:.10g}"
    assert bull["dose0"] == f"{256 / 283:.10g}"


@pytest.mark.parametrize("line", MATINGS, ids=lambda line: f"{line['mates']}-{line['alpha']}")
def test_it_clears_a_parent_by_normal_young(line):
    """How many normal young clear a parent, by kind of mate: the numbers are printed in Christensen
    K, Population Genetics (KVL), rounded up where 16 and 24 would not keep the bound. From even
    odds n normal young leave p^n / (1 + p^n) for a carrier (Bayes)."""
    number = int(line["n_strict_p^n<=alpha"])
    left = Fraction(line["p_normal_if_carrier"]) ** number
    assert left <= Fraction(line["alpha"])
    rows = {
        "recessive": lambda: half_a_carrier() + normal_young("M", TWO, number),
        "known_carrier": lambda: half_a_carrier() + normal_young("M", ONE, number),
        "own_daughters": lambda: own_daughters(number),
    }[line["mates"]]()
    expected = (float(left / (1 + left)), float(1 / (1 + left)))
    assert expected == carrier(doses_of(as_table(rows)))


def test_a_litter_shares_one_draw_of_its_sire():
    """By Mendel: the sire is Two or Self, the dam a self; one pup of one dose settles it for its
    litter, and leaves another litter of the same choice in doubt."""
    herd = [animal("Two", TWO), animal("Self", NONE), animal("Dam", NONE)]
    choice = {"sire": "Two:1|Self:3", "dam": "Dam"}
    found = doses_of(
        as_table(
            [
                *herd,
                animal("P", ONE, litter="L1", **choice),
                animal("Q", litter="L1", **choice),
                animal("R", litter="L2", **choice),
                animal("S", **choice),
            ]
        )
    )
    assert found["Q"] == (0, 1, 0)
    assert found["R"] == found["S"] == pytest.approx((0.75, 0.25, 0), rel=TENTH)


def test_a_wrong_sire_is_allowed_for_once_a_litter():
    """By hand. Two to a self can't give the self pup P: the sire was another boar, of whom P says
    that he passed no points on: 3/4 a self, 1/4 of one dose, so Q has one dose by 1/8."""
    rows = [
        animal("Two", TWO),
        animal("Dam", NONE),
        animal("P", NONE, sire="Two", dam="Dam", litter="L"),
        animal("Q", sire="Two", dam="Dam", litter="L"),
    ]
    found = doses_of(as_table(rows), "--errors", "0.01", "--frequency", "0.25")
    assert found["Q"] == pytest.approx((7 / 8, 1 / 8, 0), rel=TENTH)
    assert found["Two"] == (0, 0, 1)


def test_a_look_at_the_points_counts_as_the_table_of_evidence_has_it():
    header = "id,born,points,seen,like0,like1,like2\n"
    text = header + "A,2025-01-01,overmarked,2025-07-01,,,\n"
    by_look = doses_of(text, "--errors", "0.01")
    likes = ",".join(map(repr, map(float, look_likelihood("overmarked", 181))))
    by_likelihood = doses_of(header + f"A,,,,{likes}\n")
    assert by_look["A"] == pytest.approx(by_likelihood["A"], rel=TENTH)
    assert by_look["A"][2] > 0.0625  # and that is more than Hardy-Weinberg gave it


LOOKS = """id,sire,dam,born,points,seen
Sow,,,2024-01-01,none,2024-10-01
Boar,,,2024-01-01,overmarked,2024-06-01
P,Boar,Sow,2025-01-01,full,2025-07-01
Q,Boar,Sow,2025-01-01,,
"""


def test_without_errors_a_look_is_right_too():
    """Plain Mendel: who shows points is no self, whose pup is marked has a dose to give, and a
    self to a boar of two doses has young of one. A sow unmarked at nine months may be one that
    heat has paled, by the table of shifts, and nothing else."""
    found = doses_of(LOOKS, "--errors", "0")
    assert found["P"][0] == found["Boar"][0] == 0
    assert doses_of(LOOKS.replace("P,Boar,Sow", "P,,"))["P"][0] == 0
    paled = WEEKS["hot"] * shown_by("hot")[[2, 3], 0]  # grown: one dose is full, two overmarked
    prior = np.array([9, 6, 1]) / 16 * [1, *paled]
    alone = "\n".join(LOOKS.splitlines()[:2])
    assert doses_of(alone)["Sow"] == pytest.approx(prior / prior.sum(), rel=1e-4)
    # With errors, the slips of looks are allowed for besides.
    slips = doses_of(LOOKS, "--errors", "0.01")
    assert 0 < slips["P"][0] < 0.01


@pytest.mark.slow
def test_without_errors_looks_that_contradict_each_other_are_refused(run):
    """Two selfs have no young that shows points."""
    text = "id,sire,dam,born,points,seen,like0,like1,like2\n" + (
        "Sow,,,,,,1,0,0\nBoar,,,,,,1,0,0\nP,Boar,Sow,2025-01-01,full,2025-07-01,,,\n"
    )
    done = run("reckon", text, "--errors", "0")
    assert (done.status, done.stdout) == (2, b"")
    assert [fault.split(":")[0] for fault in done.faults] == [
        "row 2, like0",
        "row 3, like0",
        "row 4, points",
    ]
    assert "--errors above 0 allows for a wrong sire and a misread check" in done.faults[0]
    assert run("reckon", text, "--errors", "0.01").status == 0


def test_without_errors_a_look_that_no_animal_can_show_is_refused_by_its_row(run):
    text = "id,born,points,seen\nA,2025-01-01,none,2025-01-01\nB,2025-01-01,full,2025-01-01\n"
    done = run("reckon", text)
    assert (done.status, done.stdout) == (2, b"")
    assert done.faults == [
        "row 3, points: no animal shows 'full' at 0 days. Correct the check or the birth, or allow "
        "for errors: --errors 0.01."
    ]
    assert run("reckon", text, "--errors", "0.01").status == 0


def test_likelihoods_stand_instead_of_a_look():
    text = "id,born,points,seen,like0,like1,like2\nA,2025-01-01,none,2026-01-01,0,0,3\n"
    assert doses_of(text)["A"] == (0, 0, 1)


@pytest.mark.parametrize("scale", ["e-320", "e300"])
def test_the_scale_of_likelihoods_says_nothing(scale):
    text = f"id,like0,like1,like2\nA,1{scale},2{scale},4{scale}\n"
    assert doses_of(text, "--frequency", "0.5")["A"] == pytest.approx((1 / 9, 4 / 9, 4 / 9), 1e-3)


def test_defaults_are_a_quarter_and_no_errors():
    assert doses_of("id\nA\n") == doses_of("id\nA\n", "--frequency", "0.25", "--errors", "0")


def test_a_file_without_animals_has_no_figures():
    assert doses_of("id,sire,dam\n") == {}


@settings(max_examples=60, deadline=None)
@given(shuffled_herds(), st.sampled_from(["0", "0.05"]))
def test_the_order_of_rows_changes_no_figure(herd, errors):
    rows, shuffled = herd
    expected = doses_of(as_table(rows), "--errors", errors)
    found = doses_of(as_table(shuffled), "--errors", errors)
    assert list(found) == [row["id"] for row in shuffled]
    for name, chances in found.items():
        assert chances == pytest.approx(expected[name], rel=TENTH, abs=1e-12)


def test_it_names_every_fault_and_writes_nothing(run):
    done = run("reckon", "id,sire,like0,like1,like2\nA,Ghost,1,1,1\nB,A,0,0,0\nC,C,1,,\n")
    assert (done.status, done.stdout) == (2, b"")
    assert [fault.split(":")[0] for fault in done.faults] == [
        "row 2, sire",
        "row 3, like0",
        "row 4, sire",
        "row 4, like1",
        "row 4, like2",
    ]


def test_it_names_the_rows_of_which_one_alone_explains_the_contradiction(run):
    """Two doses to anything give no self: without the sire's evidence, or the pup's, all fits; the
    dam's makes no difference. The second family is in order."""
    rows = [
        animal("Two", TWO),
        animal("Dam", NONE),
        animal("P", NONE, sire="Two", dam="Dam"),
        animal("Other", ONE),
    ]
    done = run("reckon", as_table(rows))
    assert (done.status, done.stdout) == (2, b"")
    assert [fault.split(":")[0] for fault in done.faults] == ["row 2, like0", "row 4, like0"]
    assert "without this row's check they would" in done.faults[0]


def test_it_names_all_rows_with_evidence_where_no_one_is_to_blame(run):
    rows = [
        animal("Dam", NONE),
        animal("Two", TWO),
        animal("P", NONE, sire="Two", dam="Dam"),
        animal("Twin", sire="Two", dam="Dam"),
        animal("Too", TWO),
        animal("Q", NONE, sire="Too", dam="Dam"),
    ]
    done = run("reckon", as_table(rows))
    assert (done.status, done.stdout) == (2, b"")
    named = [fault.split(":")[0] for fault in done.faults]
    assert named == [f"row {number}, like0" for number in (2, 3, 4, 6, 7)]
    assert "more than one row is at fault" in done.faults[0]


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (["--frequency", "1.1"], ["--frequency"]),
        (["--frequency", "nan"], ["--frequency"]),
        (["--frequency=-0.1"], ["--frequency"]),
        (["--frequency", "a quarter"], ["--frequency"]),
        (["--errors", "1"], ["--errors"]),
        (["--frequency", "2", "--errors", "1e999"], ["--frequency", "--errors"]),
    ],
)
def test_it_refuses_rates_that_cannot_be(tmp_path, options, named):
    path = tmp_path / "herd.csv"
    path.write_text("id\nA\n")
    out, said = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("reckon", str(path), *options, stdout=out, stderr=said)
    assert (ended.value.code, out.getvalue()) == (2, "")
    assert [line.split(":")[0] for line in said.getvalue().splitlines()] == named


def test_a_rate_that_cannot_be_is_one_plain_line(run):
    done = run("reckon", "id\nA\n", "--frequency", "1,5")
    assert (done.status, done.stdout) == (2, b"")
    assert done.faults == [
        "--frequency: '1,5' is not possible. Give a number from 0 to 1, like 0.25."
    ]


@settings(max_examples=100, deadline=None)
@given(tables())
def test_any_file_gives_figures_or_a_refusal(data):
    try:
        found = doses_of(data)
    except SystemExit as ended:
        found, status = {}, ended.code
        assert_refused(status)
    for chances in found.values():
        assert sum(chances) == pytest.approx(1)


def assert_refused(status):
    assert status == 2
