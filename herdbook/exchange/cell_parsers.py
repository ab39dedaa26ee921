"""Parsers of the cells of a pedigree file: from text to a value, or a `CellError`."""

import datetime
import math
import re
import unicodedata

from django.utils.translation import gettext as _

from genetics.core import STAGES
from herdbook.exchange.exceptions import CellError
from herdbook.exchange.fault_list import shown

SEXES = ("boar", "sow")

_NUMBER = re.compile(r"[+-]?(?P<digits>\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.ASCII | re.IGNORECASE)
_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def read_id(text: str) -> str:
    """The id of an animal, which a parent cell must be able to name."""
    if not text:
        raise CellError(_("the id is empty. Give this animal an id, or delete the row."))
    if "|" in text or ":" in text:
        raise CellError(
            _(
                "the id %(id)s contains | or :, which separate parents in a list. Use another "
                "character."
            )
            % {"id": shown(text)}
        )
    if any(unicodedata.category(character) == "Cc" for character in text):
        raise CellError(
            _("the id %(id)s contains a line break or a control character. Delete it.")
            % {"id": shown(text)}
        )
    return text


def read_number(text: str) -> float:
    """A finite number written with a point, such as 0.7 or 1e-5."""
    written = _NUMBER.fullmatch(text)
    if written is None:
        raise CellError(
            _("%(text)s is not a number. Write it with a decimal point, like 0.7.")
            % {"text": shown(text)}
        )
    value = float(text)
    if math.isinf(value):
        raise CellError(_("%(text)s is too large. Write a smaller one.") % {"text": shown(text)})
    if value == 0 and written["digits"].strip("0."):
        raise CellError(
            _("%(text)s is too small to differ from 0. Use a larger scale, or write 0.")
            % {"text": shown(text)}
        )
    return value


def read_likelihood(text: str) -> float:
    """The likelihood of all observations at one dose, on any scale: finite, not negative."""
    value = read_number(text)
    if value < 0:
        raise CellError(
            _("%(text)s is less than 0, but a likelihood is 0 or more.") % {"text": shown(text)}
        )
    return value


def read_date(text: str) -> datetime.date:
    """A day in ISO 8601's extended form, 2026-03-01."""
    try:
        if _ISO_DATE.fullmatch(text):
            return datetime.date.fromisoformat(text)
    except ValueError:
        pass  # no such day in the calendar: the message below says so
    raise CellError(
        _("%(text)s is not a date like 2026-03-01 (year, month, day).") % {"text": shown(text)}
    )


def read_sex(text: str) -> str:
    if text.casefold() not in SEXES:
        raise CellError(
            _("%(text)s is not a sex. Write boar or sow, or leave it blank.")
            % {"text": shown(text)}
        )
    return text.casefold()


def read_stage(text: str) -> str:
    if text.casefold() not in STAGES:
        raise CellError(
            _("%(text)s is not a stage of the points. Write none, coming, full or overmarked.")
            % {"text": shown(text)}
        )
    return text.casefold()


Parents = tuple[tuple[str, ...], tuple[float, ...]]
UNKNOWN_PARENT: Parents = ((), ())


def read_parents(text: str) -> Parents:
    """The ids of a parent cell and their shares, which sum to one.

    `A` is a known parent; `A|B` and `A:0.7|B:0.3` say that it is one of these. Weights are
    positive and made to sum to one; where none stand all are equal.
    """
    parted = [choice.partition(":") for choice in text.split("|")]
    ids = [parent.strip() for parent, _colon, _weight in parted]
    weights = [weight.strip() if colon else None for _parent, colon, weight in parted]
    messages = [*_faults_of_ids(ids), *_faults_of_weights(weights)]
    if messages:
        raise CellError(*messages)
    return tuple(ids), _shares([1.0 if weight is None else float(weight) for weight in weights])


def _faults_of_ids(ids: list[str]) -> list[str]:
    messages = []
    if not all(ids):
        messages.append(_("a name is missing in the list of parents. Delete the extra | or :."))
    seen: set[str] = set()
    twice: dict[str, None] = {}
    for parent in ids:
        if parent in seen:
            twice[parent] = None
        seen.add(parent)
    repeated = _("%(id)s is in the list twice. Write it once.")
    return messages + [repeated % {"id": shown(parent)} for parent in filter(None, twice)]


def _faults_of_weights(weights: list[str | None]) -> list[str]:
    written = [weight for weight in weights if weight is not None]
    messages = []
    if 0 < len(written) < len(weights):
        messages.append(
            _(
                "some parents in the list have a weight and some have none. Give all a weight, or "
                "none."
            )
        )
    for weight in written:
        try:
            value = read_number(weight)
        except CellError as fault:
            messages.extend(fault.messages)
            continue
        if value <= 0:
            messages.append(
                _("the weight %(weight)s is not above 0. Write a larger one, or delete it.")
                % {"weight": shown(weight)}
            )
    return messages


def _shares(weights: list[float]) -> tuple[float, ...]:
    """Weights divided by their sum; by the largest first, so that the sum stays finite."""
    largest = max(weights)
    scaled = [weight / largest for weight in weights]
    total = math.fsum(scaled)
    shares = tuple(weight / total for weight in scaled)
    if min(shares) == 0:
        raise CellError(
            _("the weights are too far apart: the smallest rounds to 0. Delete that parent.")
        )
    return shares
