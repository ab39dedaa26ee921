"""The text of a box: of an animal, of one of several, of an unknown parent; as it is drawn."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.charts.animals import Ancestor, Animal, sex_in_words
from herdbook.charts.drawing import (
    EDGE,
    LINE,
    NAME_SIZE,
    PLAIN,
    SIZE,
    SYMBOL_ROOM,
    WIDTH,
    Box,
)
from herdbook.charts.symbols import Sex
from herdbook.charts.text import clean, fit, width

_MOST_NAMED = 3
_BADGE_ROOM = 30

# Words, whether bold, and a link of their own.
Line = tuple[str, bool, str]


@dataclass(frozen=True)
class Form:
    """How a box is drawn: how wide, its symbol beside the words or above them, and whether it says
    no more than who it is."""

    width: float = WIDTH
    symbol_above: bool = False
    brief: bool = False

    @property
    def name_size(self) -> float:
        return SIZE if self.symbol_above else NAME_SIZE

    @property
    def beside(self) -> float:
        """The room beside the symbol, in points."""
        return self.width - SYMBOL_ROOM - EDGE

    @property
    def room(self) -> float:
        """The room of a line that stands by the rule, in points."""
        return self.width - 2 * EDGE if self.symbol_above else self.beside

    @property
    def lines_each(self) -> int:
        """Over how many lines a detail may run."""
        return 1 if self.width >= WIDTH else 2

    def height(self, lines: int) -> float:
        """The height of a box of so many lines, in points."""
        if self.symbol_above:
            return SYMBOL_ROOM + (lines - 1) * LINE + EDGE if lines > 1 else SYMBOL_ROOM
        return max(lines, 1) * LINE + 10


BESIDE = Form()


def known_box(animal: Animal, letters: str = "", form: Form = BESIDE) -> Box:
    """The box of one animal, not placed yet, with letters where it stands more than once."""
    badge = _BADGE_ROOM if letters else 0
    lines = _above(animal, form, badge) if form.symbol_above else _beside(animal, form, badge)
    title = animal.in_full()
    if letters:
        title = ", ".join([title, _("shown more than once")]) + f" ({letters})"
    return Box(
        0,
        0,
        form.height(len(lines)),
        animal.sex,
        title=title,
        lines=tuple(lines),
        links=(animal.link,),
        copies=animal.copies,
        died=animal.died,
        letters=letters,
        width=form.width,
        symbol_above=form.symbol_above,
    )


def _beside(animal: Animal, form: Form, badge: float) -> list[tuple[str, bool]]:
    names = fit(animal.known_as(), (form.room - badge) / form.name_size, 2)
    return [*((line, True) for line in names), *_details(animal.details(), form)]


def _above(animal: Animal, form: Form, badge: float) -> list[tuple[str, bool]]:
    """Beside the symbol what there is room for of number and birth, the name and the rest below."""
    room = (form.beside - badge) / SIZE
    names = [(line, True) for line in fit(animal.known_as(), form.room / SIZE, 3)]
    words = animal.number_and_birth()
    if not words and width(animal.known_as()) <= room:
        first, names = (animal.known_as(), True), []
    else:
        word, words = _first_of(animal, words, room / PLAIN, brief=form.brief)
        first = (fit(word, room / PLAIN, 1)[0], False)
    details = [word for word in (*words, clean(animal.look), clean(animal.dose)) if word]
    return [first, *names, *([] if form.brief else _details(details, form))]


def _first_of(
    animal: Animal, words: list[str], room: float, *, brief: bool
) -> tuple[str, list[str]]:
    """What stands beside a symbol, whole if it can, and what of number and birth is left."""
    if words and width(animal.who_and_when()) <= room:
        return animal.who_and_when(), []
    if words and (brief or width(words[0]) <= room):
        return words[0], words[1:]
    return sex_in_words(animal.sex), words


def _details(details: list[str], form: Form) -> list[tuple[str, bool]]:
    room = form.room / SIZE / PLAIN
    return [(line, False) for text in details for line in fit(text, room, form.lines_each)]


def blank_box(young: tuple[Ancestor, ...], sex: Sex, form: Form) -> Box:
    """The box of an unknown parent."""
    words = _("Unknown sire") if sex is Sex.BOAR else _("Unknown dam")
    if len(young) == 1:
        words = f"{words}: {young[0].animal.known_as()}"
    return Box(
        0,
        0,
        form.height(1),
        sex,
        title=words,
        blank=True,
        width=form.width,
        symbol_above=form.symbol_above,
    )


def doubtful_box(several: tuple[Ancestor, ...], sex: Sex, form: Form) -> Box:
    """A box that names each of several, with a link for each, and their shares."""
    lines = _names_of(several, form)
    shares = ", ".join(one.share for one in several[: _named(several)] if one.share)
    if form.symbol_above:
        word = fit(shares or sex_in_words(sex), form.beside / SIZE / PLAIN, 1)[0]
        lines.insert(0, (word, False, ""))
    elif shares:
        lines.append((fit(shares, form.room / SIZE / PLAIN, 1)[0], False, ""))
    return Box(
        0,
        0,
        form.height(len(lines)),
        sex,
        title=_(" or ").join(_in_full_with_share(one) for one in several),
        lines=tuple(line[:2] for line in lines),
        links=tuple(link for _words, _bold, link in lines),
        doubtful=True,
        width=form.width,
        symbol_above=form.symbol_above,
    )


def _named(several: tuple[Ancestor, ...]) -> int:
    """How many of several are named."""
    return len(several) if len(several) <= _MOST_NAMED else _MOST_NAMED - 1


def _names_of(several: tuple[Ancestor, ...], form: Form) -> list[Line]:
    lines: list[Line] = []
    for number, one in enumerate(several[: _named(several)]):
        words = _("or %(name)s") if number else "%(name)s"
        names = fit(
            words % {"name": one.animal.known_as()}, form.room / form.name_size, form.lines_each
        )
        lines += [(line, True, one.animal.link) for line in names]
    left = len(several) - _named(several)
    if left:
        words = ngettext("or %(count)d other", "or %(count)d others", left) % {"count": left}
        lines.append((words, True, ""))
    return lines


def _in_full_with_share(one: Ancestor) -> str:
    share = [_("%(share)s likely the sire") % {"share": clean(one.share)}] if one.share else []
    return ", ".join([one.animal.in_full(), *share])
