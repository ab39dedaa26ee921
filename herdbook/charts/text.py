"""Words on their way into a chart: cleaned, escaped, measured and broken into lines; and links."""

import html
import re
import unicodedata
from urllib.parse import urlsplit

_OVERRIDES = re.compile("[\u202a-\u202e\u2066-\u2069]")
_NOT_IN_XML = re.compile("[\ud800-\udfff\ufffe\uffff]")
_JOINER = "\u200d"

# Widths in ems of bold letters in the widest sans-serif commonly met (DejaVu Sans Bold, measured
# there), so that words which fit by this table fit in the narrower ones too.
_WIDTHS = (
    ("ijl.,:;'|IJ -/\\ \u2019\u00b7", 0.42),
    ('()[]frt"`!*_', 0.52),
    ("#+<=>~", 0.84),
    ("mwMW%@&\u2026\u2014", 1.10),
    ("\u00c6\u00e6\u0152\u0153", 1.17),
)
_WIDTH_OF = {letter: width for letters, width in _WIDTHS for letter in letters}


def clean(text: str) -> str:
    """Text on one line, without what a name has no use for and XML or a line cannot carry.

    White space is folded to single spaces; control characters, NUL, lone surrogates and marks
    that turn the direction of what follows are dropped. Everything else stays as it was typed.
    """
    text = _NOT_IN_XML.sub("", _OVERRIDES.sub("", text))
    kept = (letter for letter in text if letter.isspace() or unicodedata.category(letter) != "Cc")
    return " ".join("".join(kept).split())


def escape(text: str) -> str:
    r"""Text as it must stand in an HTML-like label so that the engine draws it letter for letter.

    Markup is made literal, and backslashes are doubled since `\N`, `\G` and `\L` would expand
    (writing a backslash as a character reference does not stop that). A `]` becomes a character
    reference: before a tag, graphviz 2.43 takes it for the start of `]]>` and gives up.
    """
    return html.escape(clean(text)).replace("\\", "\\\\").replace("]", "&#93;")


def relative_link(link: str) -> str:
    """Give `link` back if it stays on this site; raise ValueError if it could lead away from it."""
    parts = urlsplit(link)
    if (
        not link
        or parts.scheme
        or parts.netloc
        or link.startswith("//")
        or "\\" in link
        or clean(link) != link
        or " " in link
    ):
        raise ValueError(f"A chart links only to pages of this site, not to {link!r}.")
    return link


def is_measured(text: str) -> bool:
    """Whether the widths here hold for every letter: Latin, Greek and Cyrillic without stacks."""
    return all(ord(letter) < 0x530 for letter in text) and not re.search("[\u0300-\u036f]{3}", text)


def width(text: str) -> float:
    """An upper estimate of how wide `text` is, in ems."""
    return sum(_letter_width(letter) for letter in text)


def _letter_width(letter: str) -> float:
    if letter in _WIDTH_OF:
        return _WIDTH_OF[letter]
    if unicodedata.category(letter) in ("Mn", "Me", "Cf"):
        return 0.0
    base = unicodedata.normalize("NFD", letter)[0]
    if base != letter and base in _WIDTH_OF:
        return _WIDTH_OF[base]
    if ord(letter) >= 0x1F000:
        return 1.4
    if unicodedata.east_asian_width(letter) in "WF" or ord(letter) >= 0x530:
        return 1.1
    if ord(letter) >= 0x400:
        return 1.35 if letter.isupper() else 1.1
    return 0.85 if letter.isupper() else 0.72


def _pieces(text: str) -> list[str]:
    """Split into what must not be torn apart: a letter with its accents, a joined emoji."""
    pieces: list[str] = []
    for letter in text:
        sticks = unicodedata.category(letter) in ("Mn", "Mc", "Me", "Cf") or (
            "\U0001f3fb" <= letter <= "\U0001f3ff"
        )
        if pieces and (sticks or pieces[-1].endswith(_JOINER)):
            pieces[-1] += letter
        else:
            pieces.append(letter)
    return pieces


def fit(text: str, room: float, lines: int) -> list[str]:
    """Break cleaned `text` into at most `lines` lines of `room` ems, ending in … if cut short."""
    text = clean(text)
    broken = _break(text, room)
    if len(broken) <= lines:
        return broken
    kept = broken[: lines - 1]
    for line in kept:
        text = text.removeprefix(line).lstrip(" ")
    last = ""
    for piece in _pieces(text):
        if width(last + piece) + width("…") > room:
            break
        last += piece
    return [*kept, last.rstrip() + "…"]


def _break(text: str, room: float) -> list[str]:
    """Break at spaces, and within a word only where the word alone is wider than a line."""
    done: list[str] = []
    line = ""
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if width(joined) <= room:
            line = joined
            continue
        if line:
            done.append(line)
        *whole, line = _break_word(word, room)
        done.extend(whole)
    return [*done, line] if line else done


def _break_word(word: str, room: float) -> list[str]:
    parts = [""]
    for piece in _pieces(word):
        if parts[-1] and width(parts[-1] + piece) > room:
            parts.append("")
        parts[-1] += piece
    return parts
