"""From boxes and matings to an SVG: DOT out, SVG back, then symbols, links and names put in.

Graphviz draws frames, lines and words. What it would write differently from version to version,
or could be led astray by, is added to its answer here: links, tooltips and the standard's symbols.
Everything is a presentation attribute, since a strict content security policy blocks styles.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

import graphviz

from herdbook.charts import graphviz as graphviz_engine
from herdbook.charts import symbols
from herdbook.charts.exceptions import DrawingError
from herdbook.charts.symbols import Sex, shape
from herdbook.charts.text import clean, escape, is_measured, relative_link

WIDTH = 210
LINE = 15
SYMBOL_ROOM = 34
NAME_SIZE = 13
SIZE = 12
EDGE = 4
# What a page has room for on a phone of 390 px. A chart that is hardly wider is drawn smaller
# there, down to words of 11 px.
_PHONE = 324
_HARDLY_WIDER = _PHONE * SIZE / 11
# Plain letters are narrower than the bold ones that the widths are measured on (DejaVu Sans: 0.89).
PLAIN = 0.9
_POINTS_PER_INCH = 72
SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(frozen=True)
class Box:
    """A drawn box. `x` and `y` are its middle, in points, y upwards.

    `lines` are (words, bold) from top to bottom, already made to fit; `links` has one link for the
    whole box, or one for each line ("" for none). The symbol stands before the lines, or above
    them, with the first line beside it.
    """

    x: float
    y: float
    height: float
    sex: Sex
    title: str
    lines: tuple[tuple[str, bool], ...] = ()
    links: tuple[str, ...] = ()
    copies: int | None = None
    died: bool = False
    blank: bool = False
    doubtful: bool = False
    subject: bool = False
    letters: str = ""
    width: float = WIDTH
    symbol_above: bool = False


@dataclass(frozen=True)
class Mating:
    """The lines from two parents to each other and to their young; numbers are places in a list."""

    upper: int
    lower: int
    young: tuple[int, ...]
    x: float
    y: float
    related: bool = False
    doubtful: bool = False
    blank: bool = False


@dataclass(frozen=True)
class Stretch:
    """A straight line from one place to another, in points, y upwards; boxes stand before it."""

    start: tuple[float, float]
    end: tuple[float, float]
    related: bool = False
    doubtful: bool = False
    blank: bool = False


def _label(box: Box) -> str:
    room = f'FIXEDSIZE="TRUE" HEIGHT="{box.height:g}"'
    beside = 0 if box.symbol_above else SYMBOL_ROOM
    size = SIZE if box.symbol_above else NAME_SIZE
    words = "".join(
        f'<FONT POINT-SIZE="{size}"><B>{escape(text)}</B></FONT><BR ALIGN="LEFT"/>'
        if bold
        else f'{escape(text)}<BR ALIGN="LEFT"/>'
        for text, bold in box.lines
    )
    return (
        '<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0" '
        f'{room} WIDTH="{box.width:g}"><TR>'
        + (f'<TD PORT="s" {room} WIDTH="{SYMBOL_ROOM}"></TD>' if beside else "")
        + f'<TD ALIGN="LEFT" {room} WIDTH="{box.width - beside:g}">{words}</TD></TR></TABLE>>'
    )


def add_box(graph: graphviz.Graph, number: int, box: Box) -> None:
    """Add a box as the node of this number."""
    styles = [
        *(["rounded"] if box.sex is Sex.SOW else []),
        *(["dashed"] if box.doubtful else []),
    ]
    graph.node(
        str(number),
        id=f"n{number}",
        label=_label(box),
        pos=f"{box.x:g},{box.y:g}",
        width=f"{box.width / _POINTS_PER_INCH:.6f}",
        height=f"{box.height / _POINTS_PER_INCH:.6f}",
        style=",".join(styles) or "solid",
        penwidth="3" if box.letters else "1",
        color=symbols.FAINT if box.blank else symbols.INK,
    )


def _add_place(graph: graphviz.Graph, place: str, x: float, y: float) -> None:
    pos = f"{x:g},{y:g}"
    graph.node(place, shape="none", label="", width="0", height="0", penwidth="0", pos=pos)


def _look_of(line: Mating | Stretch) -> tuple[dict[str, str], str]:
    """Colour and class of a line, and the style of the part that a doubtful sire hangs on."""
    color = symbols.FAINT if line.blank else symbols.INK
    look = {"color": color, "class": "related" if line.related else "single"}
    return look, "dashed" if line.doubtful else "solid"


def _add_mating(graph: graphviz.Graph, number: int, mating: Mating) -> None:
    point = str(number)
    _add_place(graph, point, mating.x, mating.y)
    look, upper_style = _look_of(mating)
    graph.edge(f"{mating.upper}:s:s", point, style=upper_style, **look)
    graph.edge(point, f"{mating.lower}:s:n", **look)
    for young in mating.young:
        graph.edge(str(young), point, color=look["color"])


def _add_stretch(graph: graphviz.Graph, number: int, stretch: Stretch) -> None:
    look, style = _look_of(stretch)
    for end, (x, y) in (("a", stretch.start), ("b", stretch.end)):
        _add_place(graph, f"{end}{number}", x, y)
    graph.edge(f"a{number}", f"b{number}", style=style, **look)


def start_graph(**layout: str) -> graphviz.Graph:
    """An empty graph whose nodes are boxes; `layout` holds further settings of graphviz."""
    return graphviz.Graph(
        graph_attr={
            "bgcolor": "transparent",
            "pad": "0.4,0.1",
            "outputorder": "edgesfirst",
            **layout,
        },
        node_attr={
            "shape": "box",
            "fixedsize": "true",
            "margin": "0",
            "fontname": "Helvetica",
            "fontsize": str(SIZE),
        },
    )


def _source(
    boxes: Sequence[Box],
    matings: Sequence[Mating],
    stretches: Sequence[Stretch],
    layout: dict[str, str],
) -> str:
    graph = start_graph(splines="line", **layout)
    for number, box in enumerate(boxes):
        add_box(graph, number, box)
    for number, mating in enumerate(matings, start=len(boxes)):
        _add_mating(graph, number, mating)
    for number, stretch in enumerate(stretches):
        _add_stretch(graph, number, stretch)
    return graph.source


def draw(
    boxes: Sequence[Box],
    matings: Sequence[Mating],
    stretches: Sequence[Stretch] = (),
    *,
    title: str,
    name: str,
    engine: str | None = None,
    seconds: float = graphviz_engine.SECONDS,
    **layout: str,
) -> str:
    """Give the SVG text of a chart, safe to stand in a page; `layout` holds settings of graphviz.

    `title` is its accessible name, `name` begins every id in it. Raises what `engine.run` raises,
    ChartTooLargeError before anything is run, and ValueError for a link that could lead off this
    site.
    """
    graphviz_engine.check_size(len(boxes) + len(matings) + len(stretches))
    source = _source(boxes, matings, stretches, layout)
    answer = graphviz_engine.run(source, layout="neato", engine=engine, seconds=seconds)
    drawn = ElementTree.fromstring(answer)
    return _finish(drawn, boxes, title=title, name=name)


def _finish(drawn: ElementTree.Element, boxes: Sequence[Box], *, title: str, name: str) -> str:
    graph = drawn.find(f"{SVG}g")
    if graph is None:
        raise DrawingError("graphviz gave an empty answer")
    chart = start_chart(drawn, boxes, title=title, name=name)
    placed = shape("g", chart, transform=graph.get("transform"))
    for part in graph:
        kind = part.get("class", "")
        if kind.startswith("edge"):
            _copy_line(part, placed, doubled="related" in kind)
    nodes = {part.get("id"): part for part in graph}
    for number, box in enumerate(boxes):
        copy_box(nodes[f"n{number}"], box, placed, f"{name}-{number}")
    return ElementTree.tostring(chart, encoding="unicode")


def start_chart(
    drawn: ElementTree.Element, boxes: Sequence[Box], *, title: str, name: str
) -> ElementTree.Element:
    """The SVG of a chart as large as graphviz drew it, with its title and nothing else."""
    view = drawn.get("viewBox", "")
    _, _, wide, high = view.split()
    chart = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": view,
            "width": wide,
            "height": high,
            "class": "chart hardly-wider" if _PHONE < float(wide) <= _HARDLY_WIDER else "chart",
            # Links inside an image would be hidden from a screen reader, so then it is a group.
            "role": "group" if any(any(box.links) for box in boxes) else "img",
            "aria-labelledby": f"{name}-title",
            "font-family": "sans-serif",
        },
    )
    shape("title", chart, id=f"{name}-title").text = clean(title)
    return chart


def is_wider_than_a_phone(chart: ElementTree.Element) -> bool:
    """Whether a phone shows a chart of this size in part only."""
    return float(chart.get("width", "0")) > _HARDLY_WIDER


def _copy_line(edge: ElementTree.Element, parent: ElementTree.Element, *, doubled: bool) -> None:
    for path in edge.iter(f"{SVG}path"):
        numbers = [float(number) for number in NUMBER.findall(path.get("d", ""))]
        x1, y1, x2, y2 = *numbers[:2], *numbers[-2:]
        d = symbols.doubled(x1, y1, x2, y2) if doubled else f"M{x1:g},{y1:g}L{x2:g},{y2:g}"
        attributes = {key: path.get(key) for key in ("stroke", "stroke-dasharray")}
        line = shape("path", parent, d=d, fill="none", stroke_width=1.2, stroke_linecap="square")
        line.attrib.update({key: value for key, value in attributes.items() if value})
        if doubled:
            line.set("class", "related")


def _frame_corner(frame: ElementTree.Element) -> tuple[float, float]:
    numbers = [float(n) for n in NUMBER.findall(frame.get("points", frame.get("d", "")))]
    return min(numbers[::2]), min(numbers[1::2])


def copy_box(node: ElementTree.Element, box: Box, parent: ElementTree.Element, name: str) -> None:
    """Draw a box where graphviz put its node, with its symbol, links and words."""
    link = relative_link(box.links[0]) if len(box.links) == 1 and box.links[0] else ""
    group = shape("a", parent, href=link) if link else shape("g", parent)
    classes = (
        "box",
        box.sex.value,
        "blank" if box.blank else "",
        "again" if box.letters else "",
        "subject" if box.subject else "",
    )
    group.set("class", " ".join(word for word in classes if word))
    shape("title", group).text = clean(box.title)
    frame = next(part for part in node if part.tag in (f"{SVG}path", f"{SVG}polygon"))
    left, top = _frame_corner(frame)
    _copy_frame(frame, group)
    _copy_words(node, box, group, (left, top), name)
    middle = top + (SYMBOL_ROOM if box.symbol_above else box.height) / 2
    symbols.draw_symbol(
        group,
        box.sex,
        left + SYMBOL_ROOM / 2,
        middle,
        copies=box.copies,
        died=box.died,
        blank=box.blank,
    )
    if box.subject:
        symbols.draw_arrow(group, left - 2, middle)
    if box.letters:
        symbols.draw_badge(group, box.letters, left + box.width, top)


def _copy_frame(frame: ElementTree.Element, parent: ElementTree.Element) -> None:
    copied = shape(frame.tag.removeprefix(SVG), parent, fill="white")
    for key in ("points", "d", "stroke", "stroke-width", "stroke-dasharray"):
        if frame.get(key):
            copied.set(key, frame.get(key, ""))


def _copy_words(
    node: ElementTree.Element,
    box: Box,
    parent: ElementTree.Element,
    corner: tuple[float, float],
    name: str,
) -> None:
    """Copy the lines of words, spaced by us, since engines differ in what they know of fonts.

    Letters whose width we do not know either are cut off at the frame.
    """
    if not all(is_measured(text) for text, _ in box.lines):
        cut = shape("clipPath", parent, id=f"{name}-cut")
        shape("rect", cut, x=corner[0], y=corner[1], width=box.width, height=box.height)
        parent = shape("g", parent, clip_path=f"url(#{name}-cut)")
    links = box.links if len(box.links) > 1 else [""] * len(box.lines)
    places = _places(box)
    for text, link, (x, y) in zip(node.iter(f"{SVG}text"), links, places, strict=True):
        holder = shape("a", parent, href=relative_link(link)) if link else parent
        written = shape("text", holder, x=corner[0] + x, y=f"{corner[1] + y:g}")
        written.attrib.update(
            {key: text.get(key, "") for key in ("font-size", "font-weight") if text.get(key)}
        )
        written.text = text.text


def _places(box: Box) -> list[tuple[float, float]]:
    """Where each line of a box begins, from its upper left corner."""
    if box.symbol_above:
        below: list[tuple[float, float]]
        below = [(EDGE, SYMBOL_ROOM + (n + 0.5) * LINE) for n in range(len(box.lines) - 1)]
        return [(SYMBOL_ROOM, SYMBOL_ROOM / 2 + 0.3 * LINE), *below][: len(box.lines)]
    first = (box.height - LINE * len(box.lines)) / 2 + 0.75 * LINE
    return [(SYMBOL_ROOM, first + n * LINE) for n in range(len(box.lines))]
