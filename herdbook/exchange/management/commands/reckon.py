"""`reckon FILE`: the dose and inbreeding of each animal of a pedigree file, as CSV."""

import math
from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _

from genetics.core import (
    MISJUDGED,
    MIXED_UP,
    InconsistentEvidenceError,
    IntractableFamily,
    compiler_installed,
    dose_posterior,
    inbreeding,
)
from herdbook.exchange.cell_parsers import read_number
from herdbook.exchange.exceptions import CellError, CommandRefusedError, Fault
from herdbook.exchange.fault_list import shown
from herdbook.exchange.file_command import PedigreeFileCommand, figure
from herdbook.exchange.pedigree_file import PedigreeFile
from herdbook.exchange.rows import AnimalRow
from herdbook.exchange.to_core import likelihood_of, pedigree_of


class Command(PedigreeFileCommand):
    help = (
        "Writes the chances of 0, 1 and 2 doses and the inbreeding of each animal of a pedigree "
        "file as CSV: id,dose0,dose1,dose2,inbreeding,method,error, ten significant digits, in "
        "the file's order. Method is exact, refined or approximate: a family too complex for exact "
        "figures gets approximate ones, each with an estimate of its error; the error of an exact "
        "figure is empty. An animal without a figure has empty doses, method and error, and "
        "standard error names it. Inbreeding is the expectation before any observation."
    )
    header = ("id", "dose0", "dose1", "dose2", "inbreeding", "method", "error")

    def add_arguments(self, parser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--frequency",
            default="0.25",
            help="how frequent the points allele is among founders and unknown parents, 0 to 1 "
            "(default %(default)s: a starting value without a source; give your herd's own)",
        )
        parser.add_argument(
            "--errors",
            default="0",
            help="the chance that a litter's recorded sire is another, unrelated boar, from 0 "
            "to below 1; above 0 a check may also be misread or of another animal, at the book's "
            f"rates ({MISJUDGED} and {MIXED_UP}). Default %(default)s: every record is right, and "
            "a check leaves open only what age, heat and cold do",
        )

    def answer(self, file: PedigreeFile, options: dict) -> Iterator[tuple[str, ...]]:
        frequency, errors = _rates(options["frequency"], options["errors"])
        pedigree = pedigree_of(file)
        try:
            dose = dose_posterior(
                pedigree,
                likelihood_of(file, slips=errors > 0),
                frequency=frequency,
                errors=errors,
                approximate=True,
            )
        except InconsistentEvidenceError as impossible:
            raise CommandRefusedError(*_contradictions(impossible, file.rows)) from None
        for tangle in dose.tangled:
            self.stderr.write(_too_tangled(tangle, file.rows))
        if not compiler_installed() and set(dose.method) != {"exact"}:
            self.stderr.write(
                _(
                    "Note: numba is not installed, so this took longer, and fewer figures are "
                    "exact or near it than could be."
                )
            )
        figures = zip(
            pedigree.ids,
            dose.chances.tolist(),
            inbreeding(pedigree).tolist(),
            dose.method,
            dose.error.tolist(),
            strict=True,
        )
        return (
            (name, *map(_cell, chances), figure(inbred), method, _cell(error or math.nan))
            for name, chances, inbred, method, error in figures
        )


def _cell(value: float) -> str:
    """The figure, or nothing where there is none."""
    return "" if math.isnan(value) else figure(value)


def _rates(frequency: str, errors: str) -> tuple[float, float]:
    founders, slips = _rate(frequency), _rate(errors)
    lines = []
    if founders is None:
        lines.append(
            _("--frequency: %(text)s is not possible. Give a number from 0 to 1, like 0.25.")
            % {"text": shown(frequency)}
        )
    if slips is None or slips == 1:
        lines.append(
            _("--errors: %(text)s is not possible. Give a number from 0 to below 1, like 0.01.")
            % {"text": shown(errors)}
        )
    if founders is None or slips is None or lines:
        raise CommandRefusedError(*lines)
    return founders, slips


def _rate(text: str) -> float | None:
    """The number, if it is one from 0 to 1."""
    try:
        value = read_number(str(text))
    except CellError:
        return None
    return value if 0 <= value <= 1 else None


def _contradictions(
    impossible: InconsistentEvidenceError, rows: Sequence[AnimalRow]
) -> Iterator[str]:
    for animal, single in zip(impossible.animals, impossible.single, strict=True):
        row = rows[animal]
        column = "points" if row.likelihood is None else "like0"
        words = _one_to_blame(row) if single else _one_of_several(row)
        yield str(Fault(row.number, column, words))


def _one_to_blame(row: AnimalRow) -> str:
    return _(
        "no genotypes explain the records of %(id)s and its relatives, but without this row's "
        "check they would. Correct it, or a parent; --errors above 0 allows for a wrong sire and "
        "a misread check."
    ) % {"id": shown(row.id)}


def _one_of_several(row: AnimalRow) -> str:
    return _(
        "no genotypes explain the records of %(id)s and its relatives, and more than one row is "
        "at fault. Compare the checks and parents here; --errors above 0 allows for a wrong sire "
        "and a misread check."
    ) % {"id": shown(row.id)}


def _too_tangled(tangle: IntractableFamily, rows: Sequence[AnimalRow]) -> str:
    first = rows[tangle.animals[0]]
    return str(
        Fault(
            first.number,
            "",
            _(
                "%(id)s and %(others)s relatives are too complex even for approximate figures: "
                "their cells are empty. Give one sire instead of several, or leave out rows that "
                "matter little."
            )
            % {"id": shown(first.id), "others": len(tangle.animals) - 1},
        )
    )
