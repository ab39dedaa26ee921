"""What the benchmarks of `python manage.py measure` share: rows, a clock, and the peers.

A benchmark is a module here with `PEER`, the library it runs beside ours, and `measure()`, which
yields rows; its docstring becomes the text above them. A peer's script stands in
`tests/benchmarks/peers` and runs in an environment of its own, where nothing of ours is installed.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from herdbook.bootstrap import ensure, peers

HERE = Path(__file__).resolve().parent
BARE = {"numba", "numpy", "scipy"}  # what our figures rest on

HEADINGS = (
    "what",
    "ours",
    "by the clock",
    "reach",
    "met",
    "{peer}",
    "{peer} / ours",
    "largest difference",
)


WARM = "Warm: the quickest of five runs or of two seconds, after one that compiles."


class Row(NamedTuple):
    """One thing measured: processor seconds of ours, of the reach that was set for it, and of the
    peer; the largest difference between the two answers; and what the clock said of ours, which
    is then what the reach is held against. None where there is none."""

    what: str
    ours_s: float
    reach_s: float | None = None
    peer_s: float | None = None
    difference: float | None = None
    clock_s: float | None = None


def quickest(act: Callable[[], object], times: int = 5, for_s: float = 2.0) -> float:
    """Processor seconds of the quickest of at least so many runs, more while they take under
    `for_s` in all, after one that is not counted (it may compile)."""
    return quickest_both(act, times, for_s)[0]


def quickest_both(
    act: Callable[[], object], times: int = 5, for_s: float = 2.0
) -> tuple[float, float]:
    """The same, and the quickest by the clock."""
    act()
    found: list[tuple[float, float]] = []
    while len(found) < times or sum(processor_s for processor_s, _ in found) < for_s:
        found.append(seconds(act))
    processor_s, clock_s = zip(*found, strict=True)
    return min(processor_s), min(clock_s)


def seconds(act: Callable[[], object]) -> tuple[float, float]:
    """Seconds of one run: the processor's, of all threads, and the clock's."""
    begun, at = time.process_time(), time.perf_counter()
    act()
    return time.process_time() - begun, time.perf_counter() - at


def beside(script: str, for_s: float | None = None, **arrays: NDArray) -> dict[str, NDArray]:
    """Run a script of `tests/benchmarks/peers` on arrays; returns the arrays that it found.

    It is given two paths, of what to load and where to save. Raises CalledProcessError where it
    fails and TimeoutExpired where it takes more than `for_s` seconds.
    """
    environment = peers()
    ensure(environment)
    with tempfile.TemporaryDirectory() as folder:
        given, found = Path(folder, "given.npz"), Path(folder, "found.npz")
        np.savez(given, **arrays)
        command = [environment.python, HERE / "peers" / script, given, found]
        subprocess.run(list(map(str, command)), check=True, stdout=sys.stderr, timeout=for_s)
        with np.load(found) as loaded:
            return dict(loaded)


def report(title: str, text: str, peer: str | None, rows: Iterable[Row]) -> str:
    """A page in Markdown: what was measured, on what, and the rows as a table; without a peer its
    columns stay away."""
    shown = len(HEADINGS) if peer else len(HEADINGS) - 3
    lines = [f"# {title}", "", text.strip(), "", conditions(peer), ""]
    lines += [
        _line(heading.format(peer=peer) for heading in HEADINGS[:shown]),
        _line(["---"] * shown),
    ]
    for row in rows:
        lines.append(_line(_cells(row)[:shown]))
        print(lines[-1], file=sys.stderr, flush=True)
    return "\n".join([*lines, ""])


def conditions(peer: str | None) -> str:
    """The machine and the versions, in a sentence."""
    ours = ", ".join(f"{name} {version(name)}" for name in sorted(BARE))
    if peer is None:
        beside = "Each was run once."
    else:
        theirs = ", ".join(f"{name} {_peers_version(name)}" for name in (peer, "numpy"))
        beside = f"Beside it {theirs}. {WARM}"
    busy = f"; load at the start {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return (
        f"Machine: {os.cpu_count()} cores, {platform.machine()}, {platform.system()}{busy}. "
        f"Python {platform.python_version()}; ours with {ours}. {beside} Seconds are the "
        "processor's, of all threads, so that other programs on the machine count less; the clock "
        "of an idle machine should say the same where one thread does it all."
    )


def _peers_version(name: str) -> str:
    ensure(peers())
    ask = f"from importlib.metadata import version; print(version({name!r}))"
    command = [str(peers().python), "-c", ask]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


def _cells(row: Row) -> tuple[str, ...]:
    reach = row.reach_s
    waited_s = row.ours_s if row.clock_s is None else row.clock_s
    return (
        row.what,
        _time(row.ours_s),
        _time(row.clock_s),
        _time(reach),
        "" if reach is None else ("yes" if waited_s <= reach else "no"),
        _time(row.peer_s),
        "" if row.peer_s is None else f"{row.peer_s / row.ours_s:.1f}",
        "" if row.difference is None else f"{row.difference:.1g}",
    )


def _time(seconds: float | None) -> str:
    if seconds is None:
        return ""
    return f"{seconds * 1000:.3g} ms" if seconds < 1 else f"{seconds:.3g} s"


def _line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"
