"""The season's plan: asked for with its settings, waited for, read, and planned again."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from genetics.figures.refresh import ensure_current
from genetics.matings.showable_rate import outlook_of
from genetics.models import SeasonPlan
from genetics.season.planner import KEPT, ask_for_plan
from genetics.season.request import Wishes
from genetics.season.result import SeasonResult
from herdbook.book.models import Herd, Limits

from ..common.access import herd_of, own_or_404
from .forms import SeasonForm, starting_values, values_of
from .pairs import FORBID, HOLD, pair_rows
from .plan_page import page_of


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def ask(request: HttpRequest) -> HttpResponse:
    """The settings of a plan, and earlier plans."""
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
        "before": before,
        "outlook": outlook_of(herd, on=timezone.localdate()),
        "kept": kept,
        "most": KEPT,
        "standing": standing,
    }
    return render(request, "season/ask.html", context)


def _before(request: HttpRequest, herd: Herd) -> Wishes | None:
    """The settings of the plan that the address names."""
    try:
        public_id = UUID(request.GET.get("plan", ""))
    except ValueError:
        return None
    plan = SeasonPlan.objects.filter(herd=herd, public_id=public_id).first()
    return Wishes.of(plan.asked).as_now() if plan else None


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def show_plan(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """A plan as it was found, or how far it has come; sent back, it is planned again."""
    plan = own_or_404(request, SeasonPlan.objects.select_related("herd", "job"), public_id)
    wishes = Wishes.of(plan.asked)
    if request.method == "POST":
        again = _as_sent(plan, wishes, request.POST)
        return redirect(ask_for_plan(user=request.user, herd=plan.herd, wishes=again))
    return render(request, "season/plan.html", {"page": page_of(plan, wishes)})


def _as_sent(plan: SeasonPlan, wishes: Wishes, sent: QueryDict) -> Wishes:
    """The settings of a new plan: another of the plans found, or the same settings as ticked."""
    result = None if plan.found is None else SeasonResult.of(plan.found)
    others = result.others if result else ()
    taken = next((one for n, one in enumerate(others) if sent.get("take") == str(n)), None)
    if taken is None:
        pairs = result.plan.pairs if result and result.plan else ()
        return _as_ticked([(one.sow, one.boar) for one in pairs], wishes, sent)
    return wishes.changed(
        held=tuple((one.sow, one.boar) for one in taken.pairs),
        forbidden=wishes.forbidden,
        resting=wishes.resting,
    )


def _as_ticked(pairs: list[tuple[int, int]], wishes: Wishes, sent: QueryDict) -> Wishes:
    """The same settings with pairs kept and ruled out and sows rested as the page was sent."""
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
