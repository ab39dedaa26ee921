"""Counts the prose that a page shows before anything on it is opened."""

import re
from html.parser import HTMLParser

# Nothing in these is prose: data in rows, pictures, lists to choose from, what is never shown.
_LEFT_OUT = {"tbody", "svg", "select", "datalist", "textarea", "script", "style", "template"}
_VOID = {"br", "hr", "img", "input", "link", "meta", "source", "wbr"}
_WORD = re.compile(r"[^\W_]\S*")


def visible_prose(page: str) -> list[str]:
    """The words of a page's main part that stand outside tables, pictures and lists to choose from,
    without what is hidden and what a closed `details` holds beside its summary."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    return _WORD.findall(" ".join(reader.text))


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.text: list[str] = []
        #: Each open element: its tag, and whether what stands directly in it is shown.
        self._open: list[tuple[str, bool]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _VOID:
            return
        given = dict(attrs)
        inside, shown = self._open[-1] if self._open else ("", False)
        if tag == "main":
            shown = True
        elif tag == "summary" and inside == "details":
            shown = len(self._open) < 2 or self._open[-2][1]
        hidden = "hidden" in given or "unseen" in (given.get("class") or "").split()
        closed = tag == "details" and "open" not in given
        if tag in _LEFT_OUT or hidden:
            shown = False
        self._open.append((tag, shown and not closed))

    def handle_endtag(self, tag: str) -> None:
        while self._open and tag in (name for name, _shown in self._open):
            if self._open.pop()[0] == tag:
                break

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1][1]:
            self.text.append(data)
