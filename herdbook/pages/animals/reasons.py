"""The reasons for an animal's dose: the records that move it, how strongly and to which dose.

First one sentence that sums them up, then a line each with a bar. The arithmetic opens on request:
how likely each group of records is at each dose, and what it makes of the odds on the likeliest.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import log
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from genetics.doses.explanation import Reason, Why, why
from genetics.figures.refresh import ensure_current
from genetics.models import Figure
from herdbook.book.models import Animal, Litter

from ..common.access import own_or_404
from ..common.formatting import chance, dose_name, full_dose_name, rounded, uncertain
from .evidence_words import KinSeen
from .progeny_test import what_would_settle
from .reasons_summary import summary

# Factors nearer to one than this are shown as none.
_NEXT_TO_NOTHING = 1.1
# From this factor on the page says that records do not say as much together as one by one.
_MEETING = 1.25
_MANY = 1000
# How strongly a factor speaks: the bands of Kass and Raftery 1995 for a Bayes factor
# (doi:10.1080/01621459.1995.10476572; from memory).
_BANDS = ((3, "slightly"), (20, "clearly"), (150, "strongly"))
_BAR_HALF = 50
# Lines shown before the rest is opened.
_FIRST_LINES = 5


@dataclass(frozen=True)
class Bar:
    """A bar from the middle, to the right for the likeliest dose and to the left against it, in
    units of which the whole is 100 wide; and the same in words."""

    start: float
    wide: float
    favours: bool
    words: str


@dataclass(frozen=True)
class RecordLine:
    """One record of a group by itself: its likelihood at each dose, and its factor."""

    of: str
    likelihoods: tuple[tuple[str, str], ...]
    factor: str


@dataclass(frozen=True)
class ReasonLine:
    """One group of records: whose, what was seen, how far it points where; for the arithmetic its
    likelihood at each dose, its factor in the odds and the odds after it; and those of its records
    that move them by themselves."""

    of: str
    address: str
    seen: str
    bar: Bar
    likelihoods: tuple[tuple[str, str], ...]
    factor: str
    odds: str
    records: tuple[RecordLine, ...] = ()


@require_safe
@login_required
def show_reasons(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """The records behind a dose, on a page of their own: working them out takes a while."""
    standing = ensure_current()
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    found = why(animal)
    context = {"animal": animal, "standing": standing, "why": found}
    if found:
        litters = Litter.objects.for_user(request.user)
        kin = KinSeen(animal, found, Animal.objects.for_user(request.user))
        lines = reason_lines(found, animal, litters, kin)
        context |= {
            "summary": summary(found, animal, kin),
            "lines": lines,
            "first_lines": lines[:_FIRST_LINES],
            "more_lines": lines[_FIRST_LINES:],
            "before": _chances(found.prior),
            "after": _chances(found.posterior),
            "dose": dose_name(found.dose),
            "full_dose": full_dose_name(found.dose),
            "dose_names": [dose_name(dose) for dose in range(3)],
            "odds_before": odds(found.prior, found.dose),
            "odds_after": odds(found.posterior, found.dose),
            "apart": _apart(found),
            "error": chance(found.error) if found.error else "",
        }
    else:
        context["no_reasons"] = _no_reasons(animal)
    context |= what_would_settle(animal, timezone.localdate(), request.GET)
    part = request.htmx and not request.htmx.history_restore_request
    template = "animals/reasons_part.html" if part else "animals/reasons.html"
    response = render(request, template, context)
    response["Vary"] = "HX-Request, Cookie"
    return response


def _apart(found: Why) -> str:
    """What the odds would be if groups of records that meet were each taken alone; '' where that
    makes no odds."""
    alone, whole = _odds(found.marginal_only, found.dose), _odds(found.posterior, found.dose)
    if whole / _MEETING < alone < whole * _MEETING:
        return ""
    words = odds_words(alone)
    return "" if words == odds_words(whole) else words


def _no_reasons(animal: Animal) -> str:
    """Why there are none."""
    figure = Figure.objects.filter(animal=animal).first()
    if figure is None:
        return _(
            "No dose has been worked out for this animal yet, so there are no reasons to give."
        )
    if figure.method == Figure.Method.IMPOSSIBLE:
        return _(
            "The records of this family contradict each other, so there is no dose to give reasons "
            "for. See Records to check."
        )
    if figure.chances is None:
        return _("This family is too complex for a dose, so there are no reasons to give.")
    return _("There is a dose, but this family is too complex to separate its records.")


def reason_lines(found: Why, animal: Animal, litters, kin: KinSeen) -> list[ReasonLine]:
    """Each group of records in words, the weightiest first, and what they say together;
    ``litters`` are those that the reader may see."""
    keys = {reason.litter_key for reason in found.reasons if reason.litter_key}
    told = {
        litter.pk: litter
        for litter in litters.filter(pk__in=keys).select_related("dam").prefetch_related("sires")
    }
    steps = list(_steps(found))
    lines = [
        ReasonLine(
            of=_of(reason, told.get(reason.litter_key), animal),
            address=told[reason.litter_key].get_absolute_url() if reason.litter_key in told else "",
            seen=_seen(reason, told.get(reason.litter_key), kin),
            bar=bar_of(reason.odds, found.dose, reason.ratios),
            likelihoods=_likelihoods(reason.ratios),
            factor=times(reason.odds),
            odds=after,
            records=_records(reason, kin),
        )
        for reason, after in zip(found.reasons, steps, strict=False)
    ]
    if found.together != 1:
        of = _("These records in combination")
        bar = bar_of(found.together, found.dose)
        lines.append(ReasonLine(of, "", "", bar, (), times(found.together), steps[-1]))
    return lines


def _steps(found: Why) -> Iterator[str]:
    """What each line makes of the odds, in words; the last is where they stand."""
    factors = [reason.odds for reason in found.reasons]
    factors += [found.together] if found.together != 1 else []
    now = _odds(found.prior, found.dose)
    for number, factor in enumerate(factors, start=1):
        now *= factor
        last = number == len(factors)
        yield odds(found.posterior, found.dose) if last else odds_words(now)


def bar_of(factor: float, dose: int, ratios: Sequence[float] = ()) -> Bar:
    """How strongly a factor in the odds on ``dose`` points, and to which dose.

    For the likeliest dose, and any other that the records fit at least as well; against it, for
    those that they fit better.
    """
    favours = factor > 1
    wide = _BAR_HALF * min(log(_as_large(factor)) / log(_MANY), 1)
    start = _BAR_HALF if favours else _BAR_HALF - wide
    return Bar(round(start, 1), round(wide, 1), favours, _pointing(factor, dose, ratios))


def _pointing(factor: float, dose: int, ratios: Sequence[float]) -> str:
    """'clearly for clean marked', 'slightly against clean marked, for self'."""
    if _as_large(factor) < _NEXT_TO_NOTHING:
        return _("hardly counts")
    own = ratios[dose] if ratios else 0
    better = [other for other, ratio in enumerate(ratios) if other != dose and ratio > own]
    words = {
        "how": _how_strongly(_as_large(factor)),
        "dose": dose_name(dose),
        "others": _or(dose_name(other) for other in better),
    }
    if factor < 1:
        said = (
            _("%(how)s against %(dose)s, for %(others)s")
            if better
            else _("%(how)s against %(dose)s")
        )
        return said % words
    return (
        _("%(how)s for %(dose)s or %(others)s") if better else _("%(how)s for %(dose)s")
    ) % words


def _how_strongly(factor: float) -> str:
    words = {"slightly": _("slightly"), "clearly": _("clearly"), "strongly": _("strongly")}
    return next((words[band] for below, band in _BANDS if factor < below), _("very strongly"))


def _as_large(factor: float) -> float:
    """The factor, or its inverse where that is larger."""
    return max(factor, 1 / factor) if factor > 0 else float("inf")


def _or(names: Iterable[str]) -> str:
    return _(" or ").join(names)


def _likelihoods(ratios: Sequence[float]) -> tuple[tuple[str, str], ...]:
    """Each dose by name with its likelihood, the largest made 1: '0.32', 'under 0.001', '0'."""
    top = max(ratios)
    return tuple((dose_name(dose), _likelihood(ratio / top)) for dose, ratio in enumerate(ratios))


def _likelihood(share: float) -> str:
    if share == 0 or share == 1:
        return f"{share:.0f}"
    if share * _MANY < 1:
        return _("under %(least)s") % {"least": 1 / _MANY}
    return rounded(share, 3 if share < 0.1 else 2)


def times(factor: float) -> str:
    """'× 3.1', or '÷ 12' below one, so that a small factor reads as easily as a large one."""
    if 1 / _NEXT_TO_NOTHING < factor < _NEXT_TO_NOTHING:
        return _("unchanged")
    if factor < 1:
        return f"÷ {_round(1 / factor)}" if factor > 0 else _("ruled out")
    return f"× {_round(factor)}"


def odds(chances: tuple[float, float, float], dose: int) -> str:
    """The odds on a dose against the others, in words."""
    return odds_words(_odds(chances, dose))


def _odds(chances: tuple[float, float, float], dose: int) -> float:
    rest = sum(share for other, share in enumerate(chances) if other != dose)
    return chances[dose] / rest if rest > 0 else float("inf")


def odds_words(value: float) -> str:
    """Odds as '1 to 15', 'evens' or '3.2 to 1'."""
    if value in (0, float("inf")):
        return _("certain") if value else _("none")
    times_as_much = _round(max(value, 1 / value))
    if times_as_much == _round(1):
        return _("evens")
    if value < 1:
        return _("1 to %(n)s") % {"n": times_as_much}
    return _("%(n)s to 1") % {"n": times_as_much}


def _of(reason: Reason, litter: Litter | None, animal: Animal) -> str:
    if reason.kind == "litter":
        return _litter(litter, animal) if litter else _("A litter in another herd")
    return {
        "own": _("Its own points"),
        "bought": _("Bought as"),
        "count": _("Its litter, counted together"),
        "sire": _("Its sire's side"),
        "dam": _("Its dam's side"),
        "littermates": _("Its littermates"),
    }[reason.kind]


def _seen(reason: Reason, litter: Litter | None, kin: KinSeen) -> str:
    """What was seen, as far as the reader may know."""
    if reason.kind in ("own", "bought"):
        return kin.own() if reason.kind == "own" else kin.bought()
    if reason.kind == "littermates":
        said = kin.littermates(reason)
    elif reason.kind == "litter":
        said = kin.young(reason, litter) if litter else ""
    else:
        said = "" if reason.kind == "count" else kin.parent(reason, boars=reason.kind == "sire")
    return ", ".join(part for part in (said, _counts(reason)) if part)


def _counts(reason: Reason) -> str:
    """'pups of 1 litter counted together'."""
    if not reason.counts or reason.kind == "count":
        return ""
    if reason.kind == "litter" and reason.counts == 1:
        return _("pups counted together")
    words = ngettext(
        "pups of %(n)d litter counted together",
        "pups of %(n)d litters counted together",
        reason.counts,
    )
    return words % {"n": reason.counts}


def _records(reason: Reason, kin: KinSeen) -> tuple[RecordLine, ...]:
    """Those records of a group that move the odds by themselves, the weightiest first."""
    moving = [one for one in reason.records if _as_large(one.odds) >= _NEXT_TO_NOTHING]
    moving.sort(key=lambda record: -_as_large(record.odds))
    return tuple(
        RecordLine(
            kin.named(record.key, record.kind), _likelihoods(record.ratios), times(record.odds)
        )
        for record in moving
    )


def _litter(litter: Litter, animal: Animal) -> str:
    """A litter of the animal's young: a sow's by its day, a boar's by dam and day."""
    if litter.dam_id != animal.pk:
        said = _("Its litter from %(litter)s") % {"litter": litter}
        several = len(litter.sires.all()) > 1
        return _("%(litter)s, if he is the sire") % {"litter": said} if several else said
    return _("Its litter of %(day)s") % {"day": litter.born.words() if litter.born else "?"}


def _round(number: float) -> str:
    if number >= _MANY:
        return _("over %(n)d") % {"n": _MANY}
    return rounded(number, 0 if number >= 10 else 1)


def _chances(chances: Sequence[float]) -> list[tuple[str, str]]:
    return [(dose_name(dose), chance(share)) for dose, share in enumerate(uncertain(chances))]
