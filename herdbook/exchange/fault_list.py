"""The faults of a file: where each one is and what to do about it.

All faults of a file are gathered and shown together, so that a breeder corrects it once.
"""

from dataclasses import dataclass, field

from herdbook.exchange.exceptions import Fault

LONGEST_SHOWN = 60


@dataclass(slots=True)
class FaultList:
    """The faults gathered while a file is read, and the cells they leave without a value."""

    faults: list[Fault] = field(default_factory=list)
    cells: set[tuple[int, str]] = field(default_factory=set)

    def add(self, row: int, column: str, message: str) -> None:
        self.faults.append(Fault(row, column, message))
        self.cells.add((row, column))

    def in_order(self, header: list[str]) -> list[Fault]:
        """By row, then whole rows before cells, then by column."""
        places = {"": -1} | {column: place for place, column in enumerate(header)}
        return sorted(
            self.faults, key=lambda fault: (fault.row, places.get(fault.column, len(header)))
        )

    def holds(self, row: int, column: str) -> bool:
        """Whether this cell already has a fault, so that no second one is made of it."""
        return (row, column) in self.cells


def shown(text: str) -> str:
    """`text` in quotation marks for a one-line message: cut when long, and whatever a terminal
    would act on instead of printing it (line breaks, escapes, bytes that are no text) spelt out."""
    cut = text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "..."
    return "'" + "".join(c if c.isprintable() else ascii(c)[1:-1] for c in cut) + "'"
