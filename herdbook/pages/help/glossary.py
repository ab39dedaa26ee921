"""The glossary: every term that the pages explain, read from one file."""

import functools
import tomllib
from dataclasses import dataclass
from pathlib import Path

import herdbook

HANDBOOK = Path(herdbook.__file__).parent / "handbook"
FILE = HANDBOOK / "glossary.toml"
STANDINGS = ("trade term", "our definition", "common practice")


@dataclass(frozen=True)
class Term:
    """One term: two sentences, and where they come from.

    ``key`` names it in templates and addresses. Exactly one of ``source`` and ``standing`` is
    given. ``method`` is the path of a page of the handbook, or empty.
    """

    key: str
    name: str
    text: str
    source: str = ""
    standing: str = ""
    method: str = ""

    def __post_init__(self) -> None:
        if bool(self.source) == bool(self.standing):
            raise ValueError(f"{self.key}: give either a source or a standing")
        if self.standing and self.standing not in STANDINGS:
            raise ValueError(f"{self.key}: the standing is one of {', '.join(STANDINGS)}")


@functools.cache
def glossary() -> dict[str, Term]:
    """Every term by its key, in the file's order. Raises ValueError for a faulty file."""
    rows = tomllib.loads(FILE.read_text(encoding="utf-8"))["term"]
    terms = {row["key"]: Term(**row) for row in rows}
    if len(terms) != len(rows):
        raise ValueError("two terms of the glossary have the same key")
    return terms


def by_name() -> list[Term]:
    """Every term in alphabetical order, as the page lists them."""
    return sorted(glossary().values(), key=lambda term: term.name.casefold())
