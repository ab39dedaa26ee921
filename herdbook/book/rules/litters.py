"""What cannot be, and what is hard to believe, of a litter and its parents."""

from collections.abc import Iterator
from datetime import date, timedelta

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from .. import limits
from ..inputs import LitterEntry, ParentsEntry
from ..models import Animal, Herd, Litter, Look, Weighing
from ..models.animal import Sex, State
from ..partial_date import PartialDate
from .counts import without_a_line
from .date_bounds import long_ago
from .findings import Finding, ask, refuse
from .pups import pups_findings

# What is asked where a dam's litters lie close, before the key of the other litter.
CLOSE = "litters-close:"


def litter_findings(
    entry: LitterEntry, *, herd: Herd, today: date, litter: Litter | None = None
) -> list[Finding]:
    """Everything found of a litter born at home.

    ``litter`` is the one that is corrected; the entry's pups come on top of those it has.
    """
    written = litter.pups.count() if litter else 0
    found = list(parents_findings(entry, today=today, litter=litter))
    found += _counts(entry, written, without_a_line(litter) if litter else 0)
    found += _boar_dates(entry, today)
    if entry.born is not None:
        found += _mating_window(entry, entry.born)
        found += _other_litters(entry, entry.born, litter)
        found += _dam_came_later(entry, entry.born)
    if entry.dam is None:
        message = _("No dam is entered. Is she unknown?")
        found.append(ask("no-dam", message, "dam"))
    found += pups_findings(entry.pups, herd=herd)
    return found


def parents_findings(
    entry: ParentsEntry, *, today: date, litter: Litter | None = None
) -> Iterator[Finding]:
    """What holds of any parentage, at home or from paper."""
    yield from long_ago(entry.born, "born")
    if entry.born is not None and entry.born.earliest > today:
        yield refuse(
            "birth-in-future",
            _("%(born)s is in the future. Enter the date of birth.") % {"born": entry.born.words()},
            "born",
        )
    if entry.dam is not None:
        yield from _parent(entry.dam, entry.born, sow=True)
    for boar in entry.boars:
        yield from _parent(boar, entry.born, sow=False)
    if entry.dam is not None and entry.dam in entry.boars:
        yield refuse(
            "dam-is-sire",
            _("%(animal)s is entered as both dam and sire. Remove it from one.")
            % {"animal": entry.dam.label},
            "boars",
        )
    if litter is not None:
        yield from _own_ancestor(entry, litter)
        if entry.born is not None:
            yield from _born_before_its_records(entry.born, litter)


def _parent(parent: Animal, born: PartialDate | None, *, sow: bool) -> Iterator[Finding]:
    field = "dam" if sow else "boars"
    if parent.sex == (Sex.BOAR if sow else Sex.SOW):
        message = (
            _("%(animal)s is a boar: choose a sow as dam.")
            if sow
            else _("%(animal)s is a sow: choose a boar as sire.")
        )
        yield refuse(f"wrong-sex:{parent.pk}", message % {"animal": parent.label}, field)
    if born is None:
        return
    if parent.born is not None:
        yield from _parent_age(parent, parent.born, born, sow=sow)
    yield from _parent_gone(parent, born, sow=sow)


def _parent_age(
    parent: Animal, parent_born: PartialDate, born: PartialDate, *, sow: bool
) -> Iterator[Finding]:
    field = "dam" if sow else "boars"
    if parent_born.earliest >= born.latest:
        yield refuse(
            f"parent-too-young:{parent.pk}",
            _(
                "%(animal)s was born on %(date)s, not before this litter. One of these dates "
                "must be wrong."
            )
            % {"animal": parent.label, "date": parent_born.words()},
            field,
        )
        return
    oldest = (born.latest - parent_born.earliest).days - limits.GESTATION_SHORTEST_DAYS
    if oldest <= 0:
        yield refuse(
            f"conceived-before-parent:{parent.pk}",
            _(
                "%(animal)s was born on %(date)s, too late to be a parent: this litter was "
                "conceived by then, at least %(days)d days before birth. One of these dates must "
                "be wrong."
            )
            % {
                "animal": parent.label,
                "date": parent_born.words(),
                "days": limits.GESTATION_SHORTEST_DAYS,
            },
            field,
        )
        return
    least = limits.SOW_CONCEIVES_FROM_DAYS if sow else limits.BOAR_SIRES_FROM_DAYS
    if oldest < least:
        yield ask(
            f"young-parent:{parent.pk}",
            _("%(animal)s was at most %(days)d days old at conception. Is that right?")
            % {"animal": parent.label, "days": oldest},
            field,
        )


