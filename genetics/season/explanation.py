"""Why a season's plan is as it is: why each sow has her boar, and why the others have none."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from genetics.core.mate_allocation.planner import Constraints, MatingProblem, Plan
from genetics.core.mate_allocation.unmated_sows import SAME, Rest, rests
from genetics.season.candidates import Stock, Table
from genetics.season.request import Wishes
from genetics.season.result import PairReason, UnmatedSow
from herdbook.book.rules.mating_cautions import SHORT

_TINY = 1e-9


@dataclass(frozen=True)
class Reasons:
    """What was planned among: the stock and the core's problem that was made of it."""

    stock: Stock
    wishes: Wishes
    herd: MatingProblem
    limits: Constraints

    @cached_property
    def counts(self) -> Table:
        """What each pair's litter counts (sows, boars), those that are left out too."""
        return self.stock.counts(self.wishes)

    @cached_property
    def may(self) -> NDArray[np.bool_]:
        """Which pairs may be made within the limits (sows, boars)."""
        return self.limits.allowed(self.herd)

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

    def rests(self, plan: Plan, *, same: float) -> tuple[UnmatedSow, ...]:
        """The sows without a boar, each with why. Values that differ by ``same`` count as equal."""
        found = rests(self.herd, self.limits, plan, same=max(same, SAME))
        return tuple(self._unmated(one) for one in found)

    def _unmated(self, rest: Rest) -> UnmatedSow:
        why = rest.why
        because: tuple[str, ...] = ()
        if why == "no-boar":
            why, because = self._no_boar(rest.sow)
        full = rest.boars if rest.why == "boars" else ()
        return UnmatedSow(
            self.stock.sows[rest.sow].pk,
            why,
            because,
            boars=tuple(self.stock.boars[column].pk for column in full),
            instead=self.stock.sows[rest.instead].pk if rest.instead >= 0 else None,
            less=bool(rest.less),
        )

    def _no_boar(self, row: int) -> tuple[str, tuple[str, ...]]:
        """Her own caution, or 'no-boar' with what keeps all boars from her."""
        if code := self.stock.why_not.get(self.stock.sows[row].pk):
            return code, ()
        against = [self.against(row, column) for column in range(len(self.stock.boars))]
        always = [code for code in against[0] if all(code in codes for codes in against)]
        first = Counter(codes[0] for codes in against)
        because = tuple(always[:1] or [code for code, _ in first.most_common()])
        if len(because) == 1 and because[0] in SHORT:
            return because[0], ()
        return "no-boar", because

    def why(self, plan: Plan) -> dict[int, PairReason]:
        """By sow, why she has her boar."""
        count = np.bincount([column for _, column in plan.pairs], minlength=len(self.stock.boars))
        return {
            self.stock.sows[row].pk: self._reason(row, column, count) for row, column in plan.pairs
        }

    def _reason(self, row: int, column: int, count: NDArray[np.intp]) -> PairReason:
        """``count``: how many sows each boar has in the plan."""
        if (row, column) in self.limits.held:
            return PairReason("held")
        better = int(np.nanargmax(self.counts[row]))
        more = float(self.counts[row, better] - self.herd.value[row, column])
        if more < SAME:
            return PairReason("best")
        boar = self.stock.boars[better].pk
        if self.may[row, better]:
            full = count[better] >= self.limits.capacity[better]
            return PairReason("full" if full else "whole", boar, more)
        if self.too_near(row, better):
            return PairReason("inbreeding", boar, more)
        code = self.stock.pairs_out.get((row, better)) or self.stock.why_not.get(boar, "")
        return PairReason("out", boar, more, code)
