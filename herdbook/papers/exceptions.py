"""The errors of the papers."""

import unicodedata

from django.utils.translation import gettext as _


class PrintingError(ValueError):
    """A text holds a character that the printed page has no shape for.

    field: where it stands, in words for the user; character: the one that is in the way.
    """

    def __init__(self, field: str, character: str) -> None:
        self.field = field
        self.character = character
        name = unicodedata.name(character, "")
        super().__init__(
            _(
                "The character “%(character)s” (U+%(code)s%(name)s) under “%(field)s” cannot be "
                "printed. Write it in letters or delete it, then print again."
            )
            % {
                "character": character if character.isprintable() else "?",
                "code": f"{ord(character):04X}",
                "name": f", {name}" if name else "",
                "field": field,
            }
        )