def _parent_gone(parent: Animal, born: PartialDate, *, sow: bool) -> Iterator[Finding]:
    if parent.state not in (State.DIED, State.SOLD) or parent.left_on is None:
        return
    gone = parent.left_on.latest
    words = {"animal": parent.label, "date": parent.left_on.words()}
    if sow and gone < born.earliest:
        if parent.state == State.DIED:
            message = _(
                "%(animal)s died on %(date)s, before this birth. One of these dates must be wrong."
            )
            yield refuse(f"dam-dead:{parent.pk}", message % words, "dam")
        else:
            message = _("%(animal)s was sold on %(date)s, before this birth. Is that right?")
            yield ask(f"dam-sold:{parent.pk}", message % words, "dam")
    if not sow and gone + timedelta(days=limits.GESTATION_LONGEST_DAYS) < born.earliest:
        message = _(
            "%(animal)s left the herd on %(date)s, too early to sire this litter. Is that right?"
        )
        yield ask(f"sire-gone:{parent.pk}", message % words, "boars")


def _own_ancestor(entry: ParentsEntry, litter: Litter) -> Iterator[Finding]:
    """No parent may descend from the litter that it is put over."""
    descended = descendants_of(litter)
    for parent in filter(None, (entry.dam, *entry.boars)):
        if parent.pk in descended:
            yield refuse(
                f"own-ancestor:{parent.pk}",
                _("%(animal)s descends from this litter, so it cannot be its parent.")
                % {"animal": parent.label},
                "dam" if parent == entry.dam else "boars",
            )


def _born_before_its_records(born: PartialDate, litter: Litter) -> Iterator[Finding]:
    """No pup may have young, a look or a weighing before the day that its birth is put on."""
    pups = litter.pups.all()
    young = Litter.objects.filter(Q(dam__in=pups) | Q(sires__boar__in=pups))
    births = [one.born for one in young if one.born is not None]
    first = min(births, key=lambda day: day.latest, default=None)
    if first is not None and born.earliest >= first.latest:
        yield refuse(
            "younger-than-its-young",
            _(
                "It has pups born on %(date)s, before its own birth. One of these dates must be "
                "wrong."
            )
            % {"date": first.words()},
            "born",
        )
    for rows in (Look.objects, Weighing.objects):
        seen = rows.filter(animal__in=pups, on__lt=born.earliest).order_by("on").first()
        if seen is not None:
            yield refuse(
                f"seen-before-birth:{seen.pk}",
                _(
                    "%(animal)s was checked or weighed before that, on %(date)s. One of these "
                    "dates is wrong."
                )
                % {"animal": seen.animal.label, "date": PartialDate.of(seen.on).words()},
                "born",
            )
    counted = litter.counts.filter(on__lt=born.earliest).first()
    if counted is not None:
        yield refuse(
            f"counted-before-birth:{counted.pk}",
            _("Its pups were counted before that, on %(date)s. One of these dates must be wrong.")
            % {"date": PartialDate.of(counted.on).words()},
            "born",
        )


def descendants_of(litter: Litter) -> set[int]:
    """Keys of the pups of a litter and of all that come from them."""
    found: set[int] = set()
    generation = set(litter.pups.values_list("pk", flat=True))
    while generation - found:
        found |= generation
        by_sows = Animal.objects.filter(litter__dam__in=generation)
        by_boars = Animal.objects.filter(litter__sires__boar__in=generation)
        generation = set(by_sows.values_list("pk", flat=True)) | set(
            by_boars.values_list("pk", flat=True)
        )
    return found


