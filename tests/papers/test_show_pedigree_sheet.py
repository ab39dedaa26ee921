"""The sheet as a page for the browser's own print."""

from html.parser import HTMLParser

from django.contrib.staticfiles import finders
from django.template.loader import render_to_string

from herdbook.papers.sheet import PATHS, Ancestor

from .samples import ancestors, sheet


class Reading(HTMLParser):
    """The text of a page, and the tags and attributes that it was made of."""

    def __init__(self, html):
        super().__init__()
        self.text, self.tags = [], []
        self.feed(html)

    def handle_data(self, data):
        self.text.append(data.strip())

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))


def shown(one):
    return Reading(render_to_string("papers/pedigree_sheet.html", {"sheet": one}))


def test_it_works():
    page = shown(sheet())
    assert "Thornmoor Marigold" in page.text
    assert "Clean marked (one dose), proved by offspring" in page.text
    assert {f"Thornmoor {path}" for path in PATHS} <= set(page.text)
    assert ("html", {"lang": "en-gb"}) in page.tags


def test_it_says_what_the_pdf_says():
    data = sheet().as_data()
    text = shown(sheet()).text
    for said in (data["dose"]["grounds"], data["inbreeding"]["basis"], *data["cautions"]):
        assert said in text


def test_a_missing_ancestor_is_a_blank_box():
    boxes = [
        attributes["class"]
        for tag, attributes in shown(sheet(ancestors=ancestors(["s"]))).tags
        if attributes.get("class", "").split()[:1] == ["box"]
    ]
    assert len(boxes) == 30
    assert boxes.count("box blank") == 29


def test_names_stay_text():
    name = "<script>alert(1)</script> & {{ name }}"
    page = shown(sheet(ancestors={"s": Ancestor(name)}))
    assert name in page.text
    assert not [tag for tag, _attributes in page.tags if tag == "script"]


def test_it_has_no_inline_style_or_handler_and_its_stylesheet_exists():
    page = shown(sheet())
    for tag, attributes in page.tags:
        assert tag not in ("style", "script")
        assert not [name for name in attributes if name == "style" or name.startswith("on")]
    assert finders.find("papers.css")
