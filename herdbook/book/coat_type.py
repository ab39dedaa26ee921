"""Coat and marks that a breeder sees at a glance, several at once: satin, rex, long, roan, patches.

Kept as words with spaces between, in one order. Empty is not noted; 'plain' was looked at, and has
none of them.
"""

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _


class CoatType(models.TextChoices):
    """The types of coat that a gene of its own makes."""

    PLAIN = "plain", _("plain (short and smooth, none of these)")
    LONG = "long", _("long")
    REX = "rex", _("rex")
    SATIN = "satin", _("satin")
    ROAN = "roan", _("roan or dalmatian")
    PATCHES = "patches", _("white patches")


def as_coat_type(words: Iterable[str]) -> str:
    """The words as they are kept. Raises ValidationError for one that is none of them, and where
    plain stands beside another."""
    given = {word.casefold() for word in words}
    unknown = sorted(given - set(CoatType.values))
    if unknown:
        raise ValidationError(
            gettext("%(word)s is no coat in the book's list. Write %(choices)s.")
            % {"word": unknown[0], "choices": ", ".join(CoatType.values)}
        )
    if CoatType.PLAIN in given and len(given) > 1:
        raise ValidationError(
            gettext("A plain coat is none of the others. Take out 'plain', or all but it.")
        )
    return " ".join(value for value in CoatType.values if value in given)


def check_coat_type(kept: str) -> None:
    """Raise ValidationError where a column does not hold what `as_coat_type` makes."""
    if as_coat_type(kept.split()) != kept:
        raise ValidationError(gettext("Write each word once, in the book's order."))


def coat_type_words(kept: str) -> str:
    """'satin, long' as a page says it; '' where nothing was noted."""
    return ", ".join(str(CoatType(word).label) for word in kept.split())
