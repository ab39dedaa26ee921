"""A PostgreSQL of the tests' own: made in a temporary folder, gone when they end."""

import contextlib
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

from herdbook.bootstrap import is_root

SETTINGS = "-c fsync=off -c full_page_writes=off -c synchronous_commit=off -c listen_addresses="


@contextlib.contextmanager
def private_cluster(programs: Path) -> Iterator[str]:
    """Starts a server that listens on a socket in its folder; yields a HERDBOOK_DATABASE.

    It will not run as root: then it runs as the user postgres, whom Debian's package brings.
    `programs` is the folder that holds initdb and pg_ctl.
    """
    folder = Path(tempfile.mkdtemp(prefix="herdbook-pg-"))
    if is_root():
        shutil.chown(folder, "postgres")
    data = folder / "data"
    control = [str(programs / "pg_ctl"), "-D", str(data), "--silent", "--wait"]
    options = ["--log", str(folder / "log"), "--options", f"{SETTINGS} -k {folder}"]
    try:
        locale = ["--encoding=UTF8", "--locale=C", "--username=herdbook", "--auth=trust"]
        run([str(programs / "initdb"), *locale, "--no-sync", "-D", str(data)])
        run([*control, *options, "start"])
        try:
            yield f"postgresql://herdbook@{str(folder).replace('/', '%2F')}/postgres"
        finally:
            run([*control, "--mode", "fast", "stop"])
    finally:
        shutil.rmtree(folder)


def run(command: list[str]) -> None:
    """As the user postgres if we are root; what it says is shown only if it fails."""
    user = "postgres" if is_root() else None
    groups: list[str] | None = [] if is_root() else None
    with tempfile.TemporaryFile() as said:  # not a pipe: the server would keep it open
        outcome = subprocess.run(
            command,
            check=False,
            cwd="/",
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            user=user,
            group=user,
            extra_groups=groups,
        )
        if outcome.returncode != 0:
            said.seek(0)
            raise RuntimeError(f"{command[0]} failed: {said.read().decode(errors='replace')}")
