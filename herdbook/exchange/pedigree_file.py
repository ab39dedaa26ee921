"""The pedigree file: one CSV row an animal, read whole or refused with every fault it has.

Pure text to values: nothing here touches the book. Only `id` is needed. `sire` and `dam` name
one animal of the file or a choice (`A|B`, `A:0.7|B:0.3`); `litter` joins pups that share their
parents; `points` and `seen` are one check, `like0` to `like2` the likelihood of all observations,
used instead. `name`, `coat`, `point_colour`, `eye_colour`, `coat_type` and `breeder` describe the
animal for the book and take no part in `reckon` and `kinship`.
"""

import csv
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from herdbook.exchange import cell_parsers
from herdbook.exchange.exceptions import CellError, FaultyFileError, UnreadableFileError
from herdbook.exchange.fault_list import FaultList, shown
from herdbook.exchange.pedigree_checks import check_relations
from herdbook.exchange.rows import AnimalRow

LIKELIHOOD = ("like0", "like1", "like2")
DESCRIPTIVE = ("name", "coat", "point_colour", "eye_colour", "coat_type", "breeder")
_READERS: dict[str, Callable[[str], object]] = {
    "id": cell_parsers.read_id,
    "sire": cell_parsers.read_parents,
    "dam": cell_parsers.read_parents,
    "litter": str,
    "sex": cell_parsers.read_sex,
    "born": cell_parsers.read_date,
    "points": cell_parsers.read_stage,
    "seen": cell_parsers.read_date,
    **dict.fromkeys(LIKELIHOOD, cell_parsers.read_likelihood),
    **dict.fromkeys(DESCRIPTIVE, str),
}
COLUMNS = tuple(_READERS)


@dataclass(frozen=True, slots=True)
class PedigreeFile:
    """A file without a fault: its columns and its animals, both in the file's order."""

    columns: tuple[str, ...]
    rows: tuple[AnimalRow, ...]


def read_pedigree_file(data: bytes) -> PedigreeFile:
    """Read a pedigree file from its bytes (CSV with commas, UTF-8 with or without its mark).

    Raises `FaultyFileError` with every fault of the file at once.
    """
    faults = FaultList()
    header: list[str] = []
    rows: list[AnimalRow] = []
    whole = False
    try:
        records = _records(_text(data, faults))
        header = _header(next(records, (1, []))[1], faults)
        for number, record in records:
            rows.append(_row(number, header, record, faults))
        whole = True
    except UnreadableFileError as stop:
        faults.add(stop.row, "", stop.message)
    if whole:  # half a file would miss parents that stand further down
        rows = check_relations(rows, faults)
    if faults.faults:
        raise FaultyFileError(faults.in_order(header))
    return PedigreeFile(tuple(header), tuple(rows))


