"""`kinship FILE`: Wright's kinship of the animals of a pedigree file, as CSV."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _

from genetics.core import Pedigree, kinship_between
from herdbook.exchange.exceptions import CommandRefusedError
from herdbook.exchange.fault_list import shown
from herdbook.exchange.file_command import PedigreeFileCommand, figure
from herdbook.exchange.pedigree_file import PedigreeFile
from herdbook.exchange.to_core import pedigree_of

ROWS = 250  # at a time: the whole table of a large register would not fit in the memory


class Command(PedigreeFileCommand):
    help = (
        "Writes the kinship of every pair of animals in a pedigree file, and of each with itself, "
        "(1 + F)/2, as CSV: id_a,id_b,kinship, ten significant digits, in the file's order. An "
        "unknown parent counts as unrelated; where a parent is one of several, the kinship is the "
        "expectation over their weights."
    )
    header = ("id_a", "id_b", "kinship")

    def add_arguments(self, parser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--pair", nargs=2, metavar=("A", "B"), help="only the kinship of these two ids"
        )

    def answer(self, file: PedigreeFile, options: dict) -> Iterator[tuple[str, str, str]]:
        pedigree = pedigree_of(file)
        if options["pair"] is None:
            return _triangle(pedigree)
        a, b = _numbers(options["pair"], pedigree)
        return iter([(*options["pair"], figure(kinship_between(pedigree, [a], [b])[0, 0]))])


def _numbers(pair: Sequence[str], pedigree: Pedigree) -> list[int]:
    number = {name: place for place, name in enumerate(pedigree.ids)}
    strangers = [name for name in pair if name not in number]
    if strangers:
        raise CommandRefusedError(
            *(
                _("--pair: %(id)s has no row in this file. Give two ids from the file.")
                % {"id": shown(name)}
                for name in dict.fromkeys(strangers)
            )
        )
    return [number[name] for name in pair]


def _triangle(pedigree: Pedigree) -> Iterator[tuple[str, str, str]]:
    """Each animal with itself and all that follow, some rows at a time."""
    ids = pedigree.ids
    for first in range(0, len(ids), ROWS):
        here = range(first, min(first + ROWS, len(ids)))
        table = kinship_between(pedigree, range(first, len(ids)), here)
        for column, place in enumerate(here):
            values = table[column:, column].tolist()
            for other, value in zip(ids[place:], values, strict=True):
                yield ids[place], other, figure(value)
