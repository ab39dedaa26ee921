"""The demo: a herd-book of its own in a folder of its own, new each day."""

import shutil
from datetime import date
from pathlib import Path

from herdbook.book.models import Animal, Herd, User
from herdbook.exchange.demo import load_demo

MADE_ON = "made-on.txt"


def clear_old_demo(home: Path, today: date) -> None:
    """Deletes a demo of another day, with everything tried out in it."""
    made_on = home / MADE_ON
    if made_on.exists() and made_on.read_text(encoding="utf-8") != today.isoformat():
        for file in home.glob("book.sqlite3*"):
            file.unlink()
        shutil.rmtree(home / "photos", ignore_errors=True)
    made_on.write_text(today.isoformat(), encoding="utf-8")


def fill_demo(owner: User, today: date) -> None:
    """Writes the demo herd, if it is not there yet."""
    if not Animal.objects.exists():
        load_demo(user=owner, herd=Herd.objects.for_user(owner).get(), today=today)
