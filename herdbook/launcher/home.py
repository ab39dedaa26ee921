"""The data folder: where a book, its secret, its photos and its backups are kept."""

import functools
import os
import secrets
from pathlib import Path

import platformdirs

from herdbook.file_lock import only_one

from .exceptions import StartError


def home(*, demo: bool) -> Path:
    """HERDBOOK_HOME, or else the platform's own place. The demo has a place of its own there."""
    named = os.environ.get("HERDBOOK_HOME")
    if named:
        return Path(named, "demo").absolute() if demo else Path(named).absolute()
    return platformdirs.user_data_path("herdbook-demo" if demo else "herdbook", appauthor=False)


def make_home(folder: Path) -> None:
    """Makes the folder, with the secret in it. Only its owner may read its content, even if the
    folder was there before and open to others."""
    os.umask(0o077)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        for older in (*folder.glob("book.sqlite3*"), *folder.glob("errors.log*")):
            older.chmod(0o600)
        for within in ("backups", "photos"):
            (folder / within).mkdir(exist_ok=True)
            (folder / within).chmod(0o700)
        (folder / "written.probe").touch()
        (folder / "written.probe").unlink()
        read_secret(folder)
    except OSError as error:
        raise StartError(
            f"The herd-book cannot be kept in {folder} ({error.strerror}): make that a folder you "
            "may write in, or set HERDBOOK_HOME to another."
        ) from error


@functools.cache
def read_secret(folder: Path) -> str:
    """The book's secret, made on first use and readable by its owner only."""
    path = folder / "secret.key"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        with only_one(folder / "secret.lock", waiting_for="the secret of the book"):
            if not path.exists():
                _write_privately(path, secrets.token_urlsafe(50))
    return path.read_text(encoding="utf-8")


def _write_privately(path: Path, text: str) -> None:
    half = path.with_suffix(".new")
    half.unlink(missing_ok=True)
    with open(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.write(text)
    half.replace(path)
