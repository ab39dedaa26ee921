"""The lock files: exactly which packages, by hash, on every platform; no host is named in them."""

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from herdbook.bootstrap import PROJECT

RESOLVE = ["uv", "pip", "compile", "--quiet", "--universal", "--generate-hashes", "--no-header"]
RESOLVE += ["--python-version", "3.11", "--only-binary", ":all:"]
#: uv's name for each platform that the herd-book is made for, and what people call it.
PLATFORMS = {
    "x86_64-unknown-linux-gnu": "Linux",
    "aarch64-apple-darwin": "macOS on Apple chips",
    "x86_64-pc-windows-msvc": "Windows",
}


class DoesNotResolve(Exception):
    """The message is what the resolver said."""


def relock(folder: Path = PROJECT, *, upgrade: bool = False) -> None:
    """Writes both lock files anew; versions stay as they are unless `upgrade`."""
    newest = ["--upgrade"] if upgrade else []
    run([*RESOLVE, *newest, "requirements.in", "-o", "requirements.lock"], folder)
    both = ["-c", "requirements.lock", "-o", "requirements-test.lock"]  # one version in both
    run([*RESOLVE, *newest, "requirements-test.in", *both], folder)


def faults_of_locks(project: Path = PROJECT) -> list[str]:
    """What is wrong with the lock files: other than their .in files ask for, or with hashes that
    the index does not know. A sentence each."""
    faults = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file in project.glob("requirements*"):
            shutil.copy(file, folder)
        relock(folder)
        for lock in sorted(project.glob("requirements*.lock")):
            if (folder / lock.name).read_text("utf-8") != lock.read_text("utf-8"):
                faults.append(f"{lock.name} is not of its .in file: run 'manage.py lock'.")
            stem = lock.stem
            fresh = folder / "fresh.lock"
            run([*RESOLVE, f"{stem}.in", "-c", lock.name, "-o", fresh.name], folder)
            known = hashes_in(fresh)
            faults += [
                f"{lock.name}: the index knows no such {package} as is locked."
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
        raise DoesNotResolve(outcome.stderr.strip())
