"""How the parents of a litter are related: the paths between them through common ancestors.

The litter stands at the top, its parents below it, their ancestors further down: a page has room
downwards on any screen, and boxes are narrow so that three of them stand abreast on a phone. Each
path has a colour and a kind of line of its own, so that it can be followed in grey, too; where
several go the same way they run side by side.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import hypot
from xml.etree import ElementTree

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from herdbook.charts import graphviz as graphviz_engine
from herdbook.charts import symbols
from herdbook.charts.animals import Animal, Chart, KeyEntry
from herdbook.charts.box_text import Form, known_box
from herdbook.charts.drawing import (
    NUMBER,
    SVG,
    Box,
    add_box,
    copy_box,
    is_wider_than_a_phone,
    start_chart,
    start_graph,
)
from herdbook.charts.exceptions import DrawingError
from herdbook.charts.legend import HIGH, WIDE, make_entry, make_key
from herdbook.charts.symbols import shape

_APART = 6
_LITTER = Form(112, symbol_above=True)
_WHO = Form(106, symbol_above=True, brief=True)


@dataclass(frozen=True)
class Stroke:
    """How a path is drawn."""

    colour: str
    dashes: str
    width: float

    def draw(self, parent: ElementTree.Element, d: str, **more: object) -> None:
        line = shape(
            "path",
            parent,
            d=d,
            fill="none",
            stroke=self.colour,
            stroke_width=self.width,
            **more,
        )
        if self.dashes:
            line.set("stroke-dasharray", self.dashes)


#: A stroke for each path, told apart by its dashes alone where there is no colour.
STROKES = (
    Stroke("#0b5563", "", 2.2),
    Stroke("#7a2e00", "9,4", 2.2),
    Stroke("#5b2a86", "2,4", 3),
    Stroke("#1d4e89", "11,3,2,3", 2.2),
    Stroke("#4d5600", "18,5", 2.2),
    Stroke("#8a1550", "9,3,2,3,2,3", 2.2),
)
_PLAIN = Stroke(symbols.INK, "", 1.2)

#: More paths than this could not be told apart: the caller draws those that add most.
MOST_PATHS = len(STROKES)


@dataclass(frozen=True)
class Route:
    """One path, by the animals' keys: from the sire, and from the dam, up to the ancestor they
    share, both ends included; and what the key says of it."""

    sire_side: tuple[Hashable, ...]
    dam_side: tuple[Hashable, ...]
    words: str


def relationship_chart(
    litter: Animal,
    animals: Mapping[Hashable, Animal],
    routes: Sequence[Route],
    *,
    name: str = "relationship",
    engine: str | None = None,
    seconds: float = graphviz_engine.SECONDS,
) -> Chart:
    """Draw the paths between the parents of `litter` with a key, at least one and MOST_PATHS at
    most.

    `animals` holds everyone on a path by its key. `name` begins every id in the SVG. Raises
    DrawingError (and its kinds) with a sentence for the page, and ValueError for other numbers of
    paths or a link that could lead off this site.
    """
    if not 1 <= len(routes) <= MOST_PATHS:
        raise ValueError(f"A chart shows 1 to {MOST_PATHS} paths, not {len(routes)}.")
    shown = dict.fromkeys(key for route in routes for key in (*route.sire_side, *route.dam_side))
    place = {key: number for number, key in enumerate(shown, start=1)}
    boxes = [replace(known_box(litter, form=_LITTER), subject=True)]
    boxes += [known_box(animals[key], form=_WHO) for key in shown]
    steps = _steps(routes, place)
    parents = (place[routes[0].sire_side[0]], place[routes[0].dam_side[0]])
    graphviz_engine.check_size(len(boxes))
    answer = graphviz_engine.run(
        _source(boxes, steps, parents), layout="dot", engine=engine, seconds=seconds
    )
    title = _("How the parents of %(litter)s are related") % {"litter": litter.known_as()}
    chart = _finish(ElementTree.fromstring(answer), boxes, steps, title=title, name=name)
    return Chart(
        mark_safe(ElementTree.tostring(chart, encoding="unicode")),
        (*_key_of_paths(routes), *make_key(boxes, [])),
        wider_than_a_phone=is_wider_than_a_phone(chart),
    )


Steps = dict[tuple[int, int], list[Stroke]]


def _steps(routes: Sequence[Route], place: Mapping[Hashable, int]) -> Steps:
    """Each line from young to parent, with the strokes of the paths that go along it."""
    steps: Steps = {}
    for route in routes:
        for side in (route.sire_side, route.dam_side):
            steps[0, place[side[0]]] = [_PLAIN]
    for route, stroke in zip(routes, STROKES, strict=False):
        for side in (route.sire_side, route.dam_side):
            for young, parent in zip(side, side[1:], strict=False):
                steps.setdefault((place[young], place[parent]), []).append(stroke)
    return steps


def _source(boxes: list[Box], steps: Steps, parents: tuple[int, int]) -> str:
    graph = start_graph(splines="true", nodesep="0.12", ranksep="0.42", pad="0.05")
    for number, box in enumerate(boxes):
        add_box(graph, number, box)
    for number, (young, parent) in enumerate(steps):
        graph.edge(f"{young}:s", f"{parent}:n", id=f"e{number}")
    if not _descends(steps, *parents) and not _descends(steps, *parents[::-1]):
        # Both below the litter, the sire on the left, unless one is an ancestor of the other.
        graph.body.append(f"\t{{rank=same; {parents[0]} -- {parents[1]} [style=invis]}}\n")
    return graph.source


def _descends(steps: Steps, young: int, ancestor: int) -> bool:
    """Whether the lines lead from one box up to the other."""
    reached = {young}
    waiting = [young]
    while waiting:
        here = waiting.pop()
        new = {parent for one, parent in steps if one == here} - reached
        reached |= new
        waiting.extend(new)
    return ancestor in reached


def _finish(
    drawn: ElementTree.Element, boxes: list[Box], steps: Steps, *, title: str, name: str
) -> ElementTree.Element:
    graph = drawn.find(f"{SVG}g")
    if graph is None:
        raise DrawingError(_("The chart could not be drawn: it came back empty."))
    chart = start_chart(drawn, boxes, title=title, name=name)
    placed = shape("g", chart, transform=graph.get("transform"))
    parts = {part.get("id"): part for part in graph}
    for number, strokes in enumerate(steps.values()):
        for path in parts[f"e{number}"].iter(f"{SVG}path"):
            _draw_side_by_side(placed, path.get("d", ""), strokes)
    for number, box in enumerate(boxes):
        copy_box(parts[f"n{number}"], box, placed, f"{name}-{number}")
    return chart


def _draw_side_by_side(parent: ElementTree.Element, d: str, strokes: Sequence[Stroke]) -> None:
    """Several lines instead of one, each moved aside, square to the way that they all go.

    What is moved down or up must still reach both boxes, so the lines run on behind them.
    """
    numbers = [float(number) for number in NUMBER.findall(d)]
    (x1, y1), (x2, y2) = numbers[:2], numbers[-2:]
    behind = _APART * MOST_PATHS / 2
    longer = f"M{x1:g},{y1 - behind:g}L{d[1:]}L{x2:g},{y2 + behind:g}"
    length = hypot(x2 - x1, y2 - y1)
    for number, stroke in enumerate(strokes):
        aside = _APART * (number - (len(strokes) - 1) / 2) / length
        over, down = aside * (y2 - y1), aside * (x1 - x2)
        moved = {"transform": f"translate({over:.1f},{down:.1f})"} if aside else {}
        if stroke is not _PLAIN:
            moved["class"] = f"path path-{STROKES.index(stroke) + 1}"
        stroke.draw(parent, longer, **moved)


def _key_of_paths(routes: Sequence[Route]) -> list[KeyEntry]:
    return [
        make_entry(partial(_draw_sample, stroke), route.words)
        for route, stroke in zip(routes, STROKES, strict=False)
    ]


def _draw_sample(stroke: Stroke, at: ElementTree.Element) -> None:
    stroke.draw(at, f"M2,{HIGH / 2:g}H{WIDE - 2}")
