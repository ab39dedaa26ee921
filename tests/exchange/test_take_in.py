"""A pedigree file taken into the book: what it becomes, what is asked, and that all of it or none
is written."""

import io
import json
from fractions import Fraction

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from genetics.figures.refresh import ensure_current
from herdbook.book.exceptions import ConfirmationNeededError
from herdbook.book.models import (
    Animal,
    Answer,
    CandidateSire,
    ChangeSet,
    GivenEvidence,
    Litter,
    Look,
)
from herdbook.book.services.change_set import Submission
from herdbook.exchange.exceptions import FaultyFileError
from herdbook.exchange.import_summary import outline
from herdbook.exchange.importer import plan_take_in, take_in
from herdbook.exchange.pedigree_file import read_pedigree_file
from herdbook.exchange.plan import Choices
from tests.conftest import TODAY
from tests.exchange.conftest import PROJECT, as_table
from tests.factories import AnimalFactory, MembershipFactory

CASES = json.loads((PROJECT / "tests/reference/kinship.json").read_text())

HERD = """\
id,name,sire,dam,litter,sex,born,coat,point_colour,eye_colour,breeder,points,seen,like0,like1,like2
1,Ash,,,,,2024-01-05,white,black,dark,Ada Fenn,overmarked,2024-06-01,,,
2,Birch,,,,,2024-02-05,cream,,,,,,,,
3,Cedar,,,,boar,2024-02-09,,,,,none,2024-09-01,,,
4,,1:3|3:1,2,A,sow,2025-03-01,White,,,,coming,2025-04-20,,,
5,,1:3|3:1,2,A,boar,2025-03-01,white,,,,,,0.5,3,1
"""


@pytest.fixture
def membership(db, today):
    return MembershipFactory(herd__stud_prefix="", herd__name="Fenn")


@pytest.fixture
def taking(membership):
    """`taking(text, answered)` takes a file into an empty herd."""

    def take(text, choices=None, answered=()):
        return take_in(
            Submission(membership.user, TODAY, answered=answered),
            herd=membership.herd,
            data=text.encode(),
            choices=choices or Choices(),
        )

    return take


def planned(text, herd, choices=None):
    return plan_take_in(
        read_pedigree_file(text.encode()), herd=herd, choices=choices or Choices(), today=TODAY
    )


def faults_of(taking, text, choices=None):
    with pytest.raises(FaultyFileError) as refused:
        taking(text, choices)
    assert not Animal.objects.exists()
    assert not Litter.objects.exists()
    assert not ChangeSet.objects.exists()
    return [(fault.row, fault.column) for fault in refused.value.faults]


def test_it_works(taking, membership):
    taking(HERD)
    ash, birch, cedar, four, five = Animal.objects.order_by("number")
    assert (ash.name, ash.coat, ash.point_colour, ash.eye_colour) == (
        "Ash",
        "white",
        "black",
        "dark",
    )
    assert (ash.breeder, ash.sex, ash.state, str(ash.born)) == (
        "Ada Fenn",
        "boar",
        "in_herd",
        "2024-01-05",
    )
    assert birch.sex == "sow"
    assert cedar.coat == "white"  # the keeper's choice, since its points were seen
    assert four.litter == five.litter
    assert four.litter.dam == birch
    assert [(sire.boar, sire.weight) for sire in four.litter.sires.all()] == [
        (ash, 0.75),
        (cedar, 0.25),
    ]
    assert {litter.source for litter in Litter.objects.all()} == {"paper"}
    assert sorted(Look.objects.values_list("animal__number", "stage")) == [
        ("1", "overmarked"),
        ("3", "none"),
        ("4", "coming"),
    ]
    given = GivenEvidence.objects.get()
    assert (given.animal, given.like0, given.like1, given.like2) == (five, 0.5, 3, 1)
    assert list(Animal.objects.matching("cedar")) == [cedar]


