"""The integer programme behind a season's plan, for HiGHS.

A column for each pair that may be made, one for the litters of each boar, one for each sow. Where
those of boars and sows are whole numbers, what is left is a transport problem, which has whole
solutions: but every pair is asked to be whole, so that any further row does no harm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

Table = NDArray[np.float64]
Pairs = tuple[tuple[int, int], ...]

_NO_LIMIT = highspy.kHighsInf
_SLACK = 1e-6
_INFEASIBLE = (
    highspy.HighsModelStatus.kInfeasible,
    highspy.HighsModelStatus.kUnboundedOrInfeasible,
)


@dataclass(frozen=True)
class Found:
    """What one run gave: plans, the last the best, and what none can exceed."""

    plans: tuple[Pairs, ...]
    bound: float
    infeasible: bool
    out_of_time: bool


class _Silent(highspy.Highs):
    """HiGHS that prints nothing: its banner comes with the first call but one that silences it, and
    highspy 1.16 makes that call when an instance is made."""

    def enableCallbacks(self) -> None:  # noqa: N802
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]


class Programme:
    """Pairs, pens, boars and sows as rows and columns; tangents are added as they are found.

    `fits` is False where the pairs that are held can't be together.
    """

    def __init__(
        self,
        value: Table,
        may: NDArray[np.bool_],
        *,
        pens: int,
        capacity: NDArray[np.int64],
        held: Pairs = (),
        least: tuple[tuple[Table, float], ...] = (),
        unlike: tuple[tuple[Pairs, int], ...] = (),
    ) -> None:
        self.sows, self.boars = value.shape
        self.value, self.may = value, may
        self.pens, self.capacity, self.held = pens, capacity, held
        self.least, self.unlike = least, unlike
        self.sow, self.boar = np.nonzero(may)
        self.count = len(self.sow)
        self.place = {pair: k for k, pair in enumerate(zip(*self._lists(), strict=True))}
        self.fits = self._fits()
        self.solver: Any = _Silent()  # type: ignore[no-untyped-call]
        if self.fits:
            self.solver.passModel(self._model(value))
            self._further_rows()

    def _lists(self) -> tuple[list[int], list[int]]:
        return self.sow.tolist(), self.boar.tolist()

    def _fits(self) -> bool:
        hers = [sow for sow, _ in self.held]
        his = np.bincount([boar for _, boar in self.held], minlength=self.boars)
        return (
            self.count > 0
            and self.pens > 0
            and all(pair in self.place for pair in self.held)
            and len(set(hers)) == len(hers) <= self.pens
            and bool((his <= self.capacity).all())
        )

    def _model(self, value: Table) -> Any:
        columns = self.count + self.boars + self.sows
        model = highspy.HighsLp()
        model.sense_ = highspy.ObjSense.kMaximize
        model.num_col_ = columns
        model.col_cost_ = np.r_[value[self.sow, self.boar], np.zeros(self.boars + self.sows)]
        lower = np.zeros(columns)
        lower[[self.place[pair] for pair in self.held]] = 1
        model.col_lower_ = lower
        model.col_upper_ = np.r_[
            np.ones(self.count), np.minimum(self.capacity, self.sows), np.ones(self.sows)
        ]
        model.integrality_ = [highspy.HighsVarType.kInteger] * columns
        rows = self._rows()
        model.num_row_ = rows.shape[0]
        model.row_lower_ = np.r_[np.zeros(self.boars + self.sows), 1]
        model.row_upper_ = np.r_[np.zeros(self.boars + self.sows), self.pens]
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = rows.indptr
        model.a_matrix_.index_ = rows.indices
        model.a_matrix_.value_ = rows.data
        return model

    def _rows(self) -> Any:
        """Litters of each boar and of each sow, and of all sows together."""
        pairs, ones = np.arange(self.count), np.ones(self.count)
        his = sparse.csr_matrix((ones, (self.boar, pairs)), (self.boars, self.count))
        hers = sparse.csr_matrix((ones, (self.sow, pairs)), (self.sows, self.count))
        return sparse.bmat(
            [
                [his, -sparse.eye(self.boars), None],
                [hers, None, -sparse.eye(self.sows)],
                [None, None, sparse.csr_matrix(np.ones((1, self.sows)))],
            ],
            format="csr",
        )

    def _further_rows(self) -> None:
        pairs = np.arange(self.count, dtype=np.int32)
        for table, amount in self.least:
            row = np.nan_to_num(table)[self.sow, self.boar]
            self.solver.addRow(amount - _SLACK, _NO_LIMIT, self.count, pairs, row)
        for plan, fewer in self.unlike:
            shared = [self.place[pair] for pair in plan if pair in self.place]
            most = len(plan) - fewer
            ones = np.ones(len(shared))
            self.solver.addRow(-_NO_LIMIT, most, len(shared), np.array(shared, np.int32), ones)

    def add(self, row: Table, most: float) -> None:
        """A limit on the litters of the parents (boars + sows,), such as a tangent."""
        parents = self.count + np.arange(self.boars + self.sows, dtype=np.int32)
        self.solver.addRow(-_NO_LIMIT, most + 1e-9, len(parents), parents, row)

    def keeps(self, pairs: Pairs) -> bool:
        """Whether a plan keeps all limits but the tangents."""
        his = np.bincount([boar for _, boar in pairs], minlength=self.boars)
        return (
            all(pair in self.place for pair in pairs)
            and set(self.held) <= set(pairs)
            and len({sow for sow, _ in pairs}) == len(pairs) <= self.pens
            and bool((his <= self.capacity).all())
            and all(sum(t[pair] for pair in pairs) >= least - _SLACK for t, least in self.least)
            and all(len(set(one) & set(pairs)) <= len(one) - n for one, n in self.unlike)
        )

    def solve(self, seconds: float, gap: float) -> Found:
        """Solve what stands now.

        No start is handed in: HiGHS 1.16 may then give back the start and call it as good as the
        best. A plan that is worth less than was told counts as one that time ran out on.
        """
        solver = self.solver
        for name, value in (
            ("time_limit", seconds),
            ("mip_rel_gap", gap / 2),
            ("mip_abs_gap", 1e-7),
            ("mip_feasibility_tolerance", 1e-8),
            ("mip_improving_solution_save", True),
            ("random_seed", 0),
        ):
            solver.setOptionValue(name, value)
        split = self._run(highspy.HighsVarType.kContinuous)
        bound = _NO_LIMIT
        if split == highspy.HighsModelStatus.kOptimal:
            bound = float(solver.getInfo().objective_function_value)
        status = split if split in _INFEASIBLE else self._run(highspy.HighsVarType.kInteger)
        if status in _INFEASIBLE:
            return Found((), bound, True, False)
        plans = self._plans()
        told = float(solver.getInfo().objective_function_value)
        whole = bool(plans) and self._worth(plans[-1]) >= told - 1e-6 * max(1.0, abs(told))
        return Found(
            plans,
            min(bound, float(solver.getInfo().mip_dual_bound)),
            False,
            status != highspy.HighsModelStatus.kOptimal or not whole,
        )

    def _worth(self, pairs: Pairs) -> float:
        return float(sum(self.value[pair] for pair in pairs))

    def _run(self, kind: Any) -> Any:
        """Solve with columns of this kind; litters that may be split give a quick first bound."""
        columns = self.count + self.boars + self.sows
        every = np.arange(columns, dtype=np.int32)
        self.solver.changeColsIntegrality(columns, every, np.full(columns, kind))
        self.solver.run()
        return self.solver.getModelStatus()

    def _plans(self) -> tuple[Pairs, ...]:
        """Those met on the way, the best last."""
        solver = self.solver
        if (
            solver.getInfo().primal_solution_status
            != highspy.SolutionStatus.kSolutionStatusFeasible
        ):
            return ()
        met = [saved.col_value for saved in solver.getSavedMipSolutions()]
        found: list[Pairs] = []
        for values in [*met[-5:], solver.getSolution().col_value]:
            chosen = np.flatnonzero(np.asarray(values)[: self.count] > 0.5)
            pairs = tuple(zip(self.sow[chosen].tolist(), self.boar[chosen].tolist(), strict=True))
            if pairs in found:
                found.remove(pairs)
            found.append(pairs)
        return tuple(found)
