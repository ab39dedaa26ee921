"""The pedigree sheet as a PDF: one A4 page, landscape."""

from pathlib import Path

from .sheet import Sheet
from .typesetting import check, set_page

_TEMPLATE = Path(__file__).with_name("pedigree_sheet.typ")


def pedigree_sheet_pdf(sheet: Sheet) -> bytes:
    """Print a sheet as PDF/UA-1; raises PrintingError naming the field and the character."""
    check(sheet.written())
    return set_page(_TEMPLATE, sheet.as_data())