def test_all_is_one_change_with_history(taking, membership):
    taking(HERD)
    changed = ChangeSet.objects.get()
    assert (changed.user, changed.herd) == (membership.user, membership.herd)
    for model in (Animal, Litter, CandidateSire, Look, GivenEvidence):
        told = model.history.values_list("history_change_reason", "history_user", "history_type")
        assert set(told) == {(str(changed.pk), membership.user.pk, "+")}
        assert told.count() == model.objects.count()
    # A row keeps what it pointed at, so that its history can be read.
    four = Animal.objects.get(number="4")
    assert four.history.get().litter_id == four.litter_id
    assert four.litter.history.get().dam_id == four.litter.dam_id


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
@pytest.mark.parametrize("backwards", [False, True], ids=["as printed", "rows reversed"])
def test_inbreeding_of_a_published_pedigree(case, backwards, taking):
    """Mrode 2014, Table 2.1 and sec. 2.2; Christensen, Population Genetics, sec. 4.5."""
    rows = case["pedigree"][::-1] if backwards else case["pedigree"]
    taking(as_table(rows))
    assert ensure_current().fresh
    found = {
        animal.number or animal.name: animal.figure.inbreeding
        for animal in Animal.objects.select_related("figure")
    }
    printed = {row["id"]: float(Fraction(case["inbreeding"][row["id"]])) for row in rows}
    assert found == printed


def test_the_choice_is_who_is_in_the_herd(membership):
    def states(**chosen):
        plan = planned(HERD, membership.herd, Choices(**chosen))
        return [animal.state for animal in plan.animals.values()]

    assert states() == ["in_herd"] * 5
    assert states(state="paper") == ["paper"] * 5
    day = TODAY.replace(year=2025, month=3, day=1)
    assert states(since=day) == ["paper"] * 3 + ["in_herd"] * 2
    plan = planned("id\n1\n", membership.herd, Choices(since=day))
    assert plan.in_state("paper") == 1  # nobody knows when it was born


def test_a_dry_run_writes_nothing_and_counts(membership):
    plan = planned(HERD, membership.herd)
    assert (len(plan.animals), plan.founders, plan.families) == (5, 3, 1)
    assert (len(plan.looks), len(plan.evidence)) == (3, 1)
    assert (plan.coats_chosen, plan.questions) == (1, ())
    assert not Animal.objects.exists()


def test_a_look_beside_a_given_likelihood_does_not_count_twice(membership):
    text = "id,born,coat,points,seen,like0,like1,like2\n1,2025-01-01,red,full,2025-09-01,0,1,1\n"
    plan = planned(text, membership.herd)
    assert (len(plan.looks), len(plan.evidence), plan.looks_within) == (0, 1, 1)


@pytest.mark.parametrize(
    ("id", "name", "kept"),
    [
        ("7", "Fern", {"number": "7", "name": "Fern", "tag": ""}),
        ("A-7", "", {"number": "A-7", "name": "", "tag": ""}),
        ("Fern of Larkhill", "", {"number": "", "name": "Fern of Larkhill", "tag": ""}),
        ("x" * 20, "Fern", {"number": "x" * 20, "name": "Fern", "tag": ""}),
        ("x" * 21, "Fern", {"number": "", "name": "Fern", "tag": "x" * 21}),
        ("x" * 80, "", {"number": "", "name": "x" * 80, "tag": ""}),
        ("1" * 80, "", {"number": "", "name": "1" * 80, "tag": ""}),
        ("=cmd|x".replace("|", "!"), "<b>Fern</b>", {"number": "", "name": "<b>Fern</b>"}),
    ],
)
def test_the_id_can_be_found_again(id, name, kept, taking):
    if id.startswith("="):
        kept = kept | {"number": id}
    taking(as_table([{"id": id, "name": name}]))
    animal = Animal.objects.get()
    assert {column: getattr(animal, column) for column in kept} == kept
    assert list(Animal.objects.matching(id)) == [animal]


def test_coat_and_marks_are_words_with_spaces_between(taking):
    taking("id,coat_type\n1,satin Long\n2,plain\n3,\n")
    found = Animal.objects.order_by("number").values_list("coat_type", flat=True)
    assert list(found) == ["long satin", "plain", ""]


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("id,name\n1,\n2," + "x" * 81 + "\n", (3, "name")),
        ("id,name\n1,\n2,Fe\u202ern\n", (3, "name")),
        ("id,breeder\n1," + "x" * 81 + "\n", (2, "breeder")),
        ("id,name\n" + "7" * 41 + ",Fern\n", (2, "id")),
        ("id\n" + "7" * 81 + "\n", (2, "id")),
        ("id,coat\n1,tortoise\n", (2, "coat")),
        ("id,point_colour\n1,red\n", (2, "point_colour")),
        ("id,eye_colour\n1,blue\n", (2, "eye_colour")),
        ("id,coat_type\n1,curly\n", (2, "coat_type")),
        ("id,coat_type\n1,plain rex\n", (2, "coat_type")),
        ("id,born\n1,2026-11-26\n", (2, "born")),
        ("id,born,points,seen\n1,2026-01-01,full,2026-11-26\n", (2, "seen")),
        ("id,dam\n1,\n2,\n3,1|2\n", (4, "dam")),
        ("id,sire\n1,\n2,\n3,1:1e-12|2:1\n", (4, "sire")),
        ("id,sire\n1,\n2,3\n", (3, "sire")),  # the parser's own
    ],
)
def test_a_fault_in_the_last_row_writes_nothing(text, where, taking):
    assert faults_of(taking, text) == [where]


