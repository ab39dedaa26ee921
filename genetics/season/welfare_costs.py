"""What the welfare rules cost a season's plan: each kind of caution in turn ignored."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from genetics.core.mate_allocation.planner import Constraints, MatingProblem, Plan
from genetics.core.mate_allocation.sensitivity import Tell, cost_of
from genetics.season.candidates import Codes, Stock
from genetics.season.request import LETHAL, SATIN, Wishes
from genetics.season.result import WelfareCost


def costs_of_care(
    stock: Stock,
    wishes: Wishes,
    herd: MatingProblem,
    limits: Constraints,
    best: Plan,
    *,
    seconds: float,
    tell: Tell | None = None,
) -> tuple[WelfareCost, ...]:
    """Each kind of caution that keeps any animal out, with what the plan would gain without it, by
    solving again."""
    found = []
    for codes in _kinds(wishes):
        kept_out = _kept_out(stock, codes)
        if not any(kept_out.values()):
            continue
        if tell is not None:
            tell(codes[0])
        spared = replace(herd, value=stock.worth(wishes, without=codes))
        cost = cost_of("care", spared, limits, best, seconds=seconds)
        found.append(WelfareCost(codes, **kept_out, gain=cost.gain, at_most=cost.at_most))
    return tuple(found)


def _kinds(wishes: Wishes) -> Iterator[Codes]:
    """The cautions that keep out, those that are let in together as one."""
    rest = set(wishes.left_out)
    for together in (LETHAL, SATIN):
        if kind := tuple(code for code in together if code in rest):
            rest -= set(kind)
            yield kind
    yield from ((code,) for code in wishes.left_out if code in rest)


def _kept_out(stock: Stock, codes: Codes) -> dict[str, int]:
    """How many animals a kind of caution speaks of, and how many pairs of others that stay in."""
    kind = set(codes)
    alone = {key for key, barred in stock.barred.items() if kind & set(barred)}
    return {
        "sows": sum(sow.pk in alone for sow in stock.sows),
        "boars": sum(boar.pk in alone for boar in stock.boars),
        "pairs": sum(
            bool(kind & set(barred))
            and stock.sows[row].pk not in stock.barred
            and stock.boars[column].pk not in stock.barred
            for (row, column), barred in stock.pairs_barred.items()
        ),
    }
