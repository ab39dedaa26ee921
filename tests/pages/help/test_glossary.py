"""The glossary: one file, a page, and a mark behind each figure."""

import html
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.template import Context, Template
from django.urls import reverse

from herdbook.pages.help.glossary import Term, by_name, glossary

ROOT = Path(settings.BASE)
TAG = re.compile(r'{%\s*help\s+"([^"]*)"')
ANY_TAG = re.compile(r"{%\s*help\s+[^%]*%}")
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))


def rendered(text):
    return html.unescape(Template("{% load book %}" + text).render(Context()))


@pytest.mark.parametrize("term", glossary().values(), ids=lambda term: term.key)
def test_each_term_has_a_source_or_a_standing(term):
    assert bool(term.source) != bool(term.standing)


@pytest.mark.parametrize("term", glossary().values(), ids=lambda term: term.key)
def test_each_term_takes_two_sentences(term):
    assert len(re.findall(r"\.(?:\s|$)", term.text)) <= 2
    assert term.text.endswith(".")
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", term.key)


def test_a_term_without_source_and_standing_is_refused():
    with pytest.raises(ValueError, match="either a source or a standing"):
        Term(key="dose", name="Dose", text="So many.")


def test_a_term_of_an_unknown_standing_is_refused():
    with pytest.raises(ValueError, match="the standing is one of"):
        Term(key="dose", name="Dose", text="So many.", standing="hearsay")


def test_each_help_of_a_template_names_a_term():
    named = {key for file in TEMPLATES for key in TAG.findall(file.read_text())}
    assert named <= set(glossary())


def test_each_help_of_a_template_names_its_term_in_full():
    for file in TEMPLATES:
        for tag in ANY_TAG.findall(file.read_text()):
            assert TAG.match(tag), f"{file.name}: {tag}"


def test_help_opens_the_term_without_a_script():
    page = rendered('{% help "kinship" %}')
    term = glossary()["kinship"]
    assert page.startswith("<details")
    assert "<summary>Kinship: what is this?</summary>" in page
    for words in (term.text, term.source, f'href="{reverse("glossary")}#kinship"'):
        assert words in page


def test_help_says_where_there_is_no_source():
    assert "No source: trade term." in rendered('{% help "self" %}')


def test_a_term_that_is_not_in_the_glossary_fails():
    with pytest.raises(KeyError):
        rendered('{% help "no such term" %}')


def test_no_source_opens_what_that_means():
    page = rendered("{% no_source %}")
    assert "<summary>no source</summary>" in page
    assert glossary()["no-source"].text in page


def test_the_page_lists_all_terms_by_name(owner_client, today):
    page = owner_client.get(reverse("glossary")).content.decode()
    places = [page.index(f'<div id="{term.key}">') for term in by_name()]
    assert places == sorted(places)
    assert len(places) == len(glossary())
