"""What would prove an animal's dose, in words: pups to check, or weeks to wait."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django import forms
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from genetics.core import Weeks, when_to_stop
from genetics.doses.progeny_test import JUDGED_SELF_DAYS, LEVELS, Mating, proof_of, weeks_of
from herdbook.book.models import Animal
from herdbook.book.models.animal import Sex, State

from ..common.error_messages import PlainForm
from ..common.formatting import chance, full_dose_name

# The chance of a proof that a keeper may count on.
_COUNT_ON = 0.9
_SETTLED = 0.99


class CostsForm(PlainForm):
    """What waiting for points costs, and what is lost if a marked pup is sold as a self."""

    week = forms.DecimalField(
        label=gettext_lazy("Cost of keeping a pup for a week"),
        min_value=0,
        max_digits=8,
        decimal_places=2,
    )
    lost = forms.DecimalField(
        label=gettext_lazy("Loss if a clean marked pup is sold as a self"),
        min_value=0,
        max_digits=8,
        decimal_places=2,
    )
    lost_two = forms.DecimalField(
        label=gettext_lazy("Loss if an overmarked pup is sold as a self"),
        help_text=gettext_lazy("Leave blank for no loss."),
        required=False,
        min_value=0,
        max_digits=8,
        decimal_places=2,
    )


@dataclass(frozen=True)
class WeekRow:
    """One look to come at an unmarked pup; one at no `weeks` is how it stands before any."""

    weeks: int | None
    on: date
    today: bool
    self_chance: str
    still_unmarked: str


def what_would_settle(animal: Animal, today: date, costs: dict) -> dict:
    """What a page shows of it; ``costs`` is what was sent of :class:`CostsForm`, if anything."""
    context: dict = {}
    age = animal.age_days(today)
    grown = age is None or age >= JUDGED_SELF_DAYS
    if grown and animal.state in (State.IN_HERD, State.ON_LOAN):
        context["proofs"] = list(proof_lines(animal))
    weeks = weeks_of(animal, today) if animal.state == State.IN_HERD else None
    if weeks is not None and weeks.ages_days[-1] > weeks.ages_days[0]:
        form = CostsForm(costs if "week" in costs or "lost" in costs else None)
        context |= {"weeks": week_rows(weeks, today), "costs": form}
        if form.is_bound and form.is_valid():
            let_go, context["until"] = when_to_let_go(weeks, today, **form.cleaned_data)
            context["weeks"] = week_rows(weeks, today, let_go)
            context["no_loss"] = not form.cleaned_data["lost_two"]
    return context


def proof_lines(animal: Animal) -> Iterator[str]:
    """For each dose that it may have and each level, the kind of mate that proves it soonest."""
    matings = proof_of(animal)
    for dose in (2, 1, 0):
        for level in LEVELS:
            ways = [m for m in matings if (m.proof.dose, m.proof.level) == (dose, level)]
            if ways:
                yield _proof_line(min(ways, key=_pups_wanted), animal.sex)


def week_rows(weeks: Weeks, today: date, let_go: int = 0) -> list[WeekRow]:
    """How it stands, then a row for each look until the pup is as good as settled, or at least to
    the look at which to let it go."""
    settled = weeks.chances[:, 0] >= _SETTLED
    last = int(settled.argmax()) if settled.any() else len(settled) - 1
    first = _first_look(weeks)
    shown = sorted({0, *range(first, max(last, let_go) + 1)})
    return [_row(weeks, look, today, as_it_stands=look < first) for look in shown]


def _first_look(weeks: Weeks) -> int:
    """0 where it was seen today; else a look today comes after how it stands."""
    return int(weeks.ages_days[1] == weeks.ages_days[0])


def _row(weeks: Weeks, look: int, today: date, *, as_it_stands: bool) -> WeekRow:
    return WeekRow(
        None if as_it_stands else int(weeks.ages_days[look]) // 7,
        _day_of(weeks, look, today),
        not as_it_stands and weeks.ages_days[look] == weeks.ages_days[0],
        chance(weeks.chances[look, 0]),
        "" if as_it_stands else chance(weeks.still_unmarked[look]),
    )


def _day_of(weeks: Weeks, look: int, today: date) -> date:
    return today + timedelta(days=float(weeks.ages_days[look] - weeks.ages_days[0]))


def when_to_let_go(weeks: Weeks, today: date, *, week, lost, lost_two=None) -> tuple[int, str]:
    """The look after which waiting stops paying, and that in a sentence."""
    waiting = when_to_stop(
        weeks,
        keep_cost=float(week),
        lost_one_dose=float(lost),
        lost_two_doses=float(lost_two or 0),
    )
    look = waiting.until
    if weeks.ages_days[look] == weeks.ages_days[0]:
        return look, _(
            "At these costs it is not worth waiting: keeping it costs more than you could lose."
        )
    words = {
        "n": int(weeks.ages_days[look]) // 7,
        "day": formats.date_format(_day_of(weeks, look, today), "j F Y"),
        "self": chance(weeks.chances[look, 0]),
    }
    if look == len(weeks.ages_days) - 1:
        return look, (
            _(
                "At these costs it is worth waiting to the end: %(n)d weeks, on %(day)s. If it is "
                "unmarked then, the chance that it is a self is %(self)s."
            )
            % words
        )
    return look, (
        _(
            "At these costs it is worth waiting until %(day)s, when it is %(n)d weeks old. If it "
            "is unmarked then, the chance that it is a self is %(self)s, and more weeks cost more "
            "than they save."
        )
        % words
    )


def _pups_wanted(mating: Mating) -> tuple[float, float]:
    """Fewest pups to count on first, then fewest at all; kinds that prove nothing last."""
    return tuple(
        float("inf") if pups is None else pups
        for pups in (mating.proof.pups_for(_COUNT_ON), mating.proof.fewest)
    )


def _proof_line(mating: Mating, sex: str) -> str:
    proof = mating.proof
    words = {"dose": _having(proof.dose), "level": chance(proof.level)}
    if proof.counts is None:
        return (
            _("No number of pups that anyone breeds proves %(dose)s at %(level)s with one mate.")
            % words
        )
    words |= {
        "pups": _pups(proof.counts),
        "mates": _mates(mating.mate_dose, sex),
        "found": chance(proof.found),
    }
    line = (
        _(
            "%(pups)s from %(mates)s would prove %(dose)s at %(level)s. If it is so, the chance "
            "that as many pups are enough is %(found)s"
        )
        % words
    )
    sure = proof.pups_for(_COUNT_ON)
    if sure is None or sure == proof.fewest:
        return _("%(line)s.") % {"line": line}
    more = ngettext(
        "; %(n)d pup is enough nine times in ten.",
        "; %(n)d pups are enough nine times in ten.",
        sure,
    )
    return line + more % {"n": sure}


def _pups(counts: tuple[int, ...]) -> str:
    selfs, marked, overmarked = counts
    parts = []
    if marked:
        parts.append(ngettext("%(n)d marked pup", "%(n)d marked pups", marked) % {"n": marked})
    if overmarked:
        parts.append(
            ngettext("%(n)d overmarked pup", "%(n)d overmarked pups", overmarked)
            % {"n": overmarked}
        )
    if selfs:
        parts.append(ngettext("%(n)d self pup", "%(n)d self pups", selfs) % {"n": selfs})
    told = _(" and ").join(parts)
    return told if selfs else _("%(pups)s and no self") % {"pups": told}


def _having(dose: int) -> str:
    return full_dose_name(dose)


def _mates(dose: int, sex: str) -> str:
    boar = (_("self sows"), _("clean marked sows"), _("overmarked sows"))
    sow = (_("self boars"), _("clean marked boars"), _("overmarked boars"))
    return (boar if sex == Sex.BOAR else sow)[dose]
