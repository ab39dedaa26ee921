"""The errors of files and of the commands that read them, under one root."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _


class ExchangeError(Exception):
    """The root of the errors of files."""


class FaultyFileError(ExchangeError, ValueError):
    """A file that cannot be read as it is; `faults` is every `Fault`, in file order."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(map(str, faults)))


class CellError(ExchangeError, ValueError):
    """A cell whose text is no value of its column; `messages` give the reasons."""

    def __init__(self, *messages: str) -> None:
        self.messages = messages
        super().__init__(*messages)


class UnreadableFileError(ExchangeError):
    """The file cannot be read on from this row."""

    def __init__(self, row: int, message: str) -> None:
        self.row, self.message = row, message


class CommandRefusedError(ExchangeError):
    """No answer can be given; `lines` give the reasons, each with what to do."""

    def __init__(self, *lines: str) -> None:
        self.lines = lines
        super().__init__(*lines)


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: the row as a spreadsheet numbers it (the header is row 1), the column
    ("" where the whole row is meant) and a sentence that says what to do."""

    row: int
    column: str
    message: str

    def __str__(self) -> str:
        if not self.column:
            return _("row %(row)s: %(message)s") % {"row": self.row, "message": self.message}
        place = {"row": self.row, "column": self.column, "message": self.message}
        return _("row %(row)s, %(column)s: %(message)s") % place
