"""What cannot be, and what is hard to believe, of a weighing or a look at the points."""

from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _

from ..entries import LookEntry, WeighingEntry
from ..findings import Finding, ask, refuse
from ..models import Animal
from ..models.look import Stage
from . import limits


def weighing_findings(entry: WeighingEntry, *, today: date) -> Iterator[Finding]:
    """What is found of a weighing."""
    yield from _day(entry.animal, entry.on, today)
    if entry.weight_g > limits.WEIGHT_MOST_G:
        yield ask(
            "heavy",
            _("%(animal)s at %(weight)d g. Is that so?")
            % {"animal": entry.animal.label, "weight": entry.weight_g},
            "weight_g",
        )
    before = (
        entry.animal.weighings.filter(on__lt=entry.on).order_by("-on", "-pk").first()
        if entry.animal.pk
        else None
    )
    if before and not before.weight_g / 2 <= entry.weight_g <= before.weight_g * 2.5:
        days = (entry.on - before.on).days
        yield ask(
            "weight-jump",
            _("From %(before)d g to %(now)d g in %(days)d days. Is that so?")
            % {"before": before.weight_g, "now": entry.weight_g, "days": days},
            "weight_g",
        )


def look_findings(entry: LookEntry, *, today: date) -> Iterator[Finding]:
    """What is found of a look at the points."""
    yield from _day(entry.animal, entry.on, today)
    if entry.animal.coat and not entry.animal.shows_points and entry.stage != Stage.NONE:
        yield ask(
            "coat-hides-points",
            _("Points do not show on a body of this colour (%(coat)s). Is that so?")
            % {"coat": entry.animal.get_coat_display()},
            "stage",
        )
    age = entry.animal.age_days(entry.on)
    earliest = {
        Stage.FULL: limits.FULL_POINTS_FROM_DAYS,
        Stage.OVERMARKED: limits.OVERMARKED_FROM_DAYS,
    }.get(entry.stage)
    if age is not None and earliest is not None and 0 <= age < earliest:
        yield ask(
            "points-early",
            _("That is early: %(animal)s is %(days)d days old. Is that so?")
            % {"animal": entry.animal.label, "days": age},
            "stage",
        )
    yield from _points_gone(entry)


def _points_gone(entry: LookEntry) -> Iterator[Finding]:
    if entry.stage != Stage.NONE or not entry.animal.pk:
        return
    shown = entry.animal.looks.filter(
        on__lt=entry.on, stage__in=[Stage.FULL, Stage.OVERMARKED]
    ).first()
    if shown:
        yield ask(
            "points-gone",
            _("On %(date)s its points were written as %(stage)s. Are they gone now?")
            % {"date": shown.on.strftime("%d.%m.%Y"), "stage": shown.get_stage_display()},
            "stage",
        )


def _day(animal: Animal, on: date, today: date) -> Iterator[Finding]:
    if on > today:
        yield refuse("future", _("That day is still to come. Put in the day it was."), "on")
    if animal.born is not None and on < animal.born.earliest:
        yield refuse(
            "before-birth",
            _("%(animal)s was born on %(date)s. Put in a later day.")
            % {"animal": animal.label, "date": animal.born.words()},
            "on",
        )
