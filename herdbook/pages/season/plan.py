"""The season's plan: asked for with its limits, waited for, read, and solved again."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from genetics.figures.refresh import book_revision, ensure_current
from genetics.matings.showable_rate import Outlook, outlook_of
from genetics.models import SeasonPlan
from genetics.season.planner import KEPT, ask_for_plan
from genetics.season.request import BORN, Wishes
from herdbook.book.models import Animal, Herd, Limits

from ..common.access import herd_of, own_or_404
from . import costs, reasons, rows, wording
from .forms import SeasonForm, starting_values, values_of
from .pairs import FORBID, HOLD, pair_rows


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def ask(request: HttpRequest) -> HttpResponse:
    """The limits of a plan, and the plans asked for before."""
    herd = herd_of(request)
    standing = ensure_current()
    limits = Limits.of(herd)
    before = _before(request, herd)
    initial = values_of(before) if before else starting_values(limits, timezone.localdate())
    form = SeasonForm(request.POST or None, herd=herd, limits=limits, initial=initial)
    named = pair_rows(request.POST or None, herd=herd, before=before)
    if form.is_valid() and named.is_valid():
        wishes = form.wishes(held=named.pairs(HOLD), forbidden=named.pairs(FORBID))
        return redirect(ask_for_plan(user=request.user, herd=herd, wishes=wishes))
    kept = SeasonPlan.objects.filter(herd=herd).select_related("job")
    context = {
        "form": form,
        "named": named,
        "outlook": outlook_of(herd, on=timezone.localdate()),
        "kept": kept,
        "most": KEPT,
        "standing": standing,
    }
    return render(request, "season/ask.html", context)


def _before(request: HttpRequest, herd: Herd) -> Wishes | None:
    """What the plan named in the address asked for."""
    try:
        public_id = UUID(request.GET.get("plan", ""))
    except ValueError:
        return None
    plan = SeasonPlan.objects.filter(herd=herd, public_id=public_id).first()
    return Wishes.of(plan.asked).as_now() if plan else None


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def show_plan(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """A plan as it was found, or how far it has come; sent back, it is solved anew."""
    plan = own_or_404(request, SeasonPlan.objects.select_related("herd", "job"), public_id)
    wishes = Wishes.of(plan.asked)
    if request.method == "POST":
        again = _as_sent(plan, wishes, request.POST)
        return redirect(ask_for_plan(user=request.user, herd=plan.herd, wishes=again))
    return render(request, "season/plan.html", _context(plan, wishes))


def _context(plan: SeasonPlan, wishes: Wishes) -> dict[str, Any]:
    animals = rows.animals_of(plan, wishes)
    context: dict[str, Any] = {
        "plan": plan,
        "wishes": wishes,
        "together": wishes.together,
        "asked": wording.asked(wishes),
        "held": _pairs(wishes.held, animals),
        "forbidden": _pairs(wishes.forbidden, animals),
        "resting": [animals[key] for key in wishes.resting if key in animals],
        "stale": plan.revision != book_revision(),
        "let_in": wording.let_in(wishes),
        "counts_born": wishes.counted == BORN,
    }
    found = plan.found
    if found is None:
        return context
    if "none" in found:
        context["no_plan"] = reasons.no_plan(found)
        context["none"] = [reasons.trouble(one, animals, wishes) for one in found["none"]]
        return context
    told = rows.Rows(plan, wishes, Limits.of(plan.herd), animals)
    if "outlook" in found:
        context["outlook"] = Outlook.of(found["outlook"])
        context["not_judged"] = wording.not_judged(context["outlook"], wishes)
    return context | {
        "found": found,
        "not_kept": _not_kept(context["held"], found["pairs"]),
        "all_held": all((one["sow"], one["boar"]) in wishes.held for one in found["pairs"]),
        "gives": wording.worth(found["value"], wishes),
        "bound": wording.bound(found, wishes),
        "least_related": wording.least_related(found),
        "pairs": told.of_plan(),
        "glance": wording.glance(found, wishes),
        "colour": wording.colour(wishes),
        "colour_rests_on": wording.colour_rests_on(found.get("colour")),
        "rests": rows.rests(plan, wishes, animals),
        "pairs_out": wording.pairs_out(found.get("pairs_out", {})),
        "costs": [costs.cost(one, wishes) for one in found["costs"]],
        "care": [costs.care(one, wishes) for one in found.get("care", ())],
        "others": told.of_others(),
    }


def _pairs(pairs: Any, animals: dict[int, Animal]) -> list[tuple[int, Animal, Animal]]:
    return [
        (number, animals[sow], animals[boar])
        for number, (sow, boar) in enumerate(pairs)
        if sow in animals and boar in animals
    ]


def _not_kept(held: Any, pairs: list[dict[str, Any]]) -> list[tuple[int, Animal, Animal]]:
    """The held pairs that the plan is without, since one of them is not to be mated any more."""
    kept = {(pair["sow"], pair["boar"]) for pair in pairs}
    return [one for one in held if (one[1].pk, one[2].pk) not in kept]


def _as_sent(plan: SeasonPlan, wishes: Wishes, sent: QueryDict) -> Wishes:
    """What is asked anew: another of the plans found, taken over, or the same limits as ticked."""
    others = (plan.found or {}).get("others", ())
    taken = next((one for n, one in enumerate(others) if sent.get("take") == str(n)), None)
    if taken is None:
        return _as_ticked(plan, wishes, sent)
    return wishes.changed(
        held=tuple((one["sow"], one["boar"]) for one in taken["pairs"]),
        forbidden=wishes.forbidden,
        resting=wishes.resting,
    )


def _as_ticked(plan: SeasonPlan, wishes: Wishes, sent: QueryDict) -> Wishes:
    """The same limits with pairs held and forbidden and sows at rest as the page was sent."""
    pairs = [(one["sow"], one["boar"]) for one in (plan.found or {}).get("pairs", ())]
    chosen = {pair: sent.get(f"pair-{number}", "") for number, pair in enumerate(pairs)}
    kept = [pair for number, pair in enumerate(wishes.held) if sent.get(f"held-{number}") == "on"]
    forbidden = [
        pair
        for number, pair in enumerate(wishes.forbidden)
        if sent.get(f"forbidden-{number}") == "on"
    ]
    resting = [key for key in wishes.resting if sent.get(f"rest-{key}") == "on"]
    held = [*kept, *(pair for pair, way in chosen.items() if way == "hold")]
    return wishes.changed(
        held=() if "let_go" in sent else tuple(dict.fromkeys(held)),
        forbidden=tuple(
            dict.fromkeys([*forbidden, *(p for p, way in chosen.items() if way == "forbid")])
        ),
        resting=tuple(
            dict.fromkeys([*resting, *(sow for (sow, _), way in chosen.items() if way == "rest")])
        ),
    )
