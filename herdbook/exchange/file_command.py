"""The base of the commands on a pedigree file: read it, refuse it line by line, write CSV."""

import csv
import os
import sys
from abc import ABC, abstractmethod
from collections.abc import Iterable
from contextlib import suppress
from io import UnsupportedOperation
from pathlib import Path
from typing import NoReturn

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from herdbook.exchange.exceptions import CommandRefusedError, FaultyFileError
from herdbook.exchange.pedigree_file import PedigreeFile, read_pedigree_file

FAULTY = 2
UNWRITTEN = 1


class PedigreeFileCommand(BaseCommand, ABC):
    """Figures of a pedigree file, from that file alone: the book is neither read nor needed.

    A subclass gives `header` and `answer`. A fault ends with exit status 2, a line for each on
    standard error and nothing on standard output.
    """

    requires_system_checks = ()
    header: tuple[str, ...]

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "file",
            metavar="FILE",
            help="a pedigree file (CSV with commas, UTF-8), or - for standard input",
        )

    def handle(self, *args, **options) -> None:
        try:
            lines = self.answer(read_pedigree_file(read_bytes(options["file"])), options)
        except FaultyFileError as faulty:
            self.refuse(map(str, faulty.faults))
        except CommandRefusedError as refused:
            self.refuse(refused.lines)
        self.write(lines)

    @abstractmethod
    def answer(self, file: PedigreeFile, options: dict) -> Iterable[Iterable[str]]:
        """The rows below the header, as text. All that can be refused is refused before the
        first one is given."""

    def refuse(self, lines: Iterable[str]) -> NoReturn:
        for line in lines:
            self.stderr.write(line)
        raise SystemExit(FAULTY)

    def write(self, lines: Iterable[Iterable[str]]) -> None:
        """CSV in UTF-8 with plain line ends, on every system."""
        if hasattr(self.stdout, "reconfigure"):
            self.stdout.reconfigure(encoding="utf-8", newline="\n")
        writer = csv.writer(self.stdout, lineterminator="\n")
        try:
            writer.writerow(self.header)
            writer.writerows(lines)
            self.stdout.flush()
        except OSError as error:
            _forget_what_is_unwritten()
            if not isinstance(error, BrokenPipeError):  # a reader that has had enough is no fault
                self.stderr.write(
                    _("The output could not be written completely: %(why)s.")
                    % {"why": error.strerror}
                )
            raise SystemExit(UNWRITTEN) from None


def figure(value: float) -> str:
    """Ten significant digits, without trailing zeros: 0.25, 1, 0, 1.5e-12."""
    return format(value + 0.0, ".10g")  # the sum takes the sign from a zero


def read_bytes(name: str) -> bytes:
    """The bytes of a file, or of standard input for `-`. Raises `CommandRefusedError`."""
    try:
        return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        why = getattr(error, "strerror", None) or str(error)
        raise CommandRefusedError(
            _("%(file)s cannot be read (%(why)s). Give the path of a pedigree file.")
            % {"file": ascii(name)[1:-1] if not name.isprintable() else name, "why": why}
        ) from None


def _forget_what_is_unwritten() -> None:
    """Point standard output at nothing, or the interpreter would fail again on its way out."""
    with suppress(UnsupportedOperation):  # a test's stand-in has no descriptor to point
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
