"""From boxes and matings to an SVG: DOT out, SVG back, then symbols, links and names put in.

Graphviz draws frames, lines and words. What it would write differently from version to version,
or could be led astray by, is added to its answer here: links, tooltips and the standard's symbols.
Everything is a presentation attribute, since a strict content security policy blocks styles.
"""

import re
from dataclasses import dataclass
from xml.etree import ElementTree

import graphviz

from herdbook.charts import engine as graphviz_engine
from herdbook.charts import symbols
from herdbook.charts.symbols import Sex, shape
from herdbook.charts.words import clean, escape, is_measured, relative_link

WIDTH = 210
LINE = 15
SYMBOL_ROOM = 34
NAME_SIZE = 13
SIZE = 12
ROOM = WIDTH - SYMBOL_ROOM - 6
# Plain letters are narrower than the bold ones that the widths are measured on (DejaVu Sans: 0.89).
PLAIN = 0.9
_POINTS_PER_INCH = 72
SVG = "{http://www.w3.org/2000/svg}"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(frozen=True)
class Box:
    """A drawn box. `x` and `y` are its middle, in points, y upwards.

    `lines` are (words, bold) from top to bottom, already made to fit; `links` has one link for the
    whole box, or one for each line ("" for none).
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


def box_height(lines: int) -> float:
    """The height of a box that holds so many lines, in points."""
    return max(lines, 1) * LINE + 10


def _label(box: Box) -> str:
    room = f'FIXEDSIZE="TRUE" HEIGHT="{box.height:g}"'
    words = "".join(
        f'<FONT POINT-SIZE="{NAME_SIZE}"><B>{escape(text)}</B></FONT><BR ALIGN="LEFT"/>'
        if bold
        else f'{escape(text)}<BR ALIGN="LEFT"/>'
        for text, bold in box.lines
    )
    return (
        '<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0" '
        f'{room} WIDTH="{WIDTH}"><TR><TD PORT="s" {room} WIDTH="{SYMBOL_ROOM}"></TD>'
        f'<TD ALIGN="LEFT" {room} WIDTH="{WIDTH - SYMBOL_ROOM}">{words}</TD></TR></TABLE>>'
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
        height=f"{box.height / _POINTS_PER_INCH:.6f}",
        style=",".join(styles) or "solid",
        penwidth="3" if box.letters else "1",
        color=symbols.FAINT if box.blank else symbols.INK,
    )


def _add_mating(graph: graphviz.Graph, number: int, mating: Mating) -> None:
    point = str(number)
    place = f"{mating.x:g},{mating.y:g}"
    graph.node(point, shape="none", label="", width="0", height="0", penwidth="0", pos=place)
    color = symbols.FAINT if mating.blank else symbols.INK
    line = "related" if mating.related else "single"
    upper_style = "dashed" if mating.doubtful else "solid"
    graph.edge(f"{mating.upper}:s:s", point, color=color, style=upper_style, **{"class": line})
    graph.edge(point, f"{mating.lower}:s:n", color=color, **{"class": line})
    for young in mating.young:
        graph.edge(str(young), point, color=color)


def start_graph(**layout: str) -> graphviz.Graph:
    """An empty graph whose nodes are boxes; `layout` is what graphviz is told beside that."""
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
            "width": f"{WIDTH / _POINTS_PER_INCH:.6f}",
            "margin": "0",
            "fontname": "Helvetica",
            "fontsize": str(SIZE),
        },
    )


def _source(boxes: list[Box], matings: list[Mating]) -> str:
    graph = start_graph(splines="line")
    for number, box in enumerate(boxes):
        add_box(graph, number, box)
    for number, mating in enumerate(matings, start=len(boxes)):
        _add_mating(graph, number, mating)
    return graph.source


def draw(
    boxes: list[Box],
    matings: list[Mating],
    *,
    title: str,
    name: str,
    engine: str | None = None,
    seconds: float = graphviz_engine.SECONDS,
) -> str:
    """Give the SVG text of a chart, safe to stand in a page.

    `title` is its accessible name, `name` begins every id in it. Raises what `engine.run` raises,
    TooLarge before anything is run, and ValueError for a link that could lead off this site.
    """
    graphviz_engine.check_size(len(boxes) + len(matings))
    answer = graphviz_engine.run(
        _source(boxes, matings), layout="neato", engine=engine, seconds=seconds
    )
    drawn = ElementTree.fromstring(answer)
    return _finish(drawn, boxes, title=title, name=name)


def _finish(drawn: ElementTree.Element, boxes: list[Box], *, title: str, name: str) -> str:
    graph = drawn.find(f"{SVG}g")
    if graph is None:
        raise graphviz_engine.CannotDraw("graphviz gave an empty answer")
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
    drawn: ElementTree.Element, boxes: list[Box], *, title: str, name: str
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
            "class": "chart",
            # Links inside an image would be hidden from a screen reader, so then it is a group.
            "role": "group" if any(any(box.links) for box in boxes) else "img",
            "aria-labelledby": f"{name}-title",
            "font-family": "sans-serif",
        },
    )
    shape("title", chart, id=f"{name}-title").text = clean(title)
    return chart


def _copy_line(edge: ElementTree.Element, parent: ElementTree.Element, *, doubled: bool) -> None:
    for path in edge.iter(f"{SVG}path"):
        numbers = [float(number) for number in _NUMBER.findall(path.get("d", ""))]
        x1, y1, x2, y2 = *numbers[:2], *numbers[-2:]
        d = symbols.doubled(x1, y1, x2, y2) if doubled else f"M{x1:g},{y1:g}L{x2:g},{y2:g}"
        attributes = {key: path.get(key) for key in ("stroke", "stroke-dasharray")}
        line = shape("path", parent, d=d, fill="none", stroke_width=1.2, stroke_linecap="square")
        line.attrib.update({key: value for key, value in attributes.items() if value})
        if doubled:
            line.set("class", "related")


def _frame_corner(frame: ElementTree.Element) -> tuple[float, float]:
    numbers = [float(n) for n in _NUMBER.findall(frame.get("points", frame.get("d", "")))]
    return min(numbers[::2]), min(numbers[1::2])


def copy_box(node: ElementTree.Element, box: Box, parent: ElementTree.Element, name: str) -> None:
    """Draw a box where graphviz put its node, with its symbol, links and words."""
    link = relative_link(box.links[0]) if len(box.links) == 1 and box.links[0] else ""
    group = shape("a", parent, href=link) if link else shape("g", parent)
    classes = ("box", box.sex.value, "blank" if box.blank else "", "again" if box.letters else "")
    group.set("class", " ".join(word for word in classes if word))
    shape("title", group).text = clean(box.title)
    frame = next(part for part in node if part.tag in (f"{SVG}path", f"{SVG}polygon"))
    left, top = _frame_corner(frame)
    _copy_frame(frame, group, filled=not box.blank)
    _copy_words(node, box, group, (left, top), name)
    middle = top + box.height / 2
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
        symbols.draw_badge(group, box.letters, left + WIDTH, top)


def _copy_frame(frame: ElementTree.Element, parent: ElementTree.Element, *, filled: bool) -> None:
    copied = shape(frame.tag.removeprefix(SVG), parent, fill="white" if filled else "none")
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
        shape("rect", cut, x=corner[0], y=corner[1], width=WIDTH, height=box.height)
        parent = shape("g", parent, clip_path=f"url(#{name}-cut)")
    links = box.links if len(box.links) > 1 else [""] * len(box.lines)
    baseline = corner[1] + (box.height - LINE * len(box.lines)) / 2 + 0.75 * LINE
    for text, link in zip(node.iter(f"{SVG}text"), links, strict=True):
        holder = shape("a", parent, href=relative_link(link)) if link else parent
        written = shape("text", holder, x=corner[0] + SYMBOL_ROOM, y=f"{baseline:g}")
        written.attrib.update(
            {key: text.get(key, "") for key in ("font-size", "font-weight") if text.get(key)}
        )
        written.text = text.text
        baseline += LINE
