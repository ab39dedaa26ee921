"""Compiles the engine for herds of close relatives beside the server, once it is open."""

import contextlib
import subprocess
import sys
import threading
from collections.abc import Iterator
from typing import Any

from herdbook.bootstrap import PROJECT

BEGIN_AFTER = 3.0  # seconds: the first page goes first
# Of a Ctrl-C in the terminal, which is for the server: that ends it.
OUT_OF_REACH: dict[str, Any] = {"start_new_session": True}
if sys.platform == "win32":
    OUT_OF_REACH = {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}


@contextlib.contextmanager
def warming(begin_after: float = BEGIN_AFTER) -> Iterator[None]:
    """Within it, and not for longer, another process compiles what is not compiled yet."""
    ended, running = threading.Event(), []

    def begin() -> None:
        if not ended.wait(begin_after):
            command = [sys.executable, "-m", "genetics.core.precompile"]
            running.append(subprocess.Popen(command, cwd=PROJECT, **OUT_OF_REACH))

    beginning = threading.Thread(target=begin, daemon=True)
    beginning.start()
    try:
        yield
    finally:
        ended.set()
        beginning.join()
        for process in running:
            process.terminate()
            process.wait()
