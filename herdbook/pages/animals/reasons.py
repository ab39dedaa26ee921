"""What an animal's dose rests on, in words: the records that move it, and how far.

A likelihood ratio is not the odds: each line says how well its records fit each dose, and the
odds on two doses stand before and after.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from genetics.asking import Reason, Why, why
from genetics.figures import bring_up_to_date
from herdbook.book.models import Animal, Litter

from ..who import own_or_404
from ..wording import chance, dose_name, rounded, uncertain
from .settling import what_would_settle

# Ratios nearer to one than this are told as none.
_NEXT_TO_NOTHING = 1.1
_MANY = 1000


@dataclass(frozen=True)
class ReasonLine:
    """One group of records: whose, which dose it fits best and by how much, what it does."""

    of: str
    address: str
    fits: str
    two_doses: str


@require_safe
@login_required
def show_reasons(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """The records behind a dose, on a page of their own: reckoning them takes a while."""
    standing = bring_up_to_date()
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    found = why(animal)
    context = {"animal": animal, "standing": standing, "why": found}
    if found:
        litters = Litter.objects.for_user(request.user)
        context |= {
            "lines": reason_lines(found, animal, litters),
            "before": _chances(found.prior),
            "after": _chances(found.posterior),
            "odds_before": odds(found.prior),
            "odds_after": odds(found.posterior),
            "multiplies": 1 / _NEXT_TO_NOTHING < found.overlap < _NEXT_TO_NOTHING,
            **what_would_settle(animal, timezone.localdate(), request.GET),
        }
    part = request.htmx and not request.htmx.history_restore_request
    template = "animals/reasons_part.html" if part else "animals/reasons.html"
    response = render(request, template, context)
    response["Vary"] = "HX-Request, Cookie"
    return response


def reason_lines(found: Why, animal: Animal, litters) -> list[ReasonLine]:
    """Each group of records in words, the weightiest first; ``litters`` may be told by name."""
    keys = {reason.litter_key for reason in found.reasons if reason.litter_key}
    told = {litter.pk: litter for litter in litters.filter(pk__in=keys).select_related("dam")}
    return [
        ReasonLine(
            of=_of(reason, told.get(reason.litter_key), animal),
            address=told[reason.litter_key].get_absolute_url() if reason.litter_key in told else "",
            fits=_fits(reason.ratios),
            two_doses=times(reason.two_doses),
        )
        for reason in found.reasons
    ]


def times(factor: float) -> str:
    """'× 3.1', or '÷ 12' below one, so that a small factor reads as easily as a large one."""
    if 1 / _NEXT_TO_NOTHING < factor < _NEXT_TO_NOTHING:
        return _("hardly moved")
    if factor < 1:
        return f"÷ {_round(1 / factor)}" if factor > 0 else _("ruled out")
    return f"× {_round(factor)}"


def odds(chances: tuple[float, float, float]) -> str:
    """The odds on two doses against fewer, as '1 to 15', 'evens' or '3.2 to 1'."""
    two, fewer = chances[2], chances[0] + chances[1]
    if two <= 0 or fewer <= 0:
        return _("none") if two <= 0 else _("certain")
    times_as_much = _round(max(two, fewer) / min(two, fewer))
    if times_as_much == _round(1):
        return _("evens")
    if two < fewer:
        return _("1 to %(n)s") % {"n": times_as_much}
    return _("%(n)s to 1") % {"n": times_as_much}


def _of(reason: Reason, litter: Litter | None, animal: Animal) -> str:
    if reason.kind == "own":
        return _("What it has shown itself")
    if reason.kind == "count":
        return _("Being among pups of its litter that were counted and not told apart")
    if reason.kind == "litter":
        of = _litter(litter, animal) if litter else _("A litter in another herd")
    else:
        of = {
            "sire": _("Its sire's side"),
            "dam": _("Its dam's side"),
            "littermates": _("The rest of its own litter"),
        }[reason.kind]
    return f"{of} ({_records(reason)})"


def _records(reason: Reason) -> str:
    """'3 animals with records, pups not told apart in 1 litter'."""
    count, parts = len(reason.animals), []
    if count:
        words = ngettext("%(n)d animal with records", "%(n)d animals with records", count)
        parts.append(words % {"n": count})
    if reason.kind == "litter" and reason.counts == 1 and not count:
        parts.append(_("pups counted and not told apart"))
    elif reason.counts:
        words = ngettext(
            "pups of %(n)d litter counted and not told apart",
            "pups of %(n)d litters counted and not told apart",
            reason.counts,
        )
        parts.append(words % {"n": reason.counts})
    return ", ".join(parts)


def _litter(litter: Litter, animal: Animal) -> str:
    """A litter of the animal's young: a sow's told by its day, a boar's by dam and day."""
    if litter.dam_id != animal.pk:
        return _("Its litter from %(litter)s") % {"litter": litter}
    return _("Its litter of %(day)s") % {"day": litter.born.words() if litter.born else "?"}


def _fits(ratios: tuple[float, float, float]) -> str:
    """For which dose the records speak most, and how many times better than for each other."""
    top = max(ratios)
    best = [dose for dose in range(3) if ratios[dose] * _NEXT_TO_NOTHING > top]
    others = sorted(set(range(3)) - set(best), key=lambda dose: -ratios[dose])
    if not others:
        return _("says next to nothing")
    return _("speaks most for %(dose)s: %(parts)s") % {
        "dose": _(" and ").join(_speaking_of(dose) for dose in best),
        "parts": _(" and ").join(_than(dose, ratios[dose] / top) for dose in others),
    }


def _than(dose: int, share: float) -> str:
    words = {"dose": _speaking_of(dose)}
    if share <= 0:
        return _("%(dose)s is ruled out") % words
    return _("%(n)s times better than for %(dose)s") % {"n": _round(1 / share), **words}


def _speaking_of(dose: int) -> str:
    """The dose in a sentence, where 'no dose' would read as if none were meant."""
    return _("a self") if dose == 0 else dose_name(dose)


def _round(number: float) -> str:
    if number >= _MANY:
        return _("over %(n)d") % {"n": _MANY}
    return rounded(number, 0 if number >= 10 else 1)


def _chances(chances: Sequence[float]) -> list[tuple[str, str]]:
    return [(dose_name(dose), chance(share)) for dose, share in enumerate(uncertain(chances))]
