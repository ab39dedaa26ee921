"""What care costs a season's plan: each kind of caution in turn taken as if nobody stayed out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from genetics.core.mate_allocation.planner import Herd, Limits, Plan
from genetics.core.mate_allocation.sensitivity import Tell, cost_of
from genetics.season.candidates import Codes, Stock
from genetics.season.request import LETHAL, SATIN, Wishes


def costs_of_care(
    stock: Stock,
    wishes: Wishes,
    herd: Herd,
    limits: Limits,
    best: Plan,
    *,
    seconds: float,
    tell: Tell | None = None,
) -> list[dict[str, Any]]:
    """For each kind of caution that keeps anybody out: its ``codes``, how many ``sows``, ``boars``
    and, of those that stay in, ``pairs`` it speaks of, and what the plan would gain without it, by
    solving again: ``gain`` of the best plan found, ``at_most`` its bound."""
    found = []
    for codes in _kinds(wishes):
        kept_out = _kept_out(stock, codes)
        if not any(kept_out.values()):
            continue
        if tell is not None:
            tell(codes[0])
        spared = replace(herd, value=stock.worth(wishes, without=codes))
        cost = cost_of("care", spared, limits, best, seconds=seconds)
        found.append({"codes": list(codes), **kept_out, "gain": cost.gain, "at_most": cost.at_most})
    return found


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
