"""The ancestors of an animal, three to five generations, from left to right.

A mating is the upright line that joins sire and dam, and from its middle a line runs to their
young, as in the pedigree standard turned on its side: a screen is then wide enough for the names.
"""

from collections import defaultdict
from dataclasses import replace
from typing import Any

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from herdbook.charts.animals import Ancestor, Chart, are_parents_related
from herdbook.charts.box_text import BESIDE, Form
from herdbook.charts.drawing import SYMBOL_ROOM, Box, Mating, draw
from herdbook.charts.graphviz import SECONDS
from herdbook.charts.legend import make_key
from herdbook.charts.portrait import stand_upright
from herdbook.charts.positions import Slots, box_in, fill_slots, letters_of_repeats

GENERATIONS = range(1, 6)
_BETWEEN_MATES = 14
_BETWEEN_PAIRS = 22

# The form of boxes and the step from column to column that fit a page, by generations.
_FORMS = dict.fromkeys((1, 2, 3), (BESIDE, BESIDE.width + 30)) | {
    4: (Form(186), 210),
    5: (Form(154), 174),
}


def ancestors_chart(
    subject: Ancestor,
    generations: int = 3,
    *,
    name: str = "ancestors",
    engine: str | None = None,
    seconds: float = SECONDS,
) -> Chart:
    """Draw the ancestors of `subject`, as many generations back as asked, with a key.

    An ancestor who is not known is a blank box, and so are its own ancestors. An ancestor who comes
    twice stands twice, with the same letter. The chart is drawn twice, from left to right and
    upright. `name` begins every id in the SVG, so that two charts can stand on one page. Raises
    DrawingError (and its kinds NoEngineError, ChartTooLargeError, DrawingTimeoutError) with a
    sentence for the page, and ValueError for generations other than 1 to 5 or a link that could
    lead off this site.
    """
    if generations not in GENERATIONS:
        raise ValueError(f"A chart shows 1 to 5 generations of ancestors, not {generations}.")
    slots = fill_slots(subject, generations)
    letters = letters_of_repeats(slots)
    form, step = _FORMS[generations]
    wide = [box_in(slots, slot, letters, form) for slot in sorted(slots)]
    boxes = _place(wide, generations, step)
    matings = _matings(slots, boxes, generations)
    title = _("Ancestors of %(name)s") % {"name": subject.animal.known_as()}
    how: dict[str, Any] = {"title": title, "engine": engine, "seconds": seconds}
    svg = draw(boxes, matings, name=name, **how)
    narrow = stand_upright(slots, letters, generations)
    upright = draw(*narrow, name=f"{name}-upright", pad="0.03", **how)
    return Chart(mark_safe(svg), make_key(boxes, matings), mark_safe(upright))


def _place(boxes: list[Box], generations: int, step: float) -> list[Box]:
    """Put each box in the middle of its two parents, and give a generation's boxes one height."""
    heights: dict[int, float] = defaultdict(float)
    for slot, box in enumerate(boxes, start=1):
        generation = slot.bit_length() - 1
        heights[generation] = max(heights[generation], box.height)
    last = heights[generations] + _BETWEEN_MATES
    pair = max(
        [last + heights[generations] + _BETWEEN_PAIRS]
        + [
            (heights[generation] + _BETWEEN_PAIRS) / 2 ** (generations - 1 - generation)
            for generation in range(generations)
        ]
    )
    y: dict[int, float] = {}
    first = 2**generations
    for slot in range(2 * first - 1, 0, -1):
        if slot >= first:
            y[slot] = -((slot - first) // 2 * pair + (slot - first) % 2 * last)
        else:
            y[slot] = (y[2 * slot] + y[2 * slot + 1]) / 2
    return [
        replace(
            box,
            x=(slot.bit_length() - 1) * step,
            y=y[slot],
            height=heights[slot.bit_length() - 1],
        )
        for slot, box in enumerate(boxes, start=1)
    ]


def _matings(slots: Slots, boxes: list[Box], generations: int) -> list[Mating]:
    matings = []
    for slot in range(1, 2**generations):
        sire, dam = boxes[2 * slot - 1], boxes[2 * slot]
        here = slots[slot]
        matings.append(
            Mating(
                upper=2 * slot - 1,
                lower=2 * slot,
                young=(slot - 1,),
                x=sire.x - sire.width / 2 + SYMBOL_ROOM / 2,
                y=(sire.y + dam.y) / 2,
                related=len(here) == 1 and are_parents_related(here[0]),
                doubtful=sire.doubtful,
                blank=sire.blank and dam.blank,
            )
        )
    return matings
