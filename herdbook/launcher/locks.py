"""The lock files: exactly which packages, by hash, on every platform; no host is named in them."""

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from herdbook.bootstrap import PROJECT
from herdbook.launcher.exceptions import LockResolutionError

RESOLVE = ["uv", "pip", "compile", "--quiet", "--universal", "--generate-hashes", "--no-header"]
RESOLVE += ["--python-version", "3.11", "--only-binary", ":all:"]
#: The herd-book's own, then that of the peers of `measure`; options beside what they ask for.
OWN = ("requirements.lock", "requirements-test.lock")
LOCKS: dict[str, list[str]] = {
    "requirements.lock": [],
    "requirements-test.lock": ["-c", "requirements.lock"],  # one version in both
    "tests/benchmarks/requirements-peers.lock": [],
}
#: uv's name for each platform that the herd-book is made for, and what people call it.
PLATFORMS = {
    "x86_64-unknown-linux-gnu": "Linux",
    "aarch64-apple-darwin": "macOS on Apple chips",
    "x86_64-pc-windows-msvc": "Windows",
}


def relock(
    folder: Path = PROJECT, *, upgrade: bool = False, locks: Sequence[str] = tuple(LOCKS)
) -> None:
    """Rewrites lock files from their .in files; versions stay as they are unless `upgrade`."""
    newest = ["--upgrade"] if upgrade else []
    for lock in locks:
        run([*RESOLVE, *newest, of_lock(lock), *LOCKS[lock], "-o", lock], folder)


def of_lock(lock: str) -> str:
    """The .in file of a lock file."""
    return lock.removesuffix(".lock") + ".in"


def faults_of_locks(project: Path = PROJECT) -> list[str]:
    """The faults of the herd-book's own lock files, a sentence each: not as their .in files ask,
    or with hashes that the index does not know."""
    faults = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file in project.glob("requirements*"):
            shutil.copy(file, folder)
        relock(folder, locks=OWN)
        for lock in map(project.joinpath, OWN):
            if (folder / lock.name).read_text("utf-8") != lock.read_text("utf-8"):
                faults.append(f"{lock.name} does not match its .in file: run 'manage.py lock'.")
            fresh = folder / "fresh.lock"
            run([*RESOLVE, of_lock(lock.name), "-c", lock.name, "-o", fresh.name], folder)
            known = hashes_in(fresh)
            faults += [
                f"{lock.name}: the index does not have {package} with the locked hashes."
                for package, hashes in hashes_in(lock).items()
                if not hashes <= known.get(package, set())
            ]
            fresh.unlink()
    return faults


def hashes_in(lock: Path) -> dict[str, set[str]]:
    """The hashes of each package, by its name and version."""
    found: dict[str, set[str]] = {}
    package = ""
    for line in lock.read_text("utf-8").splitlines():
        if named := re.match(r"[\w.-]+==[^\s;]+", line):
            package = named[0]
        if digest := re.search(r"--hash=(\S+)", line):
            found.setdefault(package, set()).add(digest[1])
    return found


def resolve_on(platform: str, lock: Path) -> None:
    """Asks whether each locked package has a wheel for that platform; installs nothing. Raises
    DoesNotResolve."""
    with tempfile.TemporaryDirectory() as nowhere:
        command = ["uv", "pip", "install", "--dry-run", "--python-platform", platform]
        command += ["--python-version", "3.11", "--only-binary", ":all:", "--require-hashes"]
        run([*command, "--target", nowhere, "-r", str(lock)], PROJECT)


def run(command: list[str], folder: Path) -> None:
    outcome = subprocess.run(
        [sys.executable, "-m", *command], check=False, cwd=folder, capture_output=True, text=True
    )
    if outcome.returncode != 0:
        raise LockResolutionError(outcome.stderr.strip())