def _counts(entry: LitterEntry, written: int, left_out: int) -> Iterator[Finding]:
    """``left_out``: how many born alive stood without a line before, which is not asked again."""
    if entry.born is None:
        yield refuse("no-birth-date", _("When was the litter born? Enter the date."), "born")
    rows = written + len(entry.pups)
    alive = entry.born_alive if entry.born_alive is not None else rows
    if alive + entry.born_dead == 0:
        yield refuse(
            "empty-litter", _("How many pups were there? Add one, alive or dead."), "born_alive"
        )
    if rows > alive:
        yield refuse(
            "more-pups-than-alive",
            _("You listed %(rows)d pups but only %(alive)d born alive. One number is wrong.")
            % {"rows": rows, "alive": alive},
            "born_alive",
        )
    unnamed = alive - rows
    if unnamed > left_out:
        yield ask(
            "pups-not-written",
            ngettext(
                "You counted %(count)d more pup than you listed. Leave it unlisted?",
                "You counted %(count)d more pups than you listed. Leave them unlisted?",
                unnamed,
            )
            % {"count": unnamed},
            "born_alive",
        )
    if alive + entry.born_dead > limits.LITTER_SIZE_MOST:
        yield ask(
            "large-litter",
            _("%(count)d pups in one litter. Is that right?") % {"count": alive + entry.born_dead},
            "born_alive",
        )


def _boar_dates(entry: LitterEntry, today: date) -> Iterator[Finding]:
    for field in ("boar_in", "boar_out"):
        day = getattr(entry, field)
        yield from long_ago(day, field)
        if day is not None and day.earliest > today:
            yield refuse(
                "future-boar-in" if field == "boar_in" else "future-boar-out",
                _("%(day)s is in the future. Enter a past date or leave it blank.")
                % {"day": day.words()},
                field,
            )
    if entry.boar_in and entry.boar_out and entry.boar_out.latest < entry.boar_in.earliest:
        yield refuse(
            "boar-out-before-in",
            _("The boar was taken out before he was put in. One of these dates must be wrong."),
            "boar_out",
        )


def _mating_window(entry: LitterEntry, born: PartialDate) -> Iterator[Finding]:
    if entry.boar_in:
        days = (born.latest - entry.boar_in.earliest).days
        if days < 0:
            yield ask(
                "born-early",
                _("The boar was put in on %(date)s, after this birth. Is that right?")
                % {"date": entry.boar_in.words()},
                "boar_in",
            )
        elif days < limits.GESTATION_SHORTEST_DAYS:
            yield ask(
                "born-early",
                _(
                    "Born %(days)d days after the boar went in; %(least)d is the least. Is that "
                    "right?"
                )
                % {"days": days, "least": limits.GESTATION_SHORTEST_DAYS},
                "boar_in",
            )
    if entry.boar_out:
        days = (born.earliest - entry.boar_out.latest).days
        if days > limits.GESTATION_LONGEST_DAYS:
            yield ask(
                "born-late",
                _(
                    "Born %(days)d days after the boar came out; %(most)d is the most. Is that "
                    "right?"
                )
                % {"days": days, "most": limits.GESTATION_LONGEST_DAYS},
                "boar_out",
            )


def _other_litters(
    entry: LitterEntry, born: PartialDate, litter: Litter | None
) -> Iterator[Finding]:
    if entry.dam is None:
        return
    for other in entry.dam.litters.all():
        if other == litter or other.born is None:
            continue
        days = abs((born.middle - other.born.middle).days)
        if days < limits.GESTATION_SHORTEST_DAYS:
            question = _how_close(entry.dam, born, other.born, days)
            yield ask(f"{CLOSE}{other.pk}", question, "born")


def _how_close(dam: Animal, born: PartialDate, other: PartialDate, days: int) -> str:
    """A litter of the very same date is most likely this one: a page that was saved, gone back to
    and sent again. Still a question, since a keeper may write one litter in two parts."""
    words = {"animal": dam.label, "date": other.words(), "days": days}
    if other == born:
        return _("%(animal)s already has a litter of %(date)s. Is this another one?") % words
    return _("%(animal)s has a litter of %(date)s, %(days)d days away. Is that right?") % words


def _dam_came_later(entry: LitterEntry, born: PartialDate) -> Iterator[Finding]:
    dam = entry.dam
    if dam is None or dam.came_on is None or dam.came_on.earliest <= born.latest:
        return
    yield ask(
        f"dam-came-later:{dam.pk}",
        _("%(animal)s came on %(date)s, after this birth. Was it born here?")
        % {"animal": dam.label, "date": dam.came_on.words()},
        "dam",
    )
