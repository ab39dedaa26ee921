"""What an animal's dose rests on, in words: the records that move it, and how far.

A likelihood ratio is not the odds: each line says what was seen, how well it fits each dose, and
what that makes of the odds on the likeliest dose from where they stood.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from genetics.doses.explanation import Reason, Why, why
from genetics.figures.refresh import bring_up_to_date
from genetics.models import Figure
from herdbook.book.models import Animal, Litter

from ..common.access import own_or_404
from ..common.formatting import chance, dose_name, rounded, uncertain
from .evidence_words import KinSeen
from .progeny_test import what_would_settle

# Ratios nearer to one than this are told as none.
_NEXT_TO_NOTHING = 1.1
# From this factor on it is told that records do not say as much together as one by one.
_MEETING = 1.25
_MANY = 1000


@dataclass(frozen=True)
class ReasonLine:
    """One group of records: whose, what was seen, which dose it fits best and by how much, its
    factor in the odds and what it makes of them; and those of its records that move them by
    themselves, each with its factor."""

    of: str
    address: str
    seen: str
    fits: str
    factor: str
    made: str
    records: tuple[tuple[str, str], ...] = ()


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
        kin = KinSeen(animal, found, Animal.objects.for_user(request.user))
        context |= {
            "lines": reason_lines(found, animal, litters, kin),
            "before": _chances(found.prior),
            "after": _chances(found.posterior),
            "of_dose": _odds_on(found.dose),
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
    alone, whole = _odds(found.apart, found.dose), _odds(found.posterior, found.dose)
    if whole / _MEETING < alone < whole * _MEETING:
        return ""
    words = odds_words(alone)
    return "" if words == odds_words(whole) else words


def _no_reasons(animal: Animal) -> str:
    """Why there are none, as it is."""
    figure = Figure.objects.filter(animal=animal).first()
    if figure is None:
        return _("This animal has not been reckoned yet, so there are no reasons to give.")
    if figure.method == Figure.Method.IMPOSSIBLE:
        return _(
            "The records of this family cannot all be true, so there is no figure and nothing to "
            "give reasons for."
        )
    if figure.chances is None:
        return _(
            "This family is too tangled for a figure, so there is nothing to give reasons for."
        )
    return _("There is a figure, but this family is too tangled to tell its records apart.")


def reason_lines(found: Why, animal: Animal, litters, kin: KinSeen) -> list[ReasonLine]:
    """Each group of records in words, the weightiest first, and what they say together;
    ``litters`` may be told by name."""
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
            fits=_fits(reason.ratios),
            factor=times(reason.odds),
            made=made,
            records=_records(reason, kin),
        )
        for reason, made in zip(found.reasons, steps, strict=False)
    ]
    if found.together != 1:
        of = _("What these say together and not one by one")
        lines.append(ReasonLine(of, "", "", "", times(found.together), steps[-1]))
    return lines


def _steps(found: Why) -> Iterator[str]:
    """From what to what each line takes the odds, in words; the last to where they stand."""
    factors = [reason.odds for reason in found.reasons]
    factors += [found.together] if found.together != 1 else []
    stand = odds(found.prior, found.dose)
    now = _odds(found.prior, found.dose)
    for number, factor in enumerate(factors, start=1):
        now *= factor
        last = number == len(factors)
        then = odds(found.posterior, found.dose) if last else odds_words(now)
        yield (
            stand
            if then == stand
            else _("%(before)s becomes %(after)s")
            % {
                "before": stand,
                "after": then,
            }
        )
        stand = then


def times(factor: float) -> str:
    """'× 3.1', or '÷ 12' below one, so that a small factor reads as easily as a large one."""
    if 1 / _NEXT_TO_NOTHING < factor < _NEXT_TO_NOTHING:
        return _("hardly moved")
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


def _odds_on(dose: int) -> str:
    return (_("odds on a self"), _("odds on one dose"), _("odds on two doses"))[dose]


def _of(reason: Reason, litter: Litter | None, animal: Animal) -> str:
    if reason.kind == "litter":
        return _litter(litter, animal) if litter else _("A litter in another herd")
    return {
        "own": _("What it has shown itself"),
        "bought": _("What it was bought as"),
        "count": _("Being among pups of its litter that were counted and not told apart"),
        "sire": _("Its sire's side"),
        "dam": _("Its dam's side"),
        "littermates": _("The rest of its own litter"),
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
    """'pups of 1 litter counted and not told apart'."""
    if not reason.counts or reason.kind == "count":
        return ""
    if reason.kind == "litter" and reason.counts == 1:
        return _("pups counted and not told apart")
    words = ngettext(
        "pups of %(n)d litter counted and not told apart",
        "pups of %(n)d litters counted and not told apart",
        reason.counts,
    )
    return words % {"n": reason.counts}


def _records(reason: Reason, kin: KinSeen) -> tuple[tuple[str, str], ...]:
    """Those records of a group that move the odds by themselves, the weightiest first."""
    moving = [
        record
        for record in reason.records
        if not 1 / _NEXT_TO_NOTHING < record.odds < _NEXT_TO_NOTHING
    ]
    moving.sort(key=lambda record: -max(record.odds, 1 / max(record.odds, 1e-300)))
    return tuple((kin.named(record.key, record.kind), times(record.odds)) for record in moving)


def _litter(litter: Litter, animal: Animal) -> str:
    """A litter of the animal's young: a sow's told by its day, a boar's by dam and day."""
    if litter.dam_id != animal.pk:
        return _("Its litter from %(litter)s") % {"litter": litter}
    return _("Its litter of %(day)s") % {"day": litter.born.words() if litter.born else "?"}


def _fits(ratios: tuple[float, float, float]) -> str:
    """With which dose the records are likeliest, and how many times more than with each other."""
    top = max(ratios)
    best = [dose for dose in range(3) if ratios[dose] * _NEXT_TO_NOTHING > top]
    others = sorted(set(range(3)) - set(best), key=lambda dose: -ratios[dose])
    if not others:
        return _("says next to nothing")
    first, *rest = others
    words = {"dose": _(" or ").join(_with(dose) for dose in best), "than": _with(first)}
    if ratios[first] <= 0:
        return _("can only be %(dose)s") % words
    said = _("%(n)s times likelier %(dose)s than %(than)s") % {
        "n": _round(top / ratios[first]),
        **words,
    }
    return said + "".join(_more(dose, ratios[dose] / top) for dose in rest)


def _more(dose: int, share: float) -> str:
    words = {"than": _with(dose)}
    if share <= 0:
        return _(", and not possible %(than)s") % words
    return _(", %(n)s times than %(than)s") % {"n": _round(1 / share), **words}


def _with(dose: int) -> str:
    return (_("as a self"), _("with one dose"), _("with two doses"))[dose]


def _round(number: float) -> str:
    if number >= _MANY:
        return _("over %(n)d") % {"n": _MANY}
    return rounded(number, 0 if number >= 10 else 1)


def _chances(chances: Sequence[float]) -> list[tuple[str, str]]:
    return [(dose_name(dose), chance(share)) for dose, share in enumerate(uncertain(chances))]
