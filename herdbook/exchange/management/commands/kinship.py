"""`kinship FILE`: Wright's kinship of the animals of a pedigree file, as CSV."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _
from numpy.typing import NDArray

from genetics.core.kinship import kinship
from genetics.core.pedigree import Pedigree
from herdbook.exchange.arrays import pedigree_of
from herdbook.exchange.faults import shown
from herdbook.exchange.file_command import (
    PedigreeFileCommand,
    Refused,
    figure,
    refuse_too_large_a_table,
)
from herdbook.exchange.pedigree_file import PedigreeFile


class Command(PedigreeFileCommand):
    help = (
        "Writes the kinship of every two animals of a pedigree file, and of each with itself, "
        "(1 + F)/2, as CSV: id_a,id_b,kinship, ten significant digits, in the file's order. An "
        "unknown parent adds none; where the parent is one of several it is the expectation "
        "over their weights."
    )
    header = ("id_a", "id_b", "kinship")

    def add_arguments(self, parser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--pair", nargs=2, metavar=("A", "B"), help="only the kinship of these two ids"
        )

    def answer(self, file: PedigreeFile, options: dict) -> Iterator[tuple[str, str, str]]:
        pedigree = pedigree_of(file)
        pair = options["pair"]
        animals = range(len(pedigree)) if pair is None else _numbers(pair, pedigree)
        refuse_too_large_a_table(len(pedigree.ancestry(animals)))
        table = kinship(pedigree, sorted(set(animals)))
        ids = pedigree.ids
        if pair is not None:
            return iter([(*pair, figure(table[0, -1]))])
        return _triangle(ids, table)


def _numbers(pair: Sequence[str], pedigree: Pedigree) -> list[int]:
    number = {name: place for place, name in enumerate(pedigree.ids)}
    strangers = [name for name in pair if name not in number]
    if strangers:
        raise Refused(
            *(
                _("--pair: %(id)s has no row in this file. Give two ids that stand in it.")
                % {"id": shown(name)}
                for name in dict.fromkeys(strangers)
            )
        )
    return [number[name] for name in pair]


def _triangle(ids: Sequence[str], table: NDArray) -> Iterator[tuple[str, str, str]]:
    for place, name in enumerate(ids):
        for other, value in zip(ids[place:], table[place, place:].tolist(), strict=True):
            yield name, other, figure(value)
