"""Builds the environment beside `manage.py` and runs the command again inside it.

Standard library alone: this runs before anything is installed. Its messages go to standard error,
so that a command's own output stays clean.

An environment is built in a new folder, stamped with its lock file's digest, and renamed into
place when it is whole. A set-up that was broken off leaves the old environment as it was.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple, NoReturn

from herdbook.file_lock import only_one

PROJECT = Path(__file__).resolve().parent.parent
STAMP = "built-from.json"
BUILDING = ".building-"
THIS_PYTHON = f"{sys.version_info.major}.{sys.version_info.minor}"

NO_PIP = (
    "Python's venv is missing. On Debian or Ubuntu run 'sudo apt install python3-venv', elsewhere "
    "install pip for {python}; then give the same command again."
)
NOT_INSTALLED = (
    "Setting up did not finish; the reason is above. Check that this machine can reach the "
    "internet, then run the same command again. (Everything needed is ready-made for Linux, for "
    "Windows on Intel or AMD and for Macs with Apple chips.)"
)
NOT_WRITABLE = (
    "The herd-book cannot set itself up in {folder} ({reason}): give yourself permission to write "
    "there, or move the whole folder to a place of your own."
)
OLD = (
    "Note: {folder} was not built from the current {lock}; 'python3 manage.py' from outside it "
    "rebuilds it."
)
IN_USE = (
    "A new version of the herd-book's packages is ready, but {folder} is in use ({reason}): stop "
    "the herd-book where it still runs, then run the same command again."
)


class Environment(NamedTuple):
    """A folder of installed packages and the lock file that lists them."""

    folder: Path
    lock: Path

    @property
    def python(self) -> Path:
        return python_in(self.folder)


def environment_for(command: str, project: Path = PROJECT) -> Environment:
    """The environment of `command`. Tests and locks need more than the herd-book itself."""
    if command in {"test", "lock"}:
        return Environment(project / ".venv-test", project / "requirements-test.lock")
    return Environment(project / ".venv", project / "requirements.lock")


def peers(project: Path = PROJECT) -> Environment:
    """The environment of the libraries that `measure` compares with: a separate one, because they
    need other versions of our dependencies."""
    lock = project / "tests" / "benchmarks" / "requirements-peers.lock"
    return Environment(project / ".venv-peers", lock)


def enter(argv: list[str]) -> None:
    """Returns at once inside an environment of ours; elsewhere builds it and runs `argv` there.

    The tests' environment holds all that the herd-book needs, so any command may run in it.
    """
    environment = environment_for(argv[1] if len(argv) > 1 else "help")
    for suitable in (environment, environment_for("test")):
        if is_inside(suitable):
            if read_stamp(suitable) != stamp_of(suitable.lock, THIS_PYTHON):
                say(OLD.format(folder=suitable.folder.name, lock=suitable.lock.name))
            return
    try:
        ensure(environment)
    except KeyboardInterrupt:
        give_up("Setting up was interrupted; run the same command to start again.")
    run_again(environment.python, argv)


def is_inside(environment: Environment) -> bool:
    """Decided by `sys.prefix`: a Django of the system's would import just as well."""
    return Path(sys.prefix).resolve() == environment.folder.resolve()


def ensure(environment: Environment) -> None:
    """Builds the environment unless it is complete and of this lock. If that is not possible, ends
    the program with a message that gives the remedy."""
    if is_current(environment):
        return
    folder = environment.folder.parent
    try:
        with only_one(folder / ".building-lock", waiting_for="another set-up to finish"):
            remove_half_built(folder)
            if not is_current(environment):  # else another start built it while this one waited
                build(environment)
    except OSError as error:
        give_up(NOT_WRITABLE.format(folder=folder, reason=error.strerror or error))


def is_current(environment: Environment) -> bool:
    """Whether the environment was built from the current lock, by a Python still there."""
    version = version_of(environment.python)
    return read_stamp(environment) == stamp_of(environment.lock, version)


def read_stamp(environment: Environment) -> dict[str, str] | None:
    try:
        stamp: dict[str, str] = json.loads((environment.folder / STAMP).read_text("utf-8"))
    except (OSError, ValueError):
        return None
    return stamp


def stamp_of(lock: Path, python_version: str) -> dict[str, str]:
    """What an environment was built from: other packages or another Python, and it is no more."""
    digest = hashlib.sha256(lock.read_bytes()).hexdigest()
    return {"lock": lock.name, "sha256": digest, "python": python_version}


