"""Which engine is run, for how long, and what is said when it cannot."""

import os
from pathlib import Path

import pytest

from herdbook.charts import (
    ChartTooLargeError,
    DrawingError,
    DrawingTimeoutError,
    NoEngineError,
    Sex,
    find_engine,
)
from herdbook.charts.drawing import Box, draw
from herdbook.charts.graphviz import check_size, run

from .conftest import ENGINES

PURE = ENGINES["graphviz-pure"]


def _program(folder: Path, name: str, script: str) -> str:
    program = folder / name
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(0o755)
    return str(program)


def test_it_works(engine):
    assert "<svg" in run("graph { 1 -- 2 }", layout="dot", engine=engine)


def test_a_system_dot_goes_before_the_binary_beside_python(monkeypatch, tmp_path):
    monkeypatch.delenv("HERDBOOK_DOT", raising=False)
    system = _program(tmp_path, "dot", "exit 0")
    monkeypatch.setenv("PATH", str(tmp_path))

    assert find_engine() == system


def test_without_a_system_dot_it_takes_the_binary_beside_python(monkeypatch, tmp_path):
    monkeypatch.delenv("HERDBOOK_DOT", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))

    assert find_engine() == PURE


def test_the_environment_names_another(monkeypatch, tmp_path):
    other = _program(tmp_path, "other", "exit 0")
    monkeypatch.setenv("HERDBOOK_DOT", other)

    assert find_engine() == other


def test_it_says_when_there_is_none(monkeypatch, tmp_path):
    monkeypatch.setenv("HERDBOOK_DOT", str(tmp_path / "nothing"))

    with pytest.raises(NoEngineError, match="no graphviz program was found"):
        find_engine()


def test_it_says_when_the_named_one_does_not_run(tmp_path):
    broken = tmp_path / "broken"
    broken.write_bytes(b"\x7fELF not a program")
    broken.chmod(0o755)

    with pytest.raises(NoEngineError, match="does not run"):
        run("graph {}", layout="dot", engine=str(broken))


def test_it_stops_an_engine_that_takes_too_long(tmp_path):
    note = tmp_path / "pid"
    slow = _program(tmp_path, "slow", f"echo $$ > {note}; exec sleep 600")

    with pytest.raises(DrawingTimeoutError, match="longer than 0.5 s"):
        run("graph {}", layout="dot", engine=slow, seconds=0.5)
    with pytest.raises(ProcessLookupError):
        os.kill(int(note.read_text()), 0)


def test_it_hands_on_the_words_of_an_engine_that_fails(engine):
    with pytest.raises(DrawingError, match="syntax error"):
        run("graph { -> }", layout="dot", engine=engine)


def test_it_refuses_more_boxes_than_the_cap_before_it_runs_anything(tmp_path):
    note = tmp_path / "ran"
    noting = _program(tmp_path, "noting", f"touch {note}")
    boxes = [Box(0, 0, 30, Sex.BOAR, title="Pip")] * 401

    check_size(400)
    with pytest.raises(ChartTooLargeError, match="401 boxes .* at most 400 can be drawn"):
        draw(boxes, [], title="All", name="all", engine=noting)
    assert not note.exists()
