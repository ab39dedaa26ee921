"""The words of a dose on the printed papers: facts in, sentences out."""

from collections.abc import Callable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.formatting import about, chance, dose_name, full_dose_name

from ..dose_statement import BoughtAs, CoatHides, DoseStatement, Ground, Look, ParentDoses, Young

# At odds of two to one a dose is called probable (common practice, no source).
PROBABLY_FROM = 2 / 3


def one_of(names: tuple[str, ...]) -> str:
    """Give a choice: 'A', 'A or B', 'A, B or C'."""
    if len(names) < 2:
        return "".join(names)
    return _("%(first)s or %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def sentence(text: str) -> str:
    """Begin with a capital and end with a full stop."""
    text = text[:1].upper() + text[1:]
    return text if not text or text[-1] in ".!?…" else text + "."


# Dose


def dose_words(dose: int | None) -> str:
    """Name a dose in full, or state that it is not known."""
    return _("dose not known") if dose is None else full_dose_name(dose)


def dose_headline(statement: DoseStatement) -> str:
    """Give the dose and how it is known, in one line."""
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
        line = _("most likely %(dose)s, not yet certain") % words
    return line[:1].upper() + line[1:]


def dose_chance(statement: DoseStatement) -> str:
    """Give the chance on one line; '' where none was worked out."""
    if statement.chance is None:
        return ""
    if statement.error:
        return _not_exact(statement, statement.chance)
    words = {"chance": chance(statement.chance)}
    if statement.kind == "seen":
        return _("Chance by all records: %(chance)s.") % words
    return _("Chance: %(chance)s.") % words


def _not_exact(statement: DoseStatement, likeliest: float) -> str:
    """Such as 'Chance: about 83%, give or take 8% (not exact)'."""
    words = {"chance": about(likeliest), "error": chance(statement.error)}
    if statement.kind == "seen":
        return _("By all records: %(chance)s, give or take %(error)s (not exact).") % words
    return _("Chance: %(chance)s, give or take %(error)s (not exact).") % words


def dose_grounds(statement: DoseStatement) -> str:
    """Give the grounds of a dose, or state that there are none."""
    if statement.grounds:
        return " ".join(sentence(ground_words(ground)) for ground in statement.grounds)
    if statement.kind == "seen":
        return _("The age and date of the check are not recorded.")
    return _("No record tells which dose it has.")


def dose_short(statement: DoseStatement) -> str:
    """Name a dose in an ancestor's box."""
    dose = dose_words(None) if statement.dose is None else dose_name(statement.dose)
    if statement.kind == "seen":
        return _("%(dose)s, seen") % {"dose": dose}
    if statement.kind == "proved":
        return _("%(dose)s, proved") % {"dose": dose}
    if statement.kind == "probable" and statement.chance is not None:
        said = about if statement.error else chance
        return _("%(dose)s, %(chance)s") % {"dose": dose, "chance": said(statement.chance)}
    return dose


def ground_words(ground: Ground) -> str:
    """Put one ground of a dose in words."""
    if isinstance(ground, str):
        return ground
    return _GROUNDS[type(ground)](ground)


def _look_words(look: Look) -> str:
    seen = {
        "none": _("no points"),
        "coming": _("points coming in"),
        "full": _("clean marked, points full"),
        "overmarked": _("overmarked, smut over the face"),
    }[look.stage]
    if look.age:
        seen = _("%(seen)s at %(age)s") % {"seen": seen, "age": look.age}
    if look.seen_on:
        seen = _("%(seen)s (%(day)s)") % {"seen": seen, "day": look.seen_on}
    return seen


def _phenotypes(young: Young) -> list[str]:
    said = []
    if young.selfs:
        said.append(ngettext("%(n)d self", "%(n)d selfs", young.selfs) % {"n": young.selfs})
    if young.marked:
        said.append(_("%(n)d clean marked") % {"n": young.marked})
    if young.overmarked:
        said.append(_("%(n)d overmarked") % {"n": young.overmarked})
    return said


def _young_words(young: Young) -> str:
    mates = {
        "": _("from all matings"),
        "self": _("mated to selfs"),
        "marked": _("mated to clean marked mates"),
        "overmarked": _("mated to overmarked mates"),
    }[young.mates]
    counted = ngettext("%(n)d judged pup", "%(n)d judged pups", young.total) % {"n": young.total}
    return _("%(mates)s: %(counted)s (%(what)s)") % {
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
        "marked": _("bought as clean marked"),
        "overmarked": _("bought as overmarked"),
    }[bought.phenotype]


def _coat_words(coat: CoatHides) -> str:
    return _("points cannot be seen on its %(coat)s coat") % {"coat": coat.coat}


_GROUNDS: dict[type, Callable[[Any], str]] = {
    Look: _look_words,
    Young: _young_words,
    ParentDoses: _parents_words,
    BoughtAs: _bought_words,
    CoatHides: _coat_words,
}
