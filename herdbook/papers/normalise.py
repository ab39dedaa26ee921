"""Texts as they are typed, made fit for a printed page."""

import dataclasses
import re
import unicodedata
from typing import Any

_NO_BREAK = "\u00a0"
# The two joiners change how letters meet in some scripts; other format characters are unseen.
JOINERS = "\u200c\u200d"


def tidied(text: str) -> str:
    """Return the text on one line: composed, without unseen characters, single spaces."""
    kept = []
    for character in unicodedata.normalize("NFC", text):
        category = unicodedata.category(character)
        if character != _NO_BREAK and (category == "Cc" or category.startswith("Z")):
            kept.append(" ")
        elif category != "Cf" or character in JOINERS:
            kept.append(character)
    return re.sub(" +", " ", "".join(kept)).strip()


class Tidied:
    """For frozen dataclasses: every text is tidied when the value is made."""

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):  # type: ignore[arg-type]
            object.__setattr__(self, field.name, _tidied_value(getattr(self, field.name)))


def _tidied_value(value: Any) -> Any:
    if isinstance(value, str):
        return tidied(value)
    if isinstance(value, (tuple, list)):
        return tuple(_tidied_value(one) for one in value)
    return value
