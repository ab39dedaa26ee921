"""A season's plan: asked for by a page, worked out beside it, kept to be looked at again."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict
from typing import Any

import numpy as np
from django.db import transaction
from django.utils.translation import gettext as _

from genetics import jobs
from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation.coancestry_limit import mean_coancestry
from genetics.core.mate_allocation.planner import Plan, Round, plan_season
from genetics.core.mate_allocation.sensitivity import Cost, Trouble, costs, other_plans, troubles
from genetics.core.mate_allocation.tie_breaking import least_related
from genetics.figures.refresh import book_revision, ensure_current
from genetics.models import Job, SeasonPlan
from genetics.season.candidates import Stock, stock_of
from genetics.season.explanation import Reasons
from genetics.season.request import UNITS, Wishes
from genetics.season.welfare_costs import costs_of_care
from herdbook.book.models import Herd

JOB = "season plan"

# Seconds to look for the best plan, and for each other one; past that the bound is told.
SECONDS, SECONDS_EACH = 7.5, 2.5
# Plans whose worth differs by less than this share are as good: the chances of a pair may be off by
# twice as much (`genetics.core.posterior.pair_forecast.TOLERANCE`).
GIVEN_UP = 0.001
# Seconds to choose among them.
SECONDS_TIES = 1.5
KEPT = 20  # plans that a herd keeps
OTHER_PLANS, PAIRS_DIFFERENT, SHARE_LOST = 2, 3, 0.05


@transaction.atomic
def ask_for_plan(*, user, herd: Herd, wishes: Wishes) -> SeasonPlan:
    """Keep what is asked and begin to work it out beside the page; the oldest plans go.

    A second tap, while the same is being worked out, gives the plan of the first.
    """
    Herd.objects.select_for_update().get(pk=herd.pk)  # one tap after the other
    same = SeasonPlan.objects.filter(herd=herd, asked=wishes.as_data(), revision=book_revision())
    under_way = same.filter(found__isnull=True, job__state__in=jobs.UNDER_WAY).first()
    if under_way is not None:
        return under_way
    plan = SeasonPlan.objects.create(herd=herd, asked=wishes.as_data(), revision=book_revision())
    plan.job = jobs.start(JOB, lambda job: work_out(plan, job), user=user)
    plan.save(update_fields=["job"])
    jobs.keep_last(SeasonPlan.objects.filter(herd=herd), KEPT)
    return plan


def work_out(plan: SeasonPlan, job: Job | None = None) -> None:
    """Find the plan, what its limits cost and what else would do as well, and keep all of it."""
    wishes = Wishes.of(plan.asked)
    fresh = ensure_current().fresh
    jobs.tell(job, 0.05, _("What each pair promises"))
    stock = stock_of(
        plan.herd,
        wishes,
        lambda share: jobs.tell(job, 0.1 + 0.2 * share, _("What colours each pair promises")),
    )
    if stock is None:
        _keep(plan, {"none": [{"limit": "pedigree"}], "proven": True})
        return
    if stock.coloured and stock.coloured.tangled:
        trouble = {"limit": "colours", "number": stock.coloured.tangled}
        _keep(plan, {"none": [trouble], "proven": True})
        return
    jobs.tell(job, 0.3)
    # Without figures of this revision no possible sire has a share to go by.
    _keep(plan, _found(stock, wishes, job) | {"sires_as_written": not fresh})


def _keep(plan: SeasonPlan, found: dict[str, Any]) -> None:
    plan.found = found
    plan.save(update_fields=["found"])


def _found(stock: Stock, wishes: Wishes, job: Job | None) -> dict[str, Any]:
    """The kept data: see the keys below; animals stand by their keys."""
    herd, limits = stock.for_core(wishes)
    reasons = Reasons(stock, wishes, herd, limits)
    common = {
        "left_out": {str(key): code for key, code in stock.why_not.items()},
        "pairs_out": _pairs_out(stock),
        "risks_unknown": stock.risks.tangled,
        "in_doubt": {str(key): asdict(one) for key, one in stock.in_doubt.items()},
        "alike": _alike(stock),
        "outlook": asdict(stock.outlook),
        "colour": _colour(stock),
        "off": float(np.nanmax(stock.off, initial=0.0)),
        "unknown": int(np.isnan(stock.chances[:, :, 1]).all(axis=1).sum()) if stock.boars else 0,
    }

    def tell(at: Round) -> None:
        share = 0.3 + 0.3 * (1 - 0.7**at.number)
        jobs.tell(job, share, _so_far(at, wishes))

    try:
        best = plan_season(herd, limits, seconds=SECONDS, tell=tell)
    except NoPlanError as none:
        found = troubles(herd, limits, seconds=SECONDS_EACH)
        return {
            **common,
            "none": [_trouble(one, reasons) for one in found],
            "proven": none.proven,
        }
    given_up = GIVEN_UP * best.value
    settled = least_related(herd, limits, best, given_up=given_up, seconds=SECONDS_TIES)
    count = [0]

    def step(limit: str) -> None:
        del limit
        count[0] += 1
        jobs.tell(job, 0.6 + 0.4 * (1 - 0.85 ** count[0]))

    priced = costs(herd, limits, best, seconds=SECONDS_EACH, tell=step)
    care = costs_of_care(stock, wishes, herd, limits, best, seconds=SECONDS_EACH, tell=step)
    others = other_plans(
        herd,
        limits,
        settled.plan,
        wanted=OTHER_PLANS,
        different=PAIRS_DIFFERENT,
        share=SHARE_LOST,
        seconds=SECONDS_EACH,
        tell=step,
    )
    return {
        **common,
        **_plan(settled.plan, stock),
        "least_related": settled.proven,
        "rests": reasons.rests(settled.plan, same=2 * given_up),
        "why": reasons.why(settled.plan),
        "costs": [_cost(one) for one in priced],
        "care": care,
        "others": [_plan(one, stock) for one in others],
    }


def _so_far(at: Round, wishes: Wishes) -> str:
    """How far the search has come, for the page that waits."""
    value, bound = (
        UNITS[wishes.unit] % {"number": f"{number:.1f}"} for number in (at.value, at.bound)
    )
    words = {"n": at.number, "value": value, "bound": bound}
    if np.isnan(at.value):
        return _("Round %(n)d: no plan yet; none within these limits can exceed %(bound)s.") % words
    return _("Round %(n)d: the best so far gives %(value)s; none can exceed %(bound)s.") % words


def _alike(stock: Stock) -> float | None:
    """Mean coancestry of the herd to come if every boar and every sow were used alike."""
    if not stock.boars or not stock.sows:
        return None
    boars, sows = len(stock.boars), len(stock.sows)
    used = np.r_[np.full(boars, 1 / boars), np.full(sows, 1 / sows)]
    return mean_coancestry(stock.kinship, used)


def _pairs_out(stock: Stock) -> dict[str, int]:
    """How many pairs each caution leaves out, of animals of whom neither is left out alone."""
    return Counter(
        code
        for (row, column), code in stock.pairs_out.items()
        if stock.sows[row].pk not in stock.why_not and stock.boars[column].pk not in stock.why_not
    )


def _colour(stock: Stock) -> dict[str, Any] | None:
    """What the chances of the colour wanted rest on."""
    if stock.coloured is None:
        return None
    return {
        "noted": stock.coloured.noted,
        "of": len(stock.sows) + len(stock.boars),
        "error": stock.coloured.error,
    }


def _plan(plan: Plan, stock: Stock) -> dict[str, Any]:
    in_colour, showable = stock.in_colour(), stock.showable()
    return {
        "value": plan.value,
        "bound": plan.bound,
        "proven": plan.proven,
        "coancestry": plan.coancestry,
        "pairs": [
            {
                "sow": stock.sows[row].pk,
                "boar": stock.boars[column].pk,
                "pups": float(stock.pups[row]),
                "one": float(stock.expected(1)[row, column]),
                "two": float(stock.expected(2)[row, column]),
                "in_colour": float(in_colour[row, column]),
                "showable": float(showable[row, column]),
                "inbreeding": float(stock.inbreeding[row, column]),
                "lethal": float(stock.risks.lethal[row, column]),
                "satin": float(stock.risks.satin[row, column]),
            }
            for row, column in plan.pairs
        ],
    }


def _cost(cost: Cost) -> dict[str, Any]:
    return {
        "limit": cost.limit,
        "number": cost.number,
        "to": cost.to,
        "gain": cost.gain,
        "at_most": cost.at_most,
    }


def _trouble(trouble: Trouble, reasons: Reasons) -> dict[str, Any]:
    stock, limits = reasons.stock, reasons.limits
    found: dict[str, Any] = {"limit": trouble.limit, "number": trouble.number}
    if not np.isnan(trouble.reach):
        found["reach"] = trouble.reach
    if trouble.limit == "held-sow":
        found["sow"] = stock.sows[trouble.number].pk
    elif trouble.limit == "held-boar":
        found["boar"] = stock.boars[trouble.number].pk
    elif trouble.limit == "held-forbidden":
        row, column = limits.held[trouble.number]
        found |= {"sow": stock.sows[row].pk, "boar": stock.boars[column].pk}
        found["because"] = list(reasons.against(row, column))
        found["inbreeding"] = float(stock.inbreeding[row, column])
    return found
