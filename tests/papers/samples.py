"""One invented animal with thirty ancestors, and a way to vary it."""

import io

from pypdf import PdfReader

from herdbook.papers.dose_statement import DoseStatement, Look, ParentDoses, Young
from herdbook.papers.pedigree_sheet import pedigree_sheet_pdf
from herdbook.papers.sheet import PATHS, Ancestor, Inbreeding, Sheet, SheetAnimal, Weighing

PROVED = DoseStatement(
    "proved",
    1,
    0.9962,
    (Young(selfs=7, marked=8, mates="self"), Look("full", "5 months", "3 November 2026")),
)
PROBABLE = DoseStatement("probable", 1, 0.834, (ParentDoses(2, None),))


def ancestors(paths=PATHS):
    """One ancestor for each path, named after it: 'Thornmoor sd'."""
    return {
        path: Ancestor(
            f"Thornmoor {path}", number=f"T{path}", born="May 2023", colours="cream, black points"
        )
        for path in paths
    }


def animal(**changes):
    values = {
        "name": "Thornmoor Marigold",
        "sex": "sow",
        "number": "TM-241",
        "tag": "77",
        "born": "June 2026",
        "coat": "golden",
        "points": "black",
        "eyes": "dark",
        "told_apart": "a pale toe, sure",
    }
    return SheetAnimal(**(values | changes))


def sheet(**changes):
    values = {
        "animal": animal(),
        "dose": PROVED,
        "inbreeding": Inbreeding(0.0625, full_generations=4, deepest_generation=6),
        "issued_on": "25 November 2026",
        "ancestors": ancestors(),
        "breeder": "Ansel Quillby, Thornmoor",
        "seller": "Maud Fenwright, Little Sedge",
        "buyer": "Osric Tarn",
        "weights": (Weighing("2 June 2026", 92, "birth"), Weighing("28 July 2026", 455, "8 weeks")),
    }
    return Sheet(**(values | changes))


def printed(one):
    """The PDF as a reader, after checking that it is one page."""
    reader = PdfReader(io.BytesIO(pedigree_sheet_pdf(one)))
    assert len(reader.pages) == 1
    return reader


def squeezed(text):
    """Text without any spacing: how lines broke on paper does not matter."""
    return "".join(text.replace("\u200b", "").split())


def text_of(one):
    """The text of the printed page, without spacing."""
    return squeezed(printed(one).pages[0].extract_text())


def holds(one, text):
    """Whether the printed page holds this text, however its lines broke."""
    return squeezed(text) in text_of(one)