def test_a_birth_known_from_a_littermate_is_held_against_the_young(taking):
    """Row 3 has no date; its litter's makes it younger than its own pup."""
    text = "id,litter,born,sire\n1,A,2025-01-01,\n2,A,,\n3,,2024-06-01,2\n"
    assert faults_of(taking, text) == [(4, "sire")]


def test_every_fault_is_told_at_once(taking):
    text = "id,coat,born,dam\n1,tartan,2026-12-24,\n2,,,\n3,,,1|2\n"
    assert faults_of(taking, text) == [(2, "coat"), (2, "born"), (4, "dam")]


def test_a_number_that_the_herd_has_is_a_fault_of_its_row(taking, membership):
    AnimalFactory(herd=membership.herd, number="2", name="Fern")
    with pytest.raises(FaultyFileError) as refused:
        taking("id\n1\n2\n")
    (fault,) = refused.value.faults
    assert (fault.row, fault.column) == (3, "id")
    assert "Fern (2)" in str(fault)
    assert Animal.objects.count() == 1


def test_another_herds_numbers_and_names_do_not_clash(taking, membership):
    other = AnimalFactory(number="2", name="Fern")
    taking("id\n1\n2\nFern\n")
    assert Animal.objects.filter(herd=membership.herd).count() == 3
    assert Animal.objects.get(herd=other.herd) == other


def test_a_name_that_the_herd_has_is_asked_about(taking, membership):
    AnimalFactory(herd=membership.herd, number="2", name="Fern")
    with pytest.raises(ConfirmationNeededError) as asked:
        taking("id\nFern\n")
    assert [finding.code for finding in asked.value.findings] == ["same-name:2"]


YOUNG = "id,sire,dam,born\n1,,,2025-01-01\n2,,,2025-01-01\n3,1,2,2025-03-20\n"


def test_what_is_hard_to_believe_is_asked_and_its_answer_kept(taking):
    with pytest.raises(ConfirmationNeededError) as asked:
        taking(YOUNG)
    codes = [finding.code for finding in asked.value.findings]
    assert codes == ["young-parent:4", "young-parent:4"]
    assert all(finding.message.startswith("Row 4: ") for finding in asked.value.findings)
    assert not Animal.objects.exists()
    taking(YOUNG, answered=codes)
    assert Animal.objects.count() == 3
    assert set(Answer.objects.values_list("code", flat=True)) == set(codes)


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("id,born,coat,points,seen\n1,2026-01-01,black,full,2026-09-01\n", ["coat-hides-points:2"]),
        ("id,born,points,seen\n1,2026-01-01,full,2026-01-09\n", ["points-early:2"]),
        ("id,litter,born\n1,A,2026-01-02\n2,A,2026-01-01\n", ["births-apart:2"]),
        (
            "id,dam,litter,born\n1,,,\n2,1,,2026-01-01\n3,1,,2026-01-01\n4,1,,2026-01-01\n",
            ["littermates-apart:4"],
        ),
        ("id,dam,born\n1,,\n2,1,2026-01-01\n3,1,2026-02-20\n", ["litters-close:4"]),
        ("id,dam,born\n1,,\n2,1,2026-01-01\n3,1,2026-03-01\n", []),
        ("id,dam,litter,born\n1,,,\n2,1,A,2026-01-01\n3,1,B,2026-01-01\n", ["litters-close:4"]),
    ],
)
def test_the_book_asks_about(text, codes, membership):
    assert [finding.code for finding in planned(text, membership.herd).questions] == codes


