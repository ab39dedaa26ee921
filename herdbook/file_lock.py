"""A lock between processes, which the system itself lets go when its holder ends, however.

Standard library alone: the set-up uses it before anything is installed.
"""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import IO


class LockTakenError(Exception):
    """Another process holds the lock; the message is what it wrote there."""


@contextlib.contextmanager
def only_one(path: Path, *, waiting_for: str = "") -> Iterator[IO[str]]:
    """Holds the lock; yields its file, to write in it what others should know of the holder.

    With `waiting_for` says so on standard error and waits, else raises LockTakenError.
    """
    with open(path, "a+", encoding="utf-8") as file:
        if not try_lock(file):
            if not waiting_for:
                file.seek(0)
                raise LockTakenError(file.read())
            print(f"Waiting for {waiting_for} …", file=sys.stderr, flush=True)
            wait_for_lock(file)
        file.truncate(0)
        try:
            yield file
        finally:
            file.truncate(0)


if sys.platform == "win32":
    import msvcrt
    import time

    # Windows' locks keep others from reading too: lock a byte far behind what is written.
    FAR = 1 << 30

    def try_lock(file: IO[str]) -> bool:
        try:
            file.seek(FAR)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        finally:
            file.seek(0)
        return True

    def wait_for_lock(file: IO[str]) -> None:
        while not try_lock(file):
            time.sleep(0.2)
else:
    import fcntl

    def try_lock(file: IO[str]) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def wait_for_lock(file: IO[str]) -> None:
        fcntl.flock(file, fcntl.LOCK_EX)
