"""Searching the handbook and the glossary: every word must stand on the page."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import reverse

from herdbook.book.search import fold

from .glossary import by_name
from .handbook import CONTENTS, handbook

MOST = 20
AROUND = 90  # characters of an excerpt before the first word found, and twice as many after it


@dataclass(frozen=True)
class Hit:
    """A page or term that was found, and the words around the first one of the search."""

    title: str
    address: str
    excerpt: str


def search(words: str) -> list[Hit]:
    """Those whose title or text holds every word; first those whose title does."""
    wanted = fold(words).split()
    if not wanted:
        return []
    found = [
        (all(word in fold(title) for word in wanted), Hit(title, address, _around(text, wanted)))
        for title, address, text in _all()
        if all(word in fold(title, text) for word in wanted)
    ]
    found.sort(key=lambda one: not one[0])
    return [hit for _in_title, hit in found[:MOST]]


def _all() -> Iterator[tuple[str, str, str]]:
    for term in by_name():
        yield term.name, f"{reverse('glossary')}#{term.key}", term.text
    for page in handbook().values():
        if page.path != CONTENTS:
            yield page.title, page.get_absolute_url(), page.text


def _around(text: str, wanted: list[str]) -> str:
    """A piece of the first line with a wanted word in it, cut at spaces; else the first line."""
    lines = [" ".join(line.split()) for line in text.splitlines()]
    line = next((line for line in lines if any(word in fold(line) for word in wanted)), lines[0])
    first = min((place for word in wanted if (place := line.casefold().find(word)) >= 0), default=0)
    start = line.rfind(" ", 0, first - AROUND) + 1 if first > AROUND else 0
    piece = line[start : first + 2 * AROUND]
    if first + 2 * AROUND < len(line):
        piece = piece.rpartition(" ")[0] + " …"
    return f"… {piece}" if start else piece