def test_a_litter_of_two_days_is_born_on_the_first(taking):
    taking("id,litter,born\n1,A,2026-01-02\n2,A,2026-01-01\n3,A,\n", answered=["births-apart:2"])
    assert [str(litter.born) for litter in Litter.objects.all()] == ["2026-01-01"]


def herd_of(size):
    """Six generations, in each the same number of boars and sows, litters of two."""
    rows = []
    across = size // 6
    for number in range(size):
        generation, place = divmod(number, across)
        row = {"id": str(number), "coat": "white", "born": f"{2019 + generation}-05-01"}
        if generation:
            base = (generation - 1) * across
            pair = place // 2
            row |= {
                "sire": str(base + 2 * (pair % (across // 2))),
                "dam": str(base + 2 * (pair % (across // 2)) + 1),
                "litter": f"{generation}-{pair}",
            }
        row |= {"points": "full", "seen": f"{2019 + generation}-12-01"}
        rows.append(row)
    return as_table(rows)


def test_a_thousand_rows_take_few_queries(taking):
    """Rows go in by lots, so that ten times the animals take nothing like ten times the queries;
    SQLite takes about thirty animals a statement, PostgreSQL five hundred."""
    with CaptureQueriesContext(connection) as queries:
        taking(herd_of(1008))
    assert Animal.objects.count() == Look.objects.count() == 1008
    assert len(queries) < 350


def test_the_command_shows_and_writes_nothing(membership, tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text(HERD)
    out = io.StringIO()
    call_command("take-in", str(path), stdout=out)
    assert "5 animals, 3 founders, 1 litter, 3 checks, 1 given likelihood." in out.getvalue()
    assert "1 animal has points but no body colour: it will be recorded as white." in out.getvalue()
    assert not Animal.objects.exists()


def test_the_command_writes(membership, tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text(HERD)
    options = ["--write", "--state", "paper", "--coat", "cream", "--herd", "Fenn"]
    call_command("take-in", str(path), *options, stdout=io.StringIO())
    assert set(Animal.objects.values_list("state", flat=True)) == {"paper"}
    assert Animal.objects.get(name="Cedar").coat == "cream"
    assert ChangeSet.objects.get().user == membership.user


def refusal(*arguments):
    err = io.StringIO()
    with pytest.raises(SystemExit) as end:
        call_command("take-in", *arguments, stdout=io.StringIO(), stderr=err)
    assert end.value.code == 2
    assert not Animal.objects.exists()
    return err.getvalue().splitlines()


def test_the_command_names_each_fault_on_a_line(membership, tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text("id,coat,dam\n1,tartan,\n2,,\n3,,1|2\n")
    first, second = refusal(str(path), "--write")
    assert first.startswith("row 2, coat: ")
    assert second.startswith("row 4, dam: ")


def test_the_command_writes_nothing_hard_to_believe_unsaid(membership, tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text(YOUNG)
    assert len(refusal(str(path), "--write")) == 3
    call_command("take-in", str(path), "--write", "--it-is-so", stdout=io.StringIO())
    assert Animal.objects.count() == 3


def test_the_command_asks_which_herd(membership, tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text("id\n1\n")
    (line,) = refusal(str(path), "--herd", "Elsewhere", "--write")
    assert "'Elsewhere'" in line
    MembershipFactory(herd__name="Saltmarsh")
    (line,) = refusal(str(path), "--write")
    assert "'Fenn'" in line
    assert "'Saltmarsh'" in line


def test_the_command_refuses_a_day_that_is_none(membership, tmp_path):
    path = tmp_path / "herd.csv"
    path.write_text("id\n1\n")
    (line,) = refusal(str(path), "--since", "1.3.2021")
    assert line.startswith("--since: ")


def test_the_command_says_that_there_is_no_book(run_process):
    done = run_process("take-in", "id\n1\n")
    assert done.status == 2
    assert done.faults == ["There is no herd-book here yet. 'manage.py start' makes one."]


def test_the_dry_run_leaves_out_what_there_is_none_of(cast):
    file = read_pedigree_file(b"id,sex,born\nA1,sow,2026-01-02\nB2,boar,2026-01-03\n")
    plan = plan_take_in(file, herd=cast.herd, choices=Choices(), today=TODAY)
    assert outline(plan, Choices())[0] == "2 animals, 2 founders."
