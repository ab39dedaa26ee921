"""What cannot be, and what is hard to believe, of pups seen together and not told apart."""

from collections.abc import Iterable, Iterator
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from .. import limits
from ..inputs import CountEntry
from ..models import Litter, LitterCount, Look
from ..models.animal import State
from ..models.look import Stage
from .date_bounds import long_ago
from .findings import Finding, ask, refuse


def count_findings(
    entry: CountEntry, *, today: date, count: LitterCount | None = None
) -> Iterator[Finding]:
    """What is found of a count; ``count`` is the one that is corrected."""
    yield from _day(entry, today)
    yield from _numbers(entry)
    yield from _pups(entry)
    yield from _early(entry)
    yield from _seen_already(entry, count)


def named_findings(counts: Iterable[LitterCount], pups: int) -> Iterator[Finding]:
    """What is found where so many pups are given a line that were nameless in these counts."""
    for count in counts:
        if pups > count.nameless:
            yield refuse(
                f"more-than-counted:{count.pk}",
                ngettext(
                    "Only %(count)d unlisted pup was counted on %(date)s. Add that one first, then "
                    "the others.",
                    "Only %(count)d unlisted pups were counted on %(date)s. Add those first, then "
                    "the others.",
                    count.nameless,
                )
                % {"count": count.nameless, "date": date_format(count.on, "j F Y")},
            )


def without_a_line(litter: Litter) -> int:
    """How many pups born alive have no line of their own."""
    return max((litter.born_alive or 0) - litter.pups.count(), 0)


def _day(entry: CountEntry, today: date) -> Iterator[Finding]:
    born = entry.litter.born
    yield from long_ago(entry.on, "on")
    if entry.on > today:
        yield refuse("future", _("That date is in the future."), "on")
    if born is None:
        yield refuse(
            "no-birth-date",
            _("When was the litter born? Enter that first: points are judged by age."),
            "on",
        )
    elif entry.on < born.earliest:
        yield refuse(
            "before-birth",
            _("The litter was born on %(date)s. Enter a later date.") % {"date": born.words()},
            "on",
        )


def _numbers(entry: CountEntry) -> Iterator[Finding]:
    nameless, left = without_a_line(entry.litter), entry.there - entry.total
    if entry.total == 0:
        yield refuse("nothing-counted", _("How many pups showed what? Enter a number."), "none")
    elif entry.there == 1 and entry.pups:
        yield refuse("one-pup", _("This is one listed pup: check it by name instead."), "pups")
    if entry.nameless > nameless:
        yield refuse(
            "more-than-nameless",
            ngettext(
                "%(count)d pup of this litter is unlisted. Enter no more than that, or edit the "
                "number born alive.",
                "%(count)d pups of this litter are unlisted. Enter no more than that, or edit the "
                "number born alive.",
                nameless,
            )
            % {"count": nameless},
            "nameless",
        )
    if left < 0:
        yield refuse(
            "more-than-there",
            (
                _(
                    "%(total)d pups are counted, but only %(there)d were there. One number is "
                    "wrong, or enter below how many others were there."
                )
                if entry.nameless < nameless
                else _(
                    "%(total)d pups are counted, but only %(there)d were there. One number is "
                    "wrong."
                )
            )
            % {"total": entry.total, "there": entry.there},
            "none",
        )
    elif left and entry.total:
        yield ask(
            f"left-out:{left}",
            ngettext(
                "%(count)d of these pups is not counted. Was it not checked?",
                "%(count)d of these pups are not counted. Were they not checked?",
                left,
            )
            % {"count": left},
            "none",
        )


def _pups(entry: CountEntry) -> Iterator[Finding]:
    for pup in entry.pups:
        words = {"animal": pup.label, "coat": pup.get_coat_display()}
        if pup.litter_id != entry.litter.pk:
            yield refuse(
                f"not-of-the-litter:{pup.pk}",
                _("%(animal)s is from another litter. Untick it.") % words,
                "pups",
            )
        elif pup.coat and not pup.shows_points:
            yield refuse(
                f"coat-hides-points:{pup.pk}",
                _("Points do not show on a body of this colour (%(animal)s, %(coat)s). Untick it.")
                % words,
                "pups",
            )
        left = pup.left_on if pup.state in (State.DIED, State.SOLD) else None
        if left is not None and entry.on > left.latest:
            yield ask(
                f"after-left:{pup.pk}",
                _("%(animal)s left on %(date)s. Was this after that?")
                % {"animal": pup.label, "date": left.words()},
                "on",
            )


def _early(entry: CountEntry) -> Iterator[Finding]:
    if entry.litter.born is None:
        return
    days = (entry.on - entry.litter.born.middle).days
    for stage, earliest in (
        (Stage.FULL, limits.FULL_POINTS_FROM_DAYS),
        (Stage.OVERMARKED, limits.OVERMARKED_FROM_DAYS),
    ):
        if entry.counted.get(stage) and 0 <= days < earliest:
            yield ask(
                f"points-early:{stage}",
                _("That is early: they are %(days)d days old. Is that right?") % {"days": days},
                str(stage),
            )


def _seen_already(entry: CountEntry, count: LitterCount | None) -> Iterator[Finding]:
    others = entry.litter.counts.all()
    if count is not None:
        others = others.exclude(pk=count.pk)
    if others.filter(on=entry.on).exists():
        yield ask(
            "same-day",
            _("Pups of this litter were already counted that day. Is this a second count?"),
            "on",
        )
    looks = Look.objects.filter(animal__in=[pup.pk for pup in entry.pups], on=entry.on)
    for look in looks.select_related("animal__litter"):
        yield ask(
            f"looked-at:{look.animal_id}",
            _("%(animal)s was checked by name on %(date)s. Is it one of these too?")
            % {"animal": look.animal.label, "date": date_format(entry.on, "j F Y")},
            "pups",
        )
