"""`measure` knows its benchmarks and writes what they found; the peers are not installed here."""

import pytest
from django.core.management import CommandError, call_command

from benchmarks import measuring
from benchmarks.measuring import Row, quickest, report
from herdbook import bootstrap
from herdbook.way_in.locks import LOCKS, of_lock
from herdbook.way_in.management.commands.measure import find_benchmarks


@pytest.fixture
def some_machine(monkeypatch):
    monkeypatch.setattr(measuring, "conditions", lambda peer: f"A machine with {peer}.")


@pytest.mark.usefixtures("some_machine")
def test_it_works():
    rows = [
        Row("quick", 0.010, reach_s=0.050, peer_s=0.200, difference=1e-16),
        Row("slow", 2.5, reach_s=1.2),
        Row("alone", 0.5),
    ]
    page = report("Kinship", "How it was made.\n", "peer", rows).splitlines()
    assert page[:5] == ["# Kinship", "", "How it was made.", "", "A machine with peer."]
    assert page[6:] == [
        "| what | ours | reach | met | peer | peer / ours | largest difference |",
        "| --- | --- | --- | --- | --- | --- | --- |",
        "| quick | 10 ms | 50 ms | yes | 200 ms | 20.0 | 1e-16 |",
        "| slow | 2.5 s | 1.2 s | no |  |  |  |",
        "| alone | 500 ms |  |  |  |  |  |",
    ]


def test_the_first_run_is_not_counted():
    runs = []
    assert quickest(lambda: runs.append(len(runs)), times=3, for_s=0) >= 0
    assert len(runs) == 4


def test_it_refuses_a_benchmark_that_is_not_there():
    assert "inbreeding" in find_benchmarks()
    assert "registers" not in find_benchmarks()
    with pytest.raises(CommandError, match="There is no benchmark pace: there are .*inbreeding"):
        call_command("measure", "pace")


def test_the_peers_have_an_environment_and_a_lock_of_their_own():
    environment = bootstrap.peers()
    assert environment.folder.name == ".venv-peers"
    lock = environment.lock.relative_to(bootstrap.PROJECT).as_posix()
    assert lock in LOCKS
    assert (bootstrap.PROJECT / of_lock(lock)).is_file()
    assert "sgkit==" in environment.lock.read_text()
