"""The key to a chart: only what occurs in it, each symbol drawn as it is in the chart."""

from collections.abc import Callable, Sequence
from xml.etree import ElementTree

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from herdbook.charts import symbols
from herdbook.charts.animals import KeyEntry
from herdbook.charts.drawing import Box, Mating
from herdbook.charts.symbols import Sex, shape

WIDE, HIGH = 56, 30


def make_key(boxes: Sequence[Box], matings: Sequence[Mating]) -> tuple[KeyEntry, ...]:
    """The entries that this chart needs, in a fixed order."""
    known = [box for box in boxes if not box.blank]
    lines = [
        *((_sex(sex), words, any(box.sex is sex for box in known)) for sex, words in _sexes()),
        *(
            (_copies(copies), words, any(box.copies == copies for box in known))
            for copies, words in _doses()
        ),
        (_died, _("has died"), any(box.died for box in known)),
        (_subject, _("the animal this chart is of"), any(box.subject for box in known)),
        (_double, _("mating of relatives"), any(mating.related for mating in matings)),
        (
            _dashed,
            _("possible parents, with the chance of each"),
            any(b.doubtful for b in known),
        ),
        (
            _again,
            _("shown more than once: same letter, same animal"),
            any(box.letters for box in known),
        ),
        (_blank, _("unknown"), any(box.blank for box in boxes)),
    ]
    return tuple(make_entry(draw, words) for draw, words, occurs in lines if occurs)


def _sexes() -> list[tuple[Sex, str]]:
    return [
        (Sex.BOAR, _("boar")),
        (Sex.SOW, _("sow")),
        (Sex.UNKNOWN, _("sex unknown")),
    ]


def _doses() -> list[tuple[int | None, str]]:
    return [
        (0, _("empty: self (no dose)")),
        (1, _("half filled: clean marked (one dose)")),
        (2, _("filled: overmarked (two doses)")),
        (None, _("dose uncertain or unknown")),
    ]


def make_entry(draw: Callable[[ElementTree.Element], None], words: str) -> KeyEntry:
    """One line of a key: what `draw` draws in a room of WIDE by HIGH, and words."""
    picture = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {WIDE} {HIGH}",
            "width": str(WIDE),
            "height": str(HIGH),
            "class": "chart-symbol",
            "aria-hidden": "true",
            "font-family": "sans-serif",
        },
    )
    draw(picture)
    return KeyEntry(mark_safe(ElementTree.tostring(picture, encoding="unicode")), words)


def _sex(sex: Sex) -> Callable[[ElementTree.Element], None]:
    return lambda at: symbols.draw_symbol(at, sex, WIDE / 2, HIGH / 2, copies=0)


def _copies(copies: int | None) -> Callable[[ElementTree.Element], None]:
    def draw(at: ElementTree.Element) -> None:
        symbols.draw_symbol(at, Sex.BOAR, WIDE / 4 + 1, HIGH / 2, copies=copies)
        symbols.draw_symbol(at, Sex.SOW, WIDE * 3 / 4 - 1, HIGH / 2, copies=copies)

    return draw


def _died(at: ElementTree.Element) -> None:
    symbols.draw_symbol(at, Sex.SOW, WIDE / 2, HIGH / 2, copies=0, died=True)


def _subject(at: ElementTree.Element) -> None:
    symbols.draw_arrow(at, WIDE / 2 + 10, HIGH / 2 - 4)


def _double(at: ElementTree.Element) -> None:
    d = symbols.doubled(4, HIGH / 2, WIDE - 4, HIGH / 2)
    shape("path", at, d=d, fill="none", stroke=symbols.INK, stroke_width=1.2)


def _frame(at: ElementTree.Element, **how: object) -> None:
    shape("rect", at, x=4, y=6, width=WIDE - 8, height=HIGH - 12, fill="none", **how)


def _dashed(at: ElementTree.Element) -> None:
    _frame(at, stroke=symbols.INK, stroke_dasharray="5,2")


def _again(at: ElementTree.Element) -> None:
    _frame(at, stroke=symbols.INK, stroke_width=3)
    symbols.draw_badge(at, "A", WIDE - 4, 5)


def _blank(at: ElementTree.Element) -> None:
    _frame(at, stroke=symbols.FAINT)
