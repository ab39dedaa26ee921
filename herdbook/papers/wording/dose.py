"""The words of the printed papers, in one place. Facts in, sentences out."""

from collections.abc import Callable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.formatting import about, chance

from ..dose_statement import BoughtAs, CoatHides, DoseStatement, Ground, Look, ParentDoses, Young

# From two to one on a dose is called probable (common practice, no source): at evens nothing is.
PROBABLY_FROM = 2 / 3


def one_of(names: tuple[str, ...]) -> str:
    """Say a choice: 'A', 'A or B', 'A, B or C'."""
    if len(names) < 2:
        return "".join(names)
    return _("%(first)s or %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def sentence(text: str) -> str:
    """Begin with a capital and end with a full stop."""
    text = text[:1].upper() + text[1:]
    return text if not text or text[-1] in ".!?…" else text + "."


# Dose


def dose_words(dose: int | None) -> str:
    """Say a dose in full."""
    return {
        None: _("dose not known"),
        0: _("no dose (a self)"),
        1: _("one dose"),
        2: _("two doses"),
    }[dose]


def dose_headline(statement: DoseStatement) -> str:
    """Say the dose and how it is known, in one line."""
    words = {"dose": dose_words(statement.dose)}
    if statement.kind == "unknown":
        return _("Dose not known")
    if statement.kind == "seen":
        line = _("%(dose)s, as seen by the seller") % words
    elif statement.kind == "proved":
        line = _("%(dose)s, proved by offspring") % words
    elif (statement.chance or 0) >= PROBABLY_FROM:
        line = _("probably %(dose)s") % words
    else:
        line = _("perhaps %(dose)s, the likeliest of the three") % words
    return line[:1].upper() + line[1:]


def dose_chance(statement: DoseStatement) -> str:
    """Say the chance on one line, and what it allows for; '' where none was reckoned."""
    if statement.chance is None:
        return ""
    if statement.error:
        return _not_exact(statement)
    words = {"chance": chance(statement.chance)}
    if statement.kind == "seen":
        return sentence(_("reckoned from the whole book: %(chance)s") % words)
    return sentence(_("%(chance)s, wrong records allowed for") % words)


def _not_exact(statement: DoseStatement) -> str:
    """Such as 'About 83%, give or take 8%, not exact'."""
    said = _("%(about)s, give or take %(error)s, not exact") % {
        "about": about(statement.chance),
        "error": chance(statement.error),
    }
    return sentence(_("reckoned: %(said)s") % {"said": said} if statement.kind == "seen" else said)


def dose_grounds(statement: DoseStatement) -> str:
    """Say what a dose rests on, or that it rests on nothing."""
    if statement.grounds:
        return " ".join(sentence(ground_words(ground)) for ground in statement.grounds)
    if statement.kind == "seen":
        return _("No age or date of the look was written down.")
    return _("Nothing in the book speaks for one dose or another.")


def dose_short(statement: DoseStatement) -> str:
    """Say a dose in an ancestor's box."""
    dose = dose_words(statement.dose)
    if statement.kind == "seen":
        return _("%(dose)s, seen") % {"dose": dose}
    if statement.kind == "proved":
        return _("%(dose)s, proved") % {"dose": dose}
    if statement.kind == "probable":
        said = about if statement.error else chance
        return _("%(dose)s, %(chance)s") % {"dose": dose, "chance": said(statement.chance)}
    return dose


def ground_words(ground: Ground) -> str:
    """Say one ground of a dose."""
    if isinstance(ground, str):
        return ground
    return _GROUNDS[type(ground)](ground)


def _look_words(look: Look) -> str:
    seen = {
        "none": _("no points seen"),
        "coming": _("points coming"),
        "full": _("full points and a clean pattern"),
        "overmarked": _("overmarked: the smut spread over the face"),
    }[look.stage]
    if look.age:
        seen = _("%(seen)s at %(age)s") % {"seen": seen, "age": look.age}
    if look.seen_on:
        seen = _("%(seen)s, seen on %(day)s") % {"seen": seen, "day": look.seen_on}
    return seen


def _phenotypes(young: Young) -> list[str]:
    said = []
    if young.selfs:
        said.append(ngettext("%(n)d self", "%(n)d selfs", young.selfs) % {"n": young.selfs})
    if young.marked:
        said.append(_("%(n)d marked") % {"n": young.marked})
    if young.overmarked:
        said.append(_("%(n)d overmarked") % {"n": young.overmarked})
    return said


def _young_words(young: Young) -> str:
    mates = {
        "": _("its young"),
        "self": _("put to selfs"),
        "marked": _("put to marked mates"),
        "overmarked": _("put to overmarked mates"),
    }[young.mates]
    counted = ngettext("%(n)d judged pup", "%(n)d judged pups", young.total) % {"n": young.total}
    return _("%(mates)s, %(counted)s: %(what)s") % {
        "counted": counted,
        "mates": mates,
        "what": ", ".join(_phenotypes(young)),
    }


def _parents_words(parents: ParentDoses) -> str:
    return _("from its parents: sire %(sire)s, dam %(dam)s") % {
        "sire": dose_words(parents.sire),
        "dam": dose_words(parents.dam),
    }


def _bought_words(bought: BoughtAs) -> str:
    return {
        "self": _("bought as a self"),
        "marked": _("bought as marked"),
        "overmarked": _("bought as overmarked"),
    }[bought.phenotype]


def _coat_words(coat: CoatHides) -> str:
    return _("a %(coat)s coat hides the points, so nothing can be seen") % {"coat": coat.coat}


_GROUNDS: dict[type, Callable[[Any], str]] = {
    Look: _look_words,
    Young: _young_words,
    ParentDoses: _parents_words,
    BoughtAs: _bought_words,
    CoatHides: _coat_words,
}
