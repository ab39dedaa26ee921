"""The handbook: Markdown files on disk, read as pages with links that work in both places."""

import functools
import posixpath
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.urls import reverse
from django.utils.html import escape
from markdown_it import MarkdownIt
from markdown_it.token import Token

from .glossary import HANDBOOK

CONTENTS = "README"
GLOSSARY = "glossary.toml"
_ELSEWHERE = re.compile(r"[a-z]+:")


@dataclass(frozen=True)
class Page:
    """A page of the handbook: its path without the suffix, its first heading, its HTML and text.

    ``anchors`` are the names that a link may point to within it; ``links`` are the addresses that
    the page leads to, as its HTML has them.
    """

    path: str
    title: str
    html: str
    text: str
    anchors: frozenset[str]
    links: tuple[str, ...]

    @property
    def section(self) -> str:
        """The folder: 'using', 'methods' or 'contributing'; empty for the contents."""
        return posixpath.dirname(self.path)

    def get_absolute_url(self) -> str:
        return address_of(self.path)


@functools.cache
def handbook() -> dict[str, Page]:
    """Every page by its path, the contents first and the others in the order that they name."""
    files = {file.relative_to(HANDBOOK).with_suffix("").as_posix() for file in _files()}
    pages = {path: _read(path) for path in files}
    order = [link.strip("/").removeprefix("help/") for link in pages[CONTENTS].links]
    listed = [path for path in dict.fromkeys(order) if path in pages]
    return {path: pages[path] for path in [CONTENTS, *listed, *sorted(files)]}


def address_of(path: str) -> str:
    """Where a page stands in the app."""
    return reverse("help") if path == CONTENTS else reverse("help-page", args=[path])


def _files() -> Iterator[Path]:
    return HANDBOOK.rglob("*.md")


def _read(path: str) -> Page:
    tokens = _parser().parse((HANDBOOK / f"{path}.md").read_text(encoding="utf-8"))
    anchors = _name_headings(tokens)
    links = tuple(_point_into_the_app(tokens, posixpath.dirname(path)))
    title = next(after.content for one, after in _pairs(tokens) if one.tag == "h1")
    text = _text_of(tokens)
    _let_wide_parts_fit(tokens)
    html = _parser().renderer.render(tokens, _parser().options, {})
    return Page(path, title, html, text, frozenset(anchors), links)


@functools.cache
def _parser() -> MarkdownIt:
    """CommonMark with tables, and without HTML."""
    return MarkdownIt("commonmark", {"html": False}).enable("table")


def _pairs(tokens: list[Token]) -> Iterator[tuple[Token, Token]]:
    return zip(tokens, tokens[1:], strict=False)


def _name_headings(tokens: list[Token]) -> list[str]:
    """Give each heading an id of its words, as code hosts do; returns the ids."""
    names = []
    for opening, inline in _pairs(tokens):
        if opening.type == "heading_open":
            name = re.sub(r"[^\w -]", "", inline.content.casefold()).replace(" ", "-")
            opening.attrSet("id", name)
            names.append(name)
    return names


def _point_into_the_app(tokens: list[Token], folder: str) -> Iterator[str]:
    """Turn each link to a file of the handbook into its address; yields every address."""
    for token in tokens:
        for child in token.children or ():
            if child.type == "link_open":
                address = _in_the_app(str(child.attrGet("href")), folder)
                child.attrSet("href", address)
                yield address


def _in_the_app(link: str, folder: str) -> str:
    if _ELSEWHERE.match(link) or link.startswith("#"):
        return link
    file, mark, anchor = link.partition("#")
    path = posixpath.normpath(posixpath.join(folder, file))
    if path == GLOSSARY:
        return reverse("glossary") + mark + anchor
    return address_of(path.removesuffix(".md")) + mark + anchor


def _let_wide_parts_fit(tokens: list[Token]) -> None:
    """Code scrolls by itself on a phone, by keyboard too; the rows of a table become cards."""
    headings: list[str] = []
    column = 0
    for token, after in _pairs(tokens):
        if token.type in ("fence", "code_block"):
            token.type = "html_block"
            token.content = f'<pre tabindex="0"><code>{escape(token.content)}</code></pre>\n'
        elif token.type == "table_open":
            token.attrSet("class", "stacked")
            headings = []
        elif token.type == "tr_open":
            column = 0
        elif token.type == "th_open":
            headings.append(after.content)
        elif token.type == "td_open":
            token.attrSet("data-label", headings[column])
            column += 1


def _text_of(tokens: list[Token]) -> str:
    """The words of a page below its title, a block a line, for the search."""
    blocks = [
        "".join(_word_of(child) for child in token.children or ())
        for token in tokens
        if token.type == "inline"
    ]
    return "\n".join(blocks[1:])


def _word_of(child: Token) -> str:
    return " " if child.type in ("softbreak", "hardbreak") else child.content