def _text(data: bytes, faults: FaultList) -> str:
    """The file's text. Bytes that are not UTF-8 are one fault, kept as lone surrogates so that
    the rest of the file can still be examined."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise UnreadableFileError(1, _("the file is UTF-16, not UTF-8. Save it as 'CSV UTF-8'."))
    text = data.decode("utf-8-sig", "surrogateescape")
    if not text.strip():
        columns = ", ".join(COLUMNS[:3])
        raise UnreadableFileError(
            1,
            _("the file is empty. Its first row names the columns: %(columns)s and so on.")
            % {"columns": columns},
        )
    _check_characters(text, faults)
    return text


def _check_characters(text: str, faults: FaultList) -> None:
    try:
        text.encode()
    except UnicodeEncodeError as error:
        faults.add(
            _row_at(text, error.start),
            "",
            _("here the file is not UTF-8 text. Save it again as 'CSV UTF-8'."),
        )
    if "\0" in text:
        faults.add(
            _row_at(text, text.index("\0")),
            "",
            _("here is a NUL character, which is not text. Save the file again as 'CSV UTF-8'."),
        )


def _row_at(text: str, place: int) -> int:
    """The row of the character at `place`."""
    before = text[:place] + "x"  # so that a character that opens a row counts as its own
    try:
        return sum(1 for _record in csv.reader(io.StringIO(before, newline="")))
    except csv.Error:
        return len(before.splitlines())


def _records(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each row's number and cells without the blanks around them. Row 1 is always given; later
    rows that are entirely empty are skipped but counted, as a spreadsheet does."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    number = 0
    try:
        for number, record in enumerate(reader, start=1):
            if number == 1 or record:
                yield number, [cell.strip() for cell in record]
    except csv.Error as error:
        raise UnreadableFileError(number + 1, _broken_record(str(error))) from None


def _broken_record(reason: str) -> str:
    if "field larger" in reason:
        return _(
            "a cell is longer than %(limit)s characters. Shorten it, or look for a quotation "
            "mark that opens here and never closes. Nothing below this row was read."
        ) % {"limit": csv.field_size_limit()}
    return _(
        'a quotation mark opens or closes in the wrong place. Write " inside a cell as "", and '
        "close each one. Nothing below this row was read."
    )


def _header(record: list[str], faults: FaultList) -> list[str]:
    header = [cell.casefold() for cell in record]
    if "id" not in header:
        raise UnreadableFileError(1, _without_id(header))
    for place, column in enumerate(header, start=1):
        if column not in COLUMNS:
            faults.add(1, "", _unknown_column(record[place - 1], place))
        elif column in header[: place - 1]:
            faults.add(1, column, _("this column is there twice. Keep one of them."))
    return header


def _without_id(header: list[str]) -> str:
    joined = "".join(header)
    for sign, called in ((";", _("semicolons")), ("\t", _("tabs"))):
        if sign in joined:
            return _("the cells are separated by %(signs)s. Save the file as CSV with commas.") % {
                "signs": called
            }
    return _("there is no column 'id'. The first row names the columns: %(columns)s.") % {
        "columns": ", ".join(COLUMNS)
    }


def _unknown_column(name: str, place: int) -> str:
    if not name:
        return _("column %(place)s has no name. Name it, or delete it.") % {"place": place}
    return _(
        "%(name)s is not a column of a pedigree file. Delete it, or use one of %(columns)s."
    ) % {
        "name": shown(name),
        "columns": ", ".join(COLUMNS),
    }


def _row(number: int, header: list[str], record: list[str], faults: FaultList) -> AnimalRow:
    if len(record) != len(header):
        faults.add(
            number,
            "",
            _(
                "there are %(cells)s cells where the header has %(columns)s. Add or delete cells; "
                'put a cell that contains a comma in "quotation marks".'
            )
            % {"cells": len(record), "columns": len(header)},
        )
        place = header.index("id")
        return AnimalRow(number, record[place] if place < len(record) else "")
    texts = dict(zip(reversed(header), reversed(record), strict=True))  # the first of two columns
    values = _values(number, texts, faults)
    sires, sire_weights = values.get("sire", cell_parsers.UNKNOWN_PARENT)
    dams, dam_weights = values.get("dam", cell_parsers.UNKNOWN_PARENT)
    _check_look(number, texts, values, faults)
    return AnimalRow(
        number,
        texts["id"],
        sires,
        sire_weights,
        dams,
        dam_weights,
        values.get("litter", ""),
        values.get("sex", ""),
        values.get("born"),
        values.get("points", ""),
        values.get("seen"),
        _likelihood(number, texts, values, faults),
        *(values.get(column, "") for column in DESCRIPTIVE),
    )


def _values(number: int, texts: dict[str, str], faults: FaultList) -> dict:
    values = {}
    for column, text in texts.items():
        if column not in _READERS or not (text or column == "id"):
            continue
        try:
            values[column] = _READERS[column](text)
        except CellError as fault:
            for message in fault.messages:
                faults.add(number, column, message)
    return values


def _check_look(number: int, texts: dict, values: dict, faults: FaultList) -> None:
    points, seen, born = (texts.get(column, "") for column in ("points", "seen", "born"))
    if points and not seen:
        faults.add(number, "seen", _("the check has no date. Write when the points were seen."))
    if seen and not points:
        faults.add(number, "points", _("the check has no stage. Write one, or leave 'seen' blank."))
    if (points or seen) and not born:
        faults.add(number, "born", _("a check needs the date of birth, for the age. Write it."))
    if "seen" in values and "born" in values and values["seen"] < values["born"]:
        faults.add(
            number,
            "seen",
            _("the check (%(seen)s) is before the birth (%(born)s). Correct one of them.") % values,
        )


def _likelihood(
    number: int, texts: dict, values: dict, faults: FaultList
) -> tuple[float, float, float] | None:
    given = [column for column in LIKELIHOOD if texts.get(column)]
    if not given:
        return None
    for column in LIKELIHOOD:
        if column not in given:
            faults.add(number, column, _("fill in all of like0, like1 and like2, or none."))
    if not all(column in values for column in LIKELIHOOD):
        return None
    zero, one, two = (values[column] for column in LIKELIHOOD)
    if not (zero or one or two):
        faults.add(number, "like0", _("like0, like1 and like2 are all 0. One must be above 0."))
        return None
    largest = max(zero, one, two)
    for column in LIKELIHOOD:
        if values[column] and not values[column] / largest:
            words = _(
                "the likelihoods are too far apart: the smallest rounds to 0. Write 0 for it."
            )
            faults.add(number, column, words)
    return zero, one, two