def version_of(python: Path) -> str:
    """'3.11' and so on; empty if that Python is gone, as after an upgrade of the system."""
    ask = [str(python), "-I", "-S", "-c", "import sys; print('%d.%d' % sys.version_info[:2])"]
    try:
        return subprocess.run(ask, capture_output=True, text=True, check=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return ""


def build(environment: Environment) -> None:
    """Builds aside, then swaps."""
    say(f"Setting up {environment.folder.name}, once, from {environment.lock.name} …")
    with tempfile.TemporaryDirectory(
        prefix=BUILDING, dir=environment.folder.parent, ignore_cleanup_errors=True
    ) as aside:
        new = Path(aside, "new")
        install(make_empty(new), environment.lock)
        settle(new, environment.folder)
        stamp = stamp_of(environment.lock, version_of(python_in(new)))
        (new / STAMP).write_text(json.dumps(stamp), encoding="utf-8")
        swap(new, environment.folder)
    say("Ready.")


def make_empty(folder: Path) -> list[str]:
    """Makes an environment in `folder`; returns the pip command that installs into it."""
    python = str(python_in(folder))
    pip = [] if can_bring_pip() else pip_elsewhere()
    if pip:
        run([sys.executable, "-m", "venv", "--without-pip", str(folder)])
        return [*pip, "--python", python]
    if not can_bring_pip():
        install_venv_by_apt()
    run([sys.executable, "-m", "venv", str(folder)])
    return [python, "-m", "pip"]


def can_bring_pip() -> bool:
    """Debian keeps ensurepip in a package of its own, python3-venv."""
    importlib.invalidate_caches()
    found = importlib.util.find_spec("ensurepip")
    return found is not None and found.origin is not None  # not only a folder left behind


def pip_elsewhere() -> list[str]:
    """A pip of the system's that can be aimed at another environment (22.3 or newer), or []."""
    on_path = [[found] for name in ("pip3", "pip") if (found := shutil.which(name))]
    for pip in [[sys.executable, "-m", "pip"], *on_path]:
        aimed = [*pip, "--python", sys.executable, "--version"]
        with contextlib.suppress(OSError):
            if subprocess.run(aimed, check=False, capture_output=True).returncode == 0:
                return pip
    return []


def install_venv_by_apt() -> None:
    """As root on Debian and its relatives; otherwise, or if that fails, ends with a message."""
    if is_root() and sys.base_prefix == "/usr" and shutil.which("apt-get"):
        say("Installing python3-venv by apt …")
        apt_install("python3-venv")
    if not can_bring_pip():
        give_up(NO_PIP.format(python=sys.executable))


def is_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def apt_install(*packages: str) -> bool:
    """Installs Debian packages as root, without a question asked; tells whether it worked."""
    os.environ["DEBIAN_FRONTEND"] = "noninteractive"
    get = ["apt-get", "-qq", "install", "-y", "--no-install-recommends", *packages]
    return works(["apt-get", "-qq", "update"]) and works(get)


def install(pip: list[str], lock: Path) -> None:
    """Wheels only, each of a hash in the lock; where from is the machine's own setting."""
    options = ["--require-hashes", "--only-binary", ":all:", "--no-input", "--no-compile"]
    quiet = ["--quiet", "--disable-pip-version-check"]
    run([*pip, "install", *options, *quiet, "-r", str(lock)])


def settle(new: Path, final: Path) -> None:
    """Scripts (and `activate`) name the folder they were made in: let them name the last one."""
    for file in [new / "pyvenv.cfg", *python_in(new).parent.iterdir()]:
        if file.is_symlink() or not file.is_file():
            continue
        content = file.read_bytes()
        if bytes(new) in content and b"\0" not in content:  # programs are left as they are
            file.write_bytes(content.replace(bytes(new), bytes(final)))


def swap(new: Path, final: Path) -> None:
    """Puts `new` in the place of `final`, which is left beside `new` to be removed."""
    try:
        if final.exists():
            final.rename(new.with_name("old"))
        new.rename(final)
    except OSError as error:  # Windows does not move a folder that a program runs from
        give_up(IN_USE.format(folder=final, reason=error.strerror))


def remove_half_built(folder: Path) -> None:
    for left in folder.glob(f"{BUILDING}*/"):
        shutil.rmtree(left, ignore_errors=True)


def python_in(folder: Path) -> Path:
    if sys.platform == "win32":
        return folder / "Scripts" / "python.exe"
    return folder / "bin" / "python"


def run(command: list[str]) -> None:
    if not works(command):
        give_up(NOT_INSTALLED)


def works(command: list[str]) -> bool:
    """Runs it, with nothing on standard output; tells whether it ended well."""
    outcome = subprocess.run(command, check=False, stdin=subprocess.DEVNULL, stdout=sys.stderr)
    return outcome.returncode == 0


def run_again(python: Path, argv: list[str]) -> NoReturn:
    command = [str(python), *argv]
    if sys.platform != "win32":
        sys.stderr.flush()
        os.execv(python, command)
    # Windows' exec would return to the prompt at once. Ctrl-C reaches the child by itself.
    child = subprocess.Popen(command)
    while True:
        with contextlib.suppress(KeyboardInterrupt):
            sys.exit(child.wait())


def say(sentence: str) -> None:
    print(sentence, file=sys.stderr, flush=True)


def give_up(sentence: str) -> NoReturn:
    sys.exit(sentence)
