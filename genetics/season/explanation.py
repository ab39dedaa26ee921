"""Why a season's plan is as it is: why each sow goes where she goes, and why the others rest."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from genetics.core.mate_allocation.planner import Herd, Limits, Plan
from genetics.core.mate_allocation.unmated_sows import SAME, Rest, rests
from genetics.season.candidates import Stock, Table
from genetics.season.request import Wishes
from herdbook.book.rules.mating_cautions import SHORT

_TINY = 1e-9


@dataclass(frozen=True)
class Reasons:
    """What was planned among: the stock and the core's problem that was made of it."""

    stock: Stock
    wishes: Wishes
    herd: Herd
    limits: Limits

    @cached_property
    def counts(self) -> Table:
        """What each pair's litter counts (sows, boars), those that are left out too."""
        return self.stock.counts(self.wishes)

    def against(self, row: int, column: int) -> tuple[str, ...]:
        """What keeps a pair out: 'asked' (the sow is to rest), codes of cautions, 'inbreeding',
        'forbidden', 'no-dose'; none of a pair that may be made."""
        sow, boar = self.stock.sows[row], self.stock.boars[column]
        cautions = (
            *self.stock.barred.get(sow.pk, ()),
            *self.stock.barred.get(boar.pk, ()),
            *self.stock.pairs_barred.get((row, column), ()),
        )
        others = {
            "inbreeding": self.too_near(row, column),
            "forbidden": (row, column) in self.limits.forbidden,
            "no-dose": bool(np.isnan(self.counts[row, column])),
        }
        asked = ("asked",) if row in self.limits.resting else ()
        return (*asked, *dict.fromkeys(cautions), *(name for name in others if others[name]))

    def too_near(self, row: int, column: int) -> bool:
        """Whether a litter would be inbred above the limit."""
        most = self.limits.inbreeding
        return most is not None and bool(self.stock.inbreeding[row, column] > most + _TINY)

    def rests(self, plan: Plan, *, same: float) -> list[dict[str, Any]]:
        """Who goes to nobody and why, as `Rest` says, or by the code of a caution; animals stand by
        their keys. ``because`` of 'no-boar' holds what keeps boars from her, the commonest first.
        Worths that differ by ``same`` count as the same."""
        found = rests(self.herd, self.limits, plan, same=max(same, SAME))
        return [self._rest(one) for one in found]

    def _rest(self, rest: Rest) -> dict[str, Any]:
        sow = self.stock.sows[rest.sow]
        told: dict[str, Any] = {"sow": sow.pk, "why": rest.why}
        if rest.why == "no-boar":
            told |= self._no_boar(rest.sow)
        if rest.why == "boars":
            told["boars"] = [self.stock.boars[column].pk for column in rest.boars]
        if rest.instead >= 0:
            told["instead"] = self.stock.sows[rest.instead].pk
        if rest.less:
            told["less"] = True
        return told

    def _no_boar(self, row: int) -> dict[str, Any]:
        """Her own caution, or what keeps all boars from her."""
        if code := self.stock.why_not.get(self.stock.sows[row].pk):
            return {"why": code}
        against = [self.against(row, column) for column in range(len(self.stock.boars))]
        always = [code for code in against[0] if all(code in codes for codes in against)]
        first = Counter(codes[0] for codes in against)
        because = always[:1] or [code for code, _ in first.most_common()]
        if len(because) == 1 and because[0] in SHORT:
            return {"why": because[0]}
        return {"because": because}

    def why(self, plan: Plan) -> dict[str, dict[str, Any]]:
        """By sow, why she goes where she goes: 'held', 'best', or who would be worth more and why
        he is not: 'full', 'inbreeding', 'out' or 'whole' (the plan as a whole gains)."""
        may, worth = self.limits.allowed(self.herd), self.herd.value
        free = self.counts
        count = np.bincount([column for _, column in plan.pairs], minlength=len(self.stock.boars))
        found = {}
        for row, column in plan.pairs:
            key = str(self.stock.sows[row].pk)
            if (row, column) in self.limits.held:
                found[key] = {"why": "held"}
                continue
            better = int(np.nanargmax(free[row]))
            more = float(free[row, better] - worth[row, column])
            if more < SAME:
                found[key] = {"why": "best"}
                continue
            why = "whole" if count[better] < self.limits.capacity[better] else "full"
            if not may[row, better]:
                why = "inbreeding" if self.too_near(row, better) else "out"
            boar = self.stock.boars[better].pk
            found[key] = {"why": why, "boar": boar, "more": more}
            code = self.stock.pairs_out.get((row, better)) or self.stock.why_not.get(boar)
            if why == "out" and code:
                found[key]["code"] = code
        return found
