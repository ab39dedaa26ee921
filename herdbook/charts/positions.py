"""Who stands where in a chart of ancestors, whichever way it is drawn."""

from collections import Counter
from collections.abc import Hashable
from dataclasses import replace

from herdbook.charts.animals import Ancestor
from herdbook.charts.box_text import Form, blank_box, doubtful_box, known_box
from herdbook.charts.drawing import Box
from herdbook.charts.symbols import Sex

# An animal's place in the chart: 1 for the subject, 2n and 2n + 1 for the sire and dam of n.
Slots = dict[int, tuple[Ancestor, ...]]


def fill_slots(subject: Ancestor, generations: int) -> Slots:
    """The animal in each place: none, one, or one of several."""
    slots: Slots = {1: (subject,)}
    for slot in range(1, 2**generations):
        here = slots[slot]
        young = here[0] if len(here) == 1 else None
        slots[2 * slot] = young.sires if young else ()
        slots[2 * slot + 1] = (young.dam,) if young and young.dam else ()
    return slots


def letters_of_repeats(slots: Slots) -> dict[Hashable, str]:
    """A letter for each animal that is certain in more than one place, in order of meeting."""
    keys = [here[0].animal.key for here in slots.values() if len(here) == 1]
    repeated = [key for key, times in Counter(keys).items() if times > 1]
    return {key: _letters(number) for number, key in enumerate(repeated)}


def _letters(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    rest, letter = divmod(number, 26)
    return (_letters(rest - 1) if rest else "") + chr(ord("A") + letter)


def box_in(slots: Slots, slot: int, letters: dict[Hashable, str], form: Form) -> Box:
    """The box that stands in a place, not placed yet."""
    here = slots[slot]
    sex = Sex.SOW if slot % 2 else Sex.BOAR
    if not here:
        return blank_box(slots[slot // 2], sex, form)
    if len(here) > 1:
        return doubtful_box(here, sex, form)
    animal = here[0].animal
    return replace(known_box(animal, letters.get(animal.key, ""), form), subject=slot == 1)
