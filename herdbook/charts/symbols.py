"""The symbols of the human-genetics pedigree standard, as SVG shapes.

Square, circle and diamond for sex, partitions for a trait, a slash for one that has died, an arrow
for the animal the chart is about, a double line for a mating of relatives: Bennett RL et al. 1995,
Am J Hum Genet 56:745-752; Bennett RL et al. 2008, J Genet Couns 17:424-433.
"""

from enum import StrEnum
from xml.etree import ElementTree

RADIUS = 10
INK = "#1a1a1a"
FAINT = "#8a8a8a"


class Sex(StrEnum):
    """Whom a symbol stands for."""

    BOAR = "boar"
    SOW = "sow"
    UNKNOWN = "unknown"


def shape(tag: str, parent: ElementTree.Element, **attributes: object) -> ElementTree.Element:
    """Add an SVG shape to `parent`; underscores in names stand for hyphens."""
    written = {name.replace("_", "-"): str(value) for name, value in attributes.items()}
    return ElementTree.SubElement(parent, tag, written)


def _outline(sex: Sex, x: float, y: float) -> str:
    r = RADIUS
    if sex is Sex.BOAR:
        return f"M{x - r + 1},{y - r + 1}h{2 * r - 2}v{2 * r - 2}h{2 - 2 * r}z"
    if sex is Sex.SOW:
        return f"M{x},{y - r}a{r},{r} 0 0 0 0,{2 * r}a{r},{r} 0 0 0 0,{-2 * r}z"
    return f"M{x},{y - r - 2}l{-r - 2},{r + 2}l{r + 2},{r + 2}l{r + 2},{-r - 2}z"


def _left_half(sex: Sex, x: float, y: float) -> str:
    r = RADIUS
    if sex is Sex.BOAR:
        return f"M{x - r + 1},{y - r + 1}h{r - 1}v{2 * r - 2}h{1 - r}z"
    if sex is Sex.SOW:
        return f"M{x},{y - r}a{r},{r} 0 0 0 0,{2 * r}z"
    return f"M{x},{y - r - 2}l{-r - 2},{r + 2}l{r + 2},{r + 2}z"


def draw_symbol(
    parent: ElementTree.Element,
    sex: Sex,
    x: float,
    y: float,
    *,
    copies: int | None,
    died: bool = False,
    blank: bool = False,
) -> None:
    """Draw one animal's symbol about (x, y).

    `copies` of the points gene fill none, half or all of it; None, not known, is a question mark.
    A `blank` symbol is that of an animal that is not known itself: faint, and without the mark.
    """
    ink = FAINT if blank else INK
    fill = ink if copies == 2 else "none"
    shape("path", parent, d=_outline(sex, x, y), fill=fill, stroke=ink, stroke_width=1.5)
    if copies == 1:
        shape("path", parent, d=_left_half(sex, x, y), fill=ink)
    if copies is None and not blank:
        mark = shape("text", parent, x=x, y=y + 4, text_anchor="middle", font_size=12, fill=ink)
        mark.text = "?"
    if died:
        reach = RADIUS + 4
        d = f"M{x - reach},{y + reach}L{x + reach},{y - reach}"
        shape("path", parent, d=d, fill="none", stroke=INK, stroke_width=1.5)


def draw_arrow(parent: ElementTree.Element, x: float, y: float) -> None:
    """Draw the arrow whose point is at (x, y), for the animal that the chart is about."""
    d = f"M{x - 20},{y + 12}L{x - 5},{y + 3}"
    shape("path", parent, d=d, fill="none", stroke=INK, stroke_width=2)
    shape("path", parent, d=f"M{x},{y}l-10,1l5,8z", fill=INK)


def draw_badge(parent: ElementTree.Element, letters: str, right: float, top: float) -> None:
    """Draw the letters that two boxes of the same animal share, in a box's upper right corner."""
    wide = 10 + 8 * len(letters)
    shape("rect", parent, x=right - wide, y=top, width=wide, height=16, fill=INK)
    text = shape("text", parent, x=right - wide / 2, y=top + 12, text_anchor="middle", font_size=12)
    text.set("font-weight", "bold")
    text.set("fill", "white")
    text.text = letters


def doubled(x1: float, y1: float, x2: float, y2: float) -> str:
    """The path of two parallel lines, 4 units apart, about the line between two points."""
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 or 1.0
    dx, dy = 2 * (y1 - y2) / length, 2 * (x2 - x1) / length
    return "".join(
        f"M{x1 + side * dx:.2f},{y1 + side * dy:.2f}L{x2 + side * dx:.2f},{y2 + side * dy:.2f}"
        for side in (1, -1)
    )
