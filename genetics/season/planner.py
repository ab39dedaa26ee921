"""A season's plan: asked for by a page, worked out beside it, kept to be looked at again."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
from django.db import transaction
from django.utils.translation import gettext as _

from genetics import jobs
from genetics.core.exceptions import NoPlanError
from genetics.core.mate_allocation.coancestry_limit import mean_coancestry
from genetics.core.mate_allocation.planner import Plan, Round, plan_season
from genetics.core.mate_allocation.sensitivity import Trouble, costs, other_plans, troubles
from genetics.core.mate_allocation.tie_breaking import least_related
from genetics.figures.refresh import ensure_current
from genetics.models import Job, SeasonPlan
from genetics.season.candidates import Stock, stock_of
from genetics.season.explanation import Reasons
from genetics.season.request import UNITS, Wishes
from genetics.season.result import (
    Basis,
    ColourBasis,
    FoundPlan,
    LimitCost,
    Obstacle,
    PlannedPair,
    SeasonResult,
)
from genetics.season.welfare_costs import costs_of_care
from genetics.snapshot.kept import book_revision
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
    jobs.tell(job, 0.05, _("Working out what to expect of each pair"))
    stock = stock_of(
        plan.herd,
        wishes,
        lambda share: jobs.tell(job, 0.1 + 0.2 * share, _("Working out the colours of each pair")),
    )
    if stock is None:
        _keep(plan, SeasonResult(obstacles=(Obstacle("pedigree", 0),), proven=True))
        return
    if stock.coloured and stock.coloured.tangled:
        obstacle = Obstacle("colours", stock.coloured.tangled)
        _keep(plan, SeasonResult(obstacles=(obstacle,), proven=True))
        return
    jobs.tell(job, 0.3)
    # Without figures of this revision no possible sire has a share to go by.
    basis = _basis(stock, sires_as_written=not fresh)
    _keep(plan, _found(stock, wishes, basis, job))


def _keep(plan: SeasonPlan, result: SeasonResult) -> None:
    plan.found = result.as_data()
    plan.save(update_fields=["found"])


def _found(stock: Stock, wishes: Wishes, basis: Basis, job: Job | None) -> SeasonResult:
    herd, limits = stock.for_core(wishes)
    reasons = Reasons(stock, wishes, herd, limits)

    def tell(at: Round) -> None:
        share = 0.3 + 0.3 * (1 - 0.7**at.number)
        jobs.tell(job, share, _so_far(at, wishes))

    try:
        best = plan_season(herd, limits, seconds=SECONDS, tell=tell)
    except NoPlanError as none:
        found = troubles(herd, limits, seconds=SECONDS_EACH)
        obstacles = tuple(_obstacle(one, reasons) for one in found)
        return SeasonResult(basis, obstacles=obstacles, proven=none.proven)
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
    return SeasonResult(
        basis,
        plan=_plan(settled.plan, stock),
        proven=settled.plan.proven,
        least_related=settled.proven,
        rests=reasons.rests(settled.plan, same=2 * given_up),
        why=reasons.why(settled.plan),
        costs=tuple(
            LimitCost(one.limit, one.number, one.to, one.gain, one.at_most) for one in priced
        ),
        care=care,
        others=tuple(_plan(one, stock) for one in others),
    )


def _basis(stock: Stock, *, sires_as_written: bool) -> Basis:
    no_dose = np.isnan(stock.chances[:, :, 1]).all(axis=1)
    return Basis(
        left_out=stock.why_not,
        pairs_out=_pairs_out(stock),
        risks_unknown=stock.risks.tangled,
        in_doubt=stock.in_doubt,
        alike=_alike(stock),
        outlook=stock.outlook,
        colour=_colour(stock),
        off=float(np.nanmax(stock.off, initial=0.0)),
        unknown=int(no_dose.sum()) if stock.boars else 0,
        sires_as_written=sires_as_written,
    )


def _so_far(at: Round, wishes: Wishes) -> str:
    """How far the search has come, for the page that waits."""
    value, bound = (
        UNITS[wishes.unit] % {"number": f"{number:.1f}"} for number in (at.value, at.bound)
    )
    words = {"n": at.number, "value": value, "bound": bound}
    if np.isnan(at.value):
        return (
            _("Round %(n)d: no plan yet; none within these limits can be better than %(bound)s.")
            % words
        )
    return (
        _("Round %(n)d: the best plan so far gives %(value)s; none can be better than %(bound)s.")
        % words
    )


def _alike(stock: Stock) -> float | None:
    """Mean coancestry of the herd to come if every boar and every sow were used alike."""
    if not stock.boars or not stock.sows:
        return None
    boars, sows = len(stock.boars), len(stock.sows)
    used = np.r_[np.full(boars, 1 / boars), np.full(sows, 1 / sows)]
    return mean_coancestry(stock.kinship, used)


def _pairs_out(stock: Stock) -> dict[str, int]:
    """How many pairs each caution leaves out, of animals of whom neither is left out alone."""
    counted = Counter(
        code
        for (row, column), code in stock.pairs_out.items()
        if stock.sows[row].pk not in stock.why_not and stock.boars[column].pk not in stock.why_not
    )
    return dict(counted)


def _colour(stock: Stock) -> ColourBasis | None:
    """What the chances of the colour wanted rest on."""
    if stock.coloured is None:
        return None
    animals = len(stock.sows) + len(stock.boars)
    return ColourBasis(stock.coloured.noted, animals, stock.coloured.error)


def _plan(plan: Plan, stock: Stock) -> FoundPlan:
    in_colour, showable = stock.in_colour(), stock.showable()
    pairs = tuple(
        PlannedPair(
            sow=stock.sows[row].pk,
            boar=stock.boars[column].pk,
            pups=float(stock.pups[row]),
            one=float(stock.expected(1)[row, column]),
            two=float(stock.expected(2)[row, column]),
            in_colour=float(in_colour[row, column]),
            showable=float(showable[row, column]),
            inbreeding=float(stock.inbreeding[row, column]),
            lethal=float(stock.risks.lethal[row, column]),
            satin=float(stock.risks.satin[row, column]),
        )
        for row, column in plan.pairs
    )
    return FoundPlan(plan.value, plan.bound, plan.proven, plan.coancestry, pairs)


def _obstacle(trouble: Trouble, reasons: Reasons) -> Obstacle:
    stock, limits = reasons.stock, reasons.limits
    reach = None if np.isnan(trouble.reach) else trouble.reach
    found = Obstacle(trouble.limit, trouble.number, reach)
    if trouble.limit == "held-sow":
        return replace(found, sow=stock.sows[trouble.number].pk)
    if trouble.limit == "held-boar":
        return replace(found, boar=stock.boars[trouble.number].pk)
    if trouble.limit != "held-forbidden":
        return found
    row, column = limits.held[trouble.number]
    return replace(
        found,
        sow=stock.sows[row].pk,
        boar=stock.boars[column].pk,
        because=reasons.against(row, column),
        inbreeding=float(stock.inbreeding[row, column]),
    )
