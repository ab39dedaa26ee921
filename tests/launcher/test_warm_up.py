"""What compiles the kernels for tangled herds, beside a server."""

import os
import subprocess
import sys
import time

import pytest

from herdbook.bootstrap import PROJECT
from herdbook.launcher import precompile as way_in
from herdbook.launcher import serving


@pytest.mark.slow
def test_it_works(tmp_path):
    """The machine code lies there afterwards, and nothing is said."""
    done = subprocess.run(
        [sys.executable, "-m", "genetics.core.precompile"],
        cwd=PROJECT,
        env=os.environ | {"HERDBOOK_HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    made = {path.name.partition("-")[0] for path in tmp_path.rglob("*.nbc")}
    outermost = {
        "messages.run_schedule",
        "neighbourhoods.refine_in_neighbourhood",
        "messages.choices_of",
    }
    assert {"contraction.contract", "order_annealing.anneal"} | outermost <= made
    code = "from genetics.core.precompile import is_done; import sys; print(is_done())"
    asked = code + "; print('numba' in sys.modules)"
    for home, answer in ((tmp_path, "True"), (tmp_path / "another", "False")):
        told = subprocess.run(
            [sys.executable, "-c", asked],
            cwd=PROJECT,
            env=os.environ | {"HERDBOOK_HOME": str(home)},
            capture_output=True,
            text=True,
            check=True,
        )
        assert told.stdout.split() == [answer, "False"]


@pytest.fixture
def started(monkeypatch):
    """Processes that are begun; each would take a minute."""
    begun, popen = [], subprocess.Popen

    def sleeper(*arguments, **more):
        begun.append(popen([sys.executable, "-c", "import time; time.sleep(60)"]))
        return begun[-1]

    monkeypatch.setattr(way_in.subprocess, "Popen", sleeper)
    return begun


def test_it_ends_with_the_server(started):
    with way_in.warming(begin_after=0):
        while not started:
            time.sleep(0.01)
    assert started[0].poll() is not None


def test_a_server_that_ends_at_once_begins_none(started):
    with way_in.warming(begin_after=60):
        pass
    assert started == []


@pytest.mark.parametrize("there", [True, False])
def test_the_server_says_what_is_lost_without_a_compiler(monkeypatch, capsys, there):
    monkeypatch.setattr(serving, "compiler_installed", lambda: there)
    serving.say_what_is_missing()
    said = capsys.readouterr().err
    assert ("numba is not installed" in said) is not there
