"""The ancestors of an animal, three to five generations, from left to right.

A mating is the upright line that joins sire and dam, and from its middle a line runs to their
young, as in the pedigree standard turned on its side: a screen is then wide enough for the names.
"""

from collections import Counter, defaultdict
from collections.abc import Hashable
from dataclasses import replace

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.charts.animals import Ancestor, Animal, Chart, are_parents_related
from herdbook.charts.drawing import (
    NAME_SIZE,
    PLAIN,
    ROOM,
    SIZE,
    SYMBOL_ROOM,
    WIDTH,
    Box,
    Mating,
    box_height,
    draw,
)
from herdbook.charts.engine import SECONDS
from herdbook.charts.key import make_key
from herdbook.charts.symbols import Sex
from herdbook.charts.words import clean, fit

GENERATIONS = range(1, 6)
_BETWEEN_COLUMNS = 30
_BETWEEN_MATES = 14
_BETWEEN_PAIRS = 22
_MOST_NAMED = 3
_BADGE_ROOM = 30

# An animal's place in the chart: 1 for the subject, 2n and 2n + 1 for the sire and dam of n.
Slots = dict[int, tuple[Ancestor, ...]]


def ancestors_chart(
    subject: Ancestor,
    generations: int = 3,
    *,
    name: str = "ancestors",
    engine: str | None = None,
    seconds: float = SECONDS,
) -> Chart:
    """Draw the ancestors of `subject`, as many generations back as asked, with a key.

    An ancestor who is not known is a blank box, and so are its own ancestors. An ancestor who
    comes twice stands twice, with the same letter. `name` begins every id in the SVG, so that two
    charts can stand on one page. Raises CannotDraw (and its kinds NoEngine, TooLarge, TookTooLong)
    with a sentence for the page, and ValueError for generations other than 1 to 5 or a link that
    could lead off this site.
    """
    if generations not in GENERATIONS:
        raise ValueError(f"A chart shows 1 to 5 generations of ancestors, not {generations}.")
    slots = _fill_slots(subject, generations)
    letters = _letters_of_repeats(slots)
    boxes = _place([_box(slots, slot, letters) for slot in sorted(slots)], generations)
    matings = _matings(slots, boxes, generations)
    title = _("Ancestors of %(name)s") % {"name": subject.animal.known_as()}
    svg = draw(boxes, matings, title=title, name=name, engine=engine, seconds=seconds)
    return Chart(mark_safe(svg), make_key(boxes, matings))


def _fill_slots(subject: Ancestor, generations: int) -> Slots:
    """Who stands in each place: nobody, one animal, or one of several."""
    slots: Slots = {1: (subject,)}
    for slot in range(1, 2**generations):
        here = slots[slot]
        young = here[0] if len(here) == 1 else None
        slots[2 * slot] = young.sires if young else ()
        slots[2 * slot + 1] = (young.dam,) if young and young.dam else ()
    return slots


def _letters_of_repeats(slots: Slots) -> dict[Hashable, str]:
    """A letter for each animal that is certain in more than one place, in order of meeting."""
    keys = [here[0].animal.key for here in slots.values() if len(here) == 1]
    repeated = [key for key, times in Counter(keys).items() if times > 1]
    return {key: _letters(number) for number, key in enumerate(repeated)}


def _letters(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    rest, letter = divmod(number, 26)
    return (_letters(rest - 1) if rest else "") + chr(ord("A") + letter)


def _box(slots: Slots, slot: int, letters: dict[Hashable, str]) -> Box:
    here = slots[slot]
    sex = Sex.SOW if slot % 2 else Sex.BOAR
    if not here:
        return _blank_box(slots, slot, sex)
    if len(here) > 1:
        return _doubtful_box(here, sex)
    animal = here[0].animal
    box = known_box(animal, letters.get(animal.key, ""))
    return replace(box, subject=slot == 1)


def _blank_box(slots: Slots, slot: int, sex: Sex) -> Box:
    young = slots[slot // 2]
    words = _("Sire not known") if sex is Sex.BOAR else _("Dam not known")
    if len(young) == 1:
        words = f"{words}: {young[0].animal.known_as()}"
    return Box(0, 0, box_height(1), sex, title=words, blank=True)


def known_box(animal: Animal, letters: str = "") -> Box:
    """The box of one animal, not placed yet, with letters where it stands more than once."""
    room = (ROOM - (_BADGE_ROOM if letters else 0)) / NAME_SIZE
    named = [(line, True) for line in fit(animal.known_as(), room, 2)]
    details = [
        (line, False) for text in animal.details() for line in fit(text, ROOM / SIZE / PLAIN, 1)
    ]
    title = animal.in_full()
    if letters:
        title = f"{title}, {_('stands here more than once')} ({letters})"
    return Box(
        0,
        0,
        box_height(len(named) + len(details)),
        animal.sex,
        title=title,
        lines=(*named, *details),
        links=(animal.link,),
        copies=animal.copies,
        died=animal.died,
        letters=letters,
    )


def _doubtful_box(several: tuple[Ancestor, ...], sex: Sex) -> Box:
    """A box that names each of several, a line and a link for each, and their shares below."""
    named = several if len(several) <= _MOST_NAMED else several[: _MOST_NAMED - 1]
    left = len(several) - len(named)
    lines = []
    for number, one in enumerate(named):
        words = _("or %(name)s") if number else "%(name)s"
        lines.append((fit(words % {"name": one.animal.known_as()}, ROOM / NAME_SIZE, 1)[0], True))
    links = [one.animal.link for one in named]
    if left:
        words = ngettext("or %(count)d other", "or %(count)d others", left) % {"count": left}
        lines.append((words, True))
        links.append("")
    shares = ", ".join(one.share for one in named if one.share)
    if shares:
        lines.append((fit(shares, ROOM / SIZE / PLAIN, 1)[0], False))
        links.append("")
    title = _(" or ").join(_in_full_with_share(one) for one in several)
    return Box(
        0,
        0,
        box_height(len(lines)),
        sex,
        title=title,
        lines=tuple(lines),
        links=tuple(links),
        doubtful=True,
    )


def _in_full_with_share(one: Ancestor) -> str:
    share = [_("the sire by %(share)s") % {"share": clean(one.share)}] if one.share else []
    return ", ".join([one.animal.in_full(), *share])


def _place(boxes: list[Box], generations: int) -> list[Box]:
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
            x=(slot.bit_length() - 1) * (WIDTH + _BETWEEN_COLUMNS),
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
                x=sire.x - WIDTH / 2 + SYMBOL_ROOM / 2,
                y=(sire.y + dam.y) / 2,
                related=len(here) == 1 and are_parents_related(here[0]),
                doubtful=sire.doubtful,
                blank=sire.blank and dam.blank,
            )
        )
    return matings
