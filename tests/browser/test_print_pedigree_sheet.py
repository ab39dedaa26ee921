"""The pedigree sheet by the browser's own print: one A4 page, whatever stands on it."""

import io

import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from pypdf import PdfReader

from herdbook.papers.dose_statement import DoseStatement
from herdbook.papers.sheet import PATHS, Ancestor, Inbreeding, Weighing
from tests.papers.samples import ancestors, animal, sheet, squeezed


def printed(page, one):
    """Print the sheet in the browser; returns the one page's text, without spacing."""
    page.set_content(render_to_string("papers/pedigree_sheet.html", {"sheet": one}))
    page.add_style_tag(path=finders.find("papers.css"))
    reader = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True, print_background=True)))
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((842, 595), abs=1)
    return squeezed(reader.pages[0].extract_text())


def test_it_works(page):
    text = printed(page, sheet())
    assert squeezed("Thornmoor Marigold") in text
    assert all(squeezed(f"Thornmoor {path}") in text for path in PATHS)
    assert squeezed("Signature of the seller") in text


def test_text_beyond_its_box_stays_on_one_page(page):
    endless, unbroken = "endless words " * 200, "x" * 3000
    text = printed(
        page,
        sheet(
            animal=animal(name=unbroken, told_apart=endless),
            ancestors={path: Ancestor(endless, colours=unbroken) for path in PATHS},
            breeder=endless,
            seller=unbroken,
            buyer=endless,
            dose=DoseStatement("probable", 2, 0.4, (endless, unbroken)),
        ),
    )
    assert squeezed("Signature of the seller") in text


def test_the_caution_on_a_short_pedigree_is_never_cut(page):
    """The longest that is said of it is not cut, and no weight below is pushed off."""
    weighed = Inbreeding(0.1244, full_generations=12, deepest_generation=12, as_written=0.0625)
    choices = {path: Ancestor(f"Alder {path}", or_names=("Birch",)) for path in PATHS}
    weights = tuple(Weighing("28 November 2026", 455, "8 weeks") for _ in range(40))
    printed(page, sheet(inbreeding=weighed, ancestors=choices, weights=weights))
    cut = "node => node.scrollHeight > node.clientHeight"
    assert not page.locator(".inbreeding .basis").evaluate(cut)
    lowest = "node => node.getBoundingClientRect().bottom"
    end_of_weights = page.locator(".weights").evaluate(lowest)
    assert end_of_weights <= page.locator(".side").evaluate(lowest)


WIDTHS = {"screen": 1280, "phone": 390, "print": 1123}  # A4 landscape at 96 px to the inch
OVERFLOWING = """() => [...document.querySelectorAll('.sheet, .sheet *')]
  .filter(node => !['TR', 'THEAD', 'TBODY'].includes(node.tagName))
  .filter(node => !['auto', 'scroll'].includes(getComputedStyle(node).overflowX))
  .filter(node => node.scrollHeight > node.clientHeight + 1
    || node.scrollWidth > node.clientWidth + 1)
  .filter(node => getComputedStyle(node).display !== 'inline')
  .map(node => node.className || node.tagName)"""


@pytest.mark.parametrize("medium", WIDTHS)
def test_no_part_of_the_sheet_is_cut(page, medium):
    page.set_viewport_size({"width": WIDTHS[medium], "height": 800})
    choice = {"ss": Ancestor("Alder", or_names=("Birch",))}
    long = {"ssss": Ancestor("Alder", colours="cream, chocolate points, of two doses, over 99.9%")}
    marked = animal(told_apart="markings: rose-pink patch on the nose leather (sure)")
    printed(page, sheet(animal=marked, ancestors=ancestors() | choice | long))
    page.emulate_media(media="print" if medium == "print" else "screen")
    assert page.evaluate(OVERFLOWING) == []


@pytest.mark.parametrize("medium", ["screen", "phone"])
def test_a_screen_shows_text_of_any_length(page, medium):
    page.set_viewport_size({"width": WIDTHS[medium], "height": 800})
    endless = "endless words " * 200
    known = {path: Ancestor(endless, colours=endless) for path in PATHS}
    printed(page, sheet(animal=animal(name=endless), ancestors=known, buyer="x" * 3000))
    page.emulate_media(media="screen")
    assert page.evaluate(OVERFLOWING) == []
