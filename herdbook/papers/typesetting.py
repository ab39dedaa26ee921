"""Sets a page as PDF/UA-1 with typst, from our own template and plain values.

Values reach the template as JSON and are never read as markup. The fonts are static files from
packages; the system's are ignored, so a page looks the same on every machine.
"""

import functools
import json
import tempfile
import unicodedata
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import fontpkg_fira_sans
import fontpkg_fira_sans_condensed
import typst
from django.utils.translation import gettext as _
from fontTools.ttLib import TTFont

from herdbook.papers.exceptions import PrintingError

from .normalise import JOINERS, tidied

FONT_FOLDERS = (
    fontpkg_fira_sans.ROOT / "files",
    fontpkg_fira_sans_condensed.ROOT / "files",
)
# The cuts that our templates use: a character must stand in each of them.
FONT_FILES = tuple(
    folder / f"{family}-{cut}.ttf"
    for folder, family in zip(FONT_FOLDERS, ("FiraSans", "FiraSansCondensed"), strict=True)
    for cut in ("Regular", "Italic", "SemiBold")
)


@functools.cache
def printable_characters() -> frozenset[int]:
    """Give the code points that every cut we print with has a shape for."""
    covered = []
    for path in FONT_FILES:
        with TTFont(path, lazy=True) as font:
            covered.append(set(font.getBestCmap()))
    return frozenset(set.intersection(*covered))


@functools.cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(folder) for folder in FONT_FOLDERS],
    )


def printable(text: str, field: str) -> str:
    """Return the text in characters the fonts hold; raises PrintingError for one they do not."""
    kept = []
    for character in tidied(text):
        plain = _plainer(character)
        if any(ord(one) not in printable_characters() for one in plain):
            raise PrintingError(field, character)
        kept.append(plain)
    return unicodedata.normalize("NFC", "".join(kept))


def _plainer(character: str) -> str:
    """Write a full-width letter, a special dash or an unseen joiner in plainer characters."""
    if character in JOINERS:
        return ""
    if ord(character) in printable_characters():
        return character
    if unicodedata.category(character) == "Pd":
        return "-"
    return unicodedata.normalize("NFKC", character)


def check(written: Iterable[tuple[str, str]]) -> None:
    """Raise PrintingError for the first text that cannot be printed; takes (field, text) pairs."""
    for field, text in written:
        printable(text, field)


def _all_printable(value: Any) -> Any:
    if isinstance(value, str):
        return printable(value, _("the wording of the sheet"))
    if isinstance(value, list):
        return [_all_printable(one) for one in value]
    if isinstance(value, dict):
        return {key: _all_printable(one) for key, one in value.items()}
    return value


def set_page(template: Path, data: dict[str, Any]) -> bytes:
    """Set `data` in a typst template, as PDF bytes.

    data: JSON values; its 'language' is a tag such as 'en-gb'. Raises PrintingError, and
    typst.TypstError if the template itself is at fault.
    """
    inputs = {"data": json.dumps(_all_printable(data))}
    with tempfile.TemporaryDirectory() as root:
        compiler = typst.Compiler(
            template.read_bytes(),
            root=root,
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs=inputs,
        )
        pdf, warnings = compiler.compile_with_warnings(format="pdf", pdf_standards=["ua-1"])
    if warnings:
        # A font that is not found is only a warning to typst, and an empty page to the reader.
        raise warnings[0]
    assert isinstance(pdf, bytes)
    return pdf
