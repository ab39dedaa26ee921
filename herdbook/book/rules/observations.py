"""What cannot be, and what is hard to believe, of a weighing or a look at the points."""

from collections.abc import Iterator
from datetime import date

from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from .. import limits
from ..inputs import JudgementEntry, LookEntry, WeighingEntry
from ..models import Animal, Look, Weighing
from ..models.animal import State
from ..models.look import Density, Stage
from .date_bounds import long_ago
from .findings import Finding, ask, refuse


def weighing_findings(
    entry: WeighingEntry, *, today: date, weighing: Weighing | None = None
) -> Iterator[Finding]:
    """What is found of a weighing; ``weighing`` is the one that is corrected."""
    yield from _day(entry.animal, entry.on, today)
    others = entry.animal.weighings.all()
    if weighing is not None:
        others = others.exclude(pk=weighing.pk)
    same_day = others.filter(on=entry.on).first()
    if same_day:
        yield ask(
            "same-day",
            _("%(animal)s was weighed that day: %(weight)d g. Is this a second weight?")
            % {"animal": entry.animal.label, "weight": same_day.weight_g},
            "on",
        )
    if entry.weight_g > limits.WEIGHT_MOST_G:
        yield ask(
            "heavy",
            _("%(animal)s at %(weight)d g. Is that right?")
            % {"animal": entry.animal.label, "weight": entry.weight_g},
            "weight_g",
        )
    yield from _weight_jump(entry, others)


def _weight_jump(entry: WeighingEntry, others: QuerySet[Weighing]) -> Iterator[Finding]:
    before = others.filter(on__lt=entry.on).order_by("-on", "-pk").first()
    born, weight_g, day = entry.animal.born, entry.animal.birth_weight_g, None
    if before:
        weight_g, day = before.weight_g, before.on
    elif born is not None and born.precision == "day":
        day = born.earliest
    if weight_g is None or day is None or day > entry.on:
        return
    days = (entry.on - day).days
    most = weight_g * limits.WEIGHT_JUMP_MOST + days * limits.WEIGHT_GAIN_MOST_G
    if not weight_g / 2 <= entry.weight_g <= most:
        yield ask(
            "weight-jump",
            _("%(animal)s from %(before)d g to %(now)d g in %(days)d days. Is that right?")
            % {
                "animal": entry.animal.label,
                "before": weight_g,
                "now": entry.weight_g,
                "days": days,
            },
            "weight_g",
        )


def judgement_findings(entry: JudgementEntry, *, today: date) -> Iterator[Finding]:
    """What is found of a judgement: its day alone, for the verdict is the judge's."""
    yield from _day(entry.animal, entry.on, today)


def look_findings(entry: LookEntry, *, today: date, look: Look | None = None) -> Iterator[Finding]:
    """What is found of a look at the points; ``look`` is the one that is corrected."""
    others = entry.animal.looks.all()
    if look is not None:
        others = others.exclude(pk=look.pk)
    if others.filter(on=entry.on).exists():
        yield ask(
            "same-day",
            _("%(animal)s was already checked that day. Is this a second check?")
            % {"animal": entry.animal.label},
            "on",
        )
    yield from lone_look_findings(entry, today=today)
    if entry.stage == Stage.NONE:
        yield from _points_gone(entry, others)


def lone_look_findings(entry: LookEntry, *, today: date) -> Iterator[Finding]:
    """What is found of a look by itself, whatever else was seen; the animal may be unsaved."""
    yield from _day(entry.animal, entry.on, today)
    if entry.values.get("smut") == Density.NONE and entry.values.get("spread"):
        yield refuse(
            "spread-without-smut",
            _("Without smut there is nothing to spread. Clear one of the two."),
            "spread",
        )
    if entry.animal.coat and not entry.animal.shows_points and entry.stage != Stage.NONE:
        yield ask(
            "coat-hides-points",
            _("Points do not show on a body of this colour (%(animal)s, %(coat)s). Is that right?")
            % {"animal": entry.animal.label, "coat": entry.animal.get_coat_display()},
            "stage",
        )
    age = entry.animal.age_days(entry.on)
    first_days: dict[str, int] = {
        Stage.FULL: limits.FULL_POINTS_FROM_DAYS,
        Stage.OVERMARKED: limits.OVERMARKED_FROM_DAYS,
    }
    earliest = first_days.get(entry.stage)
    if age is not None and earliest is not None and 0 <= age < earliest:
        yield ask(
            "points-early",
            _("That is early: %(animal)s is %(days)d days old. Is that right?")
            % {"animal": entry.animal.label, "days": age},
            "stage",
        )


def _points_gone(entry: LookEntry, others: QuerySet[Look]) -> Iterator[Finding]:
    shown = others.filter(on__lt=entry.on, stage__in=[Stage.FULL, Stage.OVERMARKED]).last()
    if shown:
        yield ask(
            "points-gone",
            _("On %(date)s the points of %(animal)s were %(stage)s. Are they gone now?")
            % {
                "animal": entry.animal.label,
                "date": date_format(shown.on, "j F Y"),
                "stage": shown.get_stage_display(),
            },
            "stage",
        )


def _day(animal: Animal, on: date, today: date) -> Iterator[Finding]:
    yield from long_ago(on, "on")
    if on > today:
        yield refuse("future", _("That date is in the future."), "on")
    if animal.born is not None and on < animal.born.earliest:
        yield refuse(
            "before-birth",
            _("%(animal)s was born on %(date)s. Enter a later date.")
            % {"animal": animal.label, "date": animal.born.words()},
            "on",
        )
    left = animal.left_on if animal.state in (State.DIED, State.SOLD) else None
    if left is not None and on > left.latest:
        message = (
            _("%(animal)s died on %(date)s. Was this after that?")
            if animal.state == State.DIED
            else _("%(animal)s was sold on %(date)s. Was this after that?")
        )
        yield ask("after-left", message % {"animal": animal.label, "date": left.words()}, "on")
