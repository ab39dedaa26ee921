"""The ancestors of an animal from top to bottom, as narrow as a phone.

The animal stands at the top, its sire and dam side by side below it, and below each of them its own
ancestors: a sire and what comes before him, then the dam, each generation a step to the right. A
line runs down from an animal to its sire, and on to its dam. Whose parent is not known has nobody
drawn behind it.
"""

from collections.abc import Hashable
from dataclasses import dataclass, field, replace

from herdbook.charts.animals import are_parents_related
from herdbook.charts.box_text import Form
from herdbook.charts.drawing import Box, Mating, Stretch
from herdbook.charts.positions import Slots, box_in

_COLUMN = 152
_BETWEEN_COLUMNS = 14
_BETWEEN = 10
_STEP = 11

Letters = dict[Hashable, str]


@dataclass
class _Drawing:
    """The boxes by their places and the lines, as they come; y runs downwards here."""

    slots: Slots
    letters: Letters
    last: int
    boxes: dict[int, Box] = field(default_factory=dict)
    stretches: list[Stretch] = field(default_factory=list)

    def put(self, slot: int, left: float, top: float, width: float) -> Box:
        """Draw one box."""
        form = Form(width, symbol_above=True)
        box = box_in(self.slots, slot, self.letters, form)
        placed = replace(box, x=left + width / 2, y=top + box.height / 2)
        self.boxes[slot] = placed
        return placed

    def has_parents(self, slot: int) -> bool:
        """Whether the chart goes on behind this place."""
        return slot.bit_length() <= self.last and len(self.slots[slot]) == 1

    def fill_column(self, slot: int, left: float, top: float, width: float) -> float:
        """An animal and all that comes before it, one below another; where the next may begin."""
        box = self.put(slot, left, top, width)
        below = top + box.height + _BETWEEN
        if not self.has_parents(slot):
            return below
        aside, narrower = left + _STEP, width - _STEP
        for_dam = self.fill_column(2 * slot, aside, below, narrower)
        below = self.fill_column(2 * slot + 1, aside, for_dam, narrower)
        sire, dam = self.boxes[2 * slot], self.boxes[2 * slot + 1]
        at = aside + _STEP / 2
        self.join((at, box.y), (at, sire.y), slot, related=False)
        self.join((at, sire.y), (at, dam.y), slot)
        return below

    def join(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        slot: int,
        *,
        related: bool | None = None,
    ) -> None:
        """A line between two places of a family; between the mates it is double for relatives."""
        sire, dam = self.boxes[2 * slot], self.boxes[2 * slot + 1]
        between_mates = related is None
        self.stretches.append(
            Stretch(
                start,
                end,
                related=between_mates and are_parents_related(self.slots[slot][0]),
                doubtful=sire.doubtful and not between_mates,
                blank=sire.blank and dam.blank,
            )
        )


def stand_upright(
    slots: Slots, letters: Letters, generations: int
) -> tuple[list[Box], list[Mating], list[Stretch]]:
    """The boxes and lines of the upright chart."""
    drawing = _Drawing(slots, letters, generations)
    middle = _COLUMN + _BETWEEN_COLUMNS / 2
    subject = drawing.put(1, middle - _COLUMN / 2, 0, _COLUMN)
    top = subject.height + _BETWEEN
    for slot, left in ((2, 0), (3, _COLUMN + _BETWEEN_COLUMNS)):
        drawing.fill_column(slot, left, top, _COLUMN)
    sire, dam = drawing.boxes[2], drawing.boxes[3]
    level = top + min(sire.height, dam.height) / 2
    drawing.join((middle, subject.y), (middle, level), 1, related=False)
    drawing.join((sire.x, level), (dam.x, level), 1)
    boxes = [replace(box, y=-box.y) for _slot, box in sorted(drawing.boxes.items())]
    return boxes, [], [_turned(stretch) for stretch in drawing.stretches]


def _turned(stretch: Stretch) -> Stretch:
    (x1, y1), (x2, y2) = stretch.start, stretch.end
    return replace(stretch, start=(x1, -y1), end=(x2, -y2))
