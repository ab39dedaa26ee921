"""Numbers as a breeder says them: ages, doses, counts; chances and inbreeding as the rules do."""

from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from herdbook.book.formatting import (
    about,
    age_on,
    chance,
    coefficient,
    dose_name,
    full_dose_name,
    rounded,
    span,
    uncertain,
)
from herdbook.book.models import Animal
from herdbook.book.models.animal import State
from herdbook.book.models.litter_count import COUNTED
from herdbook.book.models.look import Stage

__all__ = [
    "about",
    "age_of",
    "age_on",
    "chance",
    "coefficient",
    "counted_words",
    "dose_name",
    "full_dose_name",
    "how_exact",
    "likeliest_dose",
    "rounded",
    "span",
    "uncertain",
]


def age_of(animal: Animal, today: date) -> str:
    """'9 days', '7 weeks', '5 months', '2 years 3 months'; for one that died, how old it grew.

    'about' stands before an age whose birth is known to the month or the year alone; '' where
    nothing is known.
    """
    end = today
    if animal.state == State.DIED:
        if animal.left_on is None:
            return ""
        end = animal.left_on.middle
    return age_on(animal, end)


def likeliest_dose(figure) -> str:
    """'clean marked 98%', or why there is none; '' for an animal without a figure."""
    if figure is None:
        return ""
    if figure.likeliest is None:
        return _without_dose(figure)
    said = about if figure.error else chance
    return f"{dose_name(figure.likeliest)} {said(uncertain(figure.chances)[figure.likeliest])}"


def _without_dose(figure: Any) -> str:
    """Why an animal has no dose, in a few words."""
    words = {
        "tangled": _("too complex to work out"),
        "impossible": _("records contradict each other"),
    }
    return words.get(figure.method, str(figure.get_method_display()))


def how_exact(figure) -> str:
    """Whether a dose is exact, and else how far it may be off; '' where there is none."""
    if figure is None or figure.chances is None:
        return ""
    if not figure.error:
        return str(figure.get_method_display()).capitalize()
    return _("%(method)s, give or take %(error)s") % {
        "method": str(figure.get_method_display()).capitalize(),
        "error": chance(figure.error),
    }


def counted_words(count: Any) -> str:
    """'2 coming, 2 with no points' of a count of pups, or of a row of its history."""
    words = {**dict(Stage.choices), Stage.NONE: _("with no points")}
    shown = [(getattr(count, stage), words[Stage(stage)]) for stage in COUNTED]
    return ", ".join(f"{number} {stage}" for number, stage in shown if number)
