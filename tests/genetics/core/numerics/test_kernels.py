"""Kernels are compiled when first called, once for each source, in a folder of their own."""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import sys
import threading
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from genetics.core.numerics import kernels as compiling
from genetics.core.numerics.kernels import compiled

CORE = Path(compiling.__file__).parents[1]

HALVING = """
from genetics.core.numerics.kernels import compiled

@compiled
def half(value):
    return value / 2
"""

KERNELS = """
from genetics.core.halving import half
from genetics.core.numerics.kernels import compiled

@compiled
def halves(values):
    total = 0.0
    for value in values:
        total += half(value)
    return total
"""

ASK = """
import json, logging, sys
import numpy
from genetics.core import kernels
logging.basicConfig()
plain = kernels.halves.plain(numpy.arange(4.0))
early = "numba" in sys.modules
found = kernels.halves(numpy.arange(4.0))
stats = getattr(kernels.halves.machine(), "stats", None)
told = {"early": early, "plain": plain, "found": found}
if stats:
    told["from_cache"] = bool(stats.cache_hits)
print(json.dumps(told))
"""

WITHOUT_NUMBA = "import sys; sys.modules['numba'] = None\n"


class Copy:
    """A copy of the core with two kernels in it, for interpreters of its own."""

    def __init__(self, folder):
        self.source, self.home = folder / "source", folder / "home"
        self.core = self.source / "genetics" / "core"
        shutil.copytree(CORE, self.core, ignore=shutil.ignore_patterns("__pycache__"))
        (self.core.parent / "__init__.py").touch()
        (self.core / "kernels.py").write_text(KERNELS)
        (self.core / "halving.py").write_text(HALVING)

    def ask(self, before=""):
        """What a fresh interpreter sees, and what it says on standard error."""
        run = subprocess.run(
            [sys.executable, "-c", before + ASK],
            cwd=self.source,
            env=os.environ | {"HERDBOOK_HOME": str(self.home)},
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == 0, run.stderr
        return json.loads(run.stdout), run.stderr

    def folders(self):
        return sorted((self.home / "compiled").glob("*"))


@pytest.fixture
def copy(tmp_path):
    return Copy(tmp_path)


@compiled
def _double(value):
    return value * 2


@compiled
def _doubled(values):
    total = 0.0
    for value in values:
        total += _double(value)
    return total


def test_it_works():
    assert _doubled.plain(np.arange(4.0)) == 12
    assert _doubled(np.arange(4.0)) == 12
    assert _doubled.machine().nopython_signatures  # it was compiled, and not run as Python


def test_the_compiler_is_imported_by_the_first_call_and_its_work_is_kept(copy):
    first, said = copy.ask()
    assert first == {"early": False, "plain": 3, "found": 3, "from_cache": False}
    assert said == ""
    made = copy.folders()
    assert len(made) == 2
    assert all(list(folder.rglob("*.nbc")) for folder in made)
    second, _said = copy.ask()
    assert second == first | {"from_cache": True}
    assert copy.folders() == made


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps no such modes")
def test_only_its_owner_may_enter_the_folder(copy):
    (copy.home / "compiled").mkdir(parents=True)
    (copy.home / "compiled").chmod(0o777)
    copy.ask()
    for folder in (copy.home / "compiled", *copy.folders()):
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="needs the right to make links")
def test_it_keeps_nothing_where_another_folder_is_pointed_at(copy, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    copy.home.mkdir()
    (copy.home / "compiled").symlink_to(elsewhere)
    told, said = copy.ask()
    assert told["found"] == 3
    assert "Compiled code cannot be kept" in said
    assert list(elsewhere.rglob("*.nbc")) == []


@pytest.mark.slow
def test_an_edited_file_discards_what_rests_on_it_and_no_more(copy):
    copy.ask()
    half, halves = copy.folders()
    assert ".halving.half-" in half.name
    (copy.home / "compiled" / "of-another-checkout").mkdir()
    other = copy.core / "inheritance" / "mendel.py"
    other.write_text(other.read_text() + "\n# changed\n")
    told, _said = copy.ask()
    assert told["from_cache"] is True
    own = copy.core / "kernels.py"
    own.write_text(own.read_text() + "\n# changed\n")
    told, _said = copy.ask()
    assert told["from_cache"] is False
    assert half in copy.folders()
    assert halves not in copy.folders()
    called = copy.core / "halving.py"
    called.write_text(called.read_text().replace("value / 2", "value * 2"))
    told, _said = copy.ask()
    assert (told["from_cache"], told["found"]) == (False, 12)
    kept = {folder.name for folder in copy.folders()}
    assert half.name not in kept
    assert len(kept) == 3
    assert "of-another-checkout" in kept


MOST = 3
TABLE = np.arange(4.0)


class Inner(NamedTuple):
    rows: np.ndarray


class Outer(NamedTuple):
    inner: Inner


def test_the_mark_of_a_kernel_is_of_its_constants_and_tuples_too(monkeypatch):
    @compiled
    def some(room: Outer) -> float:
        return sum([TABLE[one] for one in range(MOST)])

    marks = [compiling.digest(some.written)]
    changes = {"MOST": 4, "TABLE": np.arange(5.0), "Inner": NamedTuple("Inner", [("row", int)])}
    for name, value in changes.items():
        monkeypatch.setitem(some.written.__globals__, name, value)
        marks.append(compiling.digest(some.written))
    assert len(set(marks)) == 4
    monkeypatch.undo()
    assert compiling.digest(some.written) == marks[0]


@pytest.mark.slow
def test_machine_code_that_was_cut_short_is_compiled_again(copy):
    copy.ask()
    for file in copy.home.rglob("*.nbc"):
        file.write_bytes(b"")
    told, said = copy.ask()
    assert told["found"] == 3
    assert "Compiled code cannot be kept" in said
    copy.ask()
    told, said = copy.ask()
    assert (told["from_cache"], said) == (True, "")


def test_without_numba_it_runs_as_python(copy):
    told, said = copy.ask(WITHOUT_NUMBA)
    assert told == {"early": True, "plain": 3, "found": 3}  # "early": the name that stands for none
    assert said.count("numba cannot be imported") == 1
    assert not (copy.home / "compiled").exists()


def test_threads_that_call_at_once_share_one_compilation():
    @compiled
    def squares(values):
        total = 0.0
        for value in values:
            total += value * value
        return total

    found, ready = [], threading.Barrier(4)

    def call():
        ready.wait()
        found.append((squares(np.arange(4.0)), squares.machine()))

    threads = [threading.Thread(target=call) for _number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [value for value, _machine in found] == [14] * 4
    assert len({id(machine) for _value, machine in found}) == 1
    assert len(squares.machine().signatures) == 1
