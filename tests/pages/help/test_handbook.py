"""The handbook: every page renders, is reached, and what it names is there."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands
from django.urls import reverse

from herdbook.pages.help.glossary import HANDBOOK, glossary
from herdbook.pages.help.handbook import CONTENTS, handbook

ROOT = Path(settings.BASE)
PAGES = list(handbook().values())
IN_THE_APP = re.compile(r"/help/(?:(?P<path>[^#]*)/)?(?:#(?P<anchor>.+))?")
COMMAND = re.compile(r"manage\.py ([a-z-]+)")
SETTING = re.compile(r"HERDBOOK_[A-Z_]+")
CODE = re.compile(r"`([^`\n]+)`")
NAMED_FILE = re.compile(
    r"(?:herdbook|genetics|tests|templates|static|benchmarks|fixtures)/[\w./-]*"
)
NAMED_IN_FILE = re.compile(r"`(\w+)` (?:in|of)\s+`([\w/]+\.\w+)`")
METHOD_HEADINGS = {
    "Question", "Equation", "Assumptions", "Source", "How it is checked", "Benchmark",
    "Where in the code",
}  # fmt: skip

every_page = pytest.mark.parametrize("document", PAGES, ids=lambda document: document.path)


def source(document):
    return (HANDBOOK / f"{document.path}.md").read_text(encoding="utf-8")


@every_page
def test_it_works(document, owner_client, today):
    shown = owner_client.get(document.get_absolute_url())
    assert shown.status_code == 200
    assert document.html in shown.content.decode()


def test_every_file_is_a_page_that_the_contents_lead_to():
    files = {
        file.relative_to(HANDBOOK).with_suffix("").as_posix() for file in HANDBOOK.rglob("*.md")
    }
    contents = handbook()[CONTENTS]
    reached = {document.path for document in PAGES if document.get_absolute_url() in contents.links}
    assert reached | {CONTENTS} == files


@every_page
def test_each_link_leads_to_a_page_and_a_heading_that_is_there(document):
    for link in document.links:
        if link.startswith("https://"):
            continue
        found = IN_THE_APP.fullmatch(link)
        assert found, link
        path, anchor = found["path"] or CONTENTS, found["anchor"]
        if path == "glossary":
            assert anchor is None or anchor in glossary(), link
        else:
            assert path in handbook(), link
            assert anchor is None or anchor in handbook()[path].anchors, link


@every_page
def test_each_link_is_one_on_disk_too(document):
    for link in re.findall(r"\]\(([^)#]+)", source(document)):
        if not link.startswith("https://"):
            assert (HANDBOOK / document.path).parent.joinpath(link).is_file(), link


@every_page
def test_each_command_and_setting_is_there(document):
    text = source(document)
    assert set(COMMAND.findall(text)) <= set(get_commands())
    known = "".join(file.read_text() for file in (ROOT / "herdbook").rglob("*.py"))
    assert all(name in known for name in SETTING.findall(text))


@every_page
def test_each_file_of_the_code_is_there(document):
    named = {code for code in CODE.findall(source(document)) if NAMED_FILE.fullmatch(code)}
    assert {name for name in named if not (ROOT / name).exists()} == set()


@every_page
def test_each_name_stands_in_the_file_that_is_said_to_hold_it(document):
    for name, file in NAMED_IN_FILE.findall(source(document)):
        assert re.search(rf"\b{name}\b", (ROOT / file).read_text()), f"{name} in {file}"


@pytest.mark.parametrize(
    "document",
    [document for document in PAGES if document.section == "methods"],
    ids=lambda document: document.path,
)
def test_a_method_says_all_that_is_asked_of_it(document):
    assert set(re.findall(r"^## (.+)$", source(document), re.MULTILINE)) >= METHOD_HEADINGS


def test_each_method_of_the_glossary_is_a_page():
    assert {term.method for term in glossary().values()} - {""} <= set(handbook())


@pytest.mark.parametrize("path", ["README", "nowhere", "../../settings", "using"])
def test_a_page_that_is_not_there_is_not_found(path, owner_client, today):
    assert owner_client.get(f"/help/{path}/").status_code == 404


def test_html_in_a_page_is_shown_as_text(tmp_path, monkeypatch):
    from herdbook.pages.help import handbook as module

    (tmp_path / "sly.md").write_text("# Sly\n\n<script>alert()</script>\n\n```\n<b>\n```\n")
    monkeypatch.setattr(module, "HANDBOOK", tmp_path)
    html = module._read("sly").html
    assert "<script>" not in html
    assert "<b>" not in html


def found_by(client, words):
    return client.get(reverse("search-help"), {"words": words}).content.decode()


def test_a_search_finds_pages_and_terms(owner_client, today):
    page = found_by(owner_client, "kinship")
    assert f'href="{reverse("glossary")}#kinship"' in page
    assert f'href="{reverse("help-page", args=["methods/kinship"])}"' in page


def test_a_title_is_found_before_a_text(owner_client, today):
    page = found_by(owner_client, "BACKUP")
    assert page.index("using/backup") < page.index("first-litter")


def test_every_word_must_be_there(owner_client, today):
    page = found_by(owner_client, "kinship xylophone")
    assert "No results for “kinship xylophone”" in page


@pytest.mark.parametrize("words", ["", "  ", "<b>", "\0", "é" * 3000])
def test_any_search_is_answered(words, owner_client, today):
    assert owner_client.get(reverse("search-help"), {"words": words}).status_code == 200


def test_a_cell_of_a_table_knows_its_heading(owner_client, today):
    page = owner_client.get("/help/methods/limits/").content.decode()
    assert '<table class="stacked">' in page
    assert '<td data-label="default">68 days</td>' in page
