"""`measure` knows its benchmarks and writes what they found; the peers are not installed here."""

import re
from time import sleep

import pytest
from django.core.management import call_command

from herdbook import bootstrap
from herdbook.launcher.locks import LOCKS, of_lock
from tests.benchmarks import measuring
from tests.benchmarks.__main__ import find_benchmarks
from tests.benchmarks.measuring import Row, quickest, report, seconds


@pytest.fixture
def some_machine(monkeypatch):
    monkeypatch.setattr(measuring, "conditions", lambda peer: f"A machine with {peer}.")


@pytest.mark.usefixtures("some_machine")
def test_it_works():
    rows = [
        Row("quick", 0.010, reach_s=0.050, peer_s=0.200, difference=1e-16),
        Row("slow", 2.5, reach_s=1.2),
        Row("alone", 0.5),
        Row("two threads", 0.015, reach_s=0.010, clock_s=0.009),
    ]
    page = report("Kinship", "How it was made.\n", "peer", rows).splitlines()
    assert page[:5] == ["# Kinship", "", "How it was made.", "", "A machine with peer."]
    assert page[6:] == [
        "| what | ours | by the clock | reach | met | peer | peer / ours | largest difference |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
        "| quick | 10 ms |  | 50 ms | yes | 200 ms | 20.0 | 1e-16 |",
        "| slow | 2.5 s |  | 1.2 s | no |  |  |  |",
        "| alone | 500 ms |  |  |  |  |  |  |",
        "| two threads | 15 ms | 9 ms | 10 ms | yes |  |  |  |",
    ]


def test_the_first_run_is_not_counted():
    runs = []
    assert quickest(lambda: runs.append(len(runs)), times=3, for_s=0) >= 0
    assert len(runs) == 4


def test_sleep_is_the_clocks_and_not_the_processors():
    processor_s, clock_s = seconds(lambda: sleep(0.05))
    assert clock_s >= 0.05 > processor_s


def test_it_refuses_a_benchmark_that_is_not_there(capfd):
    assert {"dose", "inbreeding"} <= set(find_benchmarks())
    assert "registers" not in find_benchmarks()
    with pytest.raises(SystemExit) as ended:
        call_command("measure", "pace")
    assert ended.value.code == 1
    assert "There is no benchmark pace: there are " in capfd.readouterr().err


def test_the_peers_have_an_environment_and_a_lock_of_their_own():
    environment = bootstrap.peers()
    assert environment.folder.name == ".venv-peers"
    lock = environment.lock.relative_to(bootstrap.PROJECT).as_posix()
    assert lock in LOCKS
    assert (bootstrap.PROJECT / of_lock(lock)).is_file()
    assert {"pgmpy", "sgkit"} <= set(re.findall(r"^(\w+)==", environment.lock.read_text(), re.M))
