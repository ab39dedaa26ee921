"""Tables of three variables redrawn with fewer states between them.

A parent of one dose hands the allele on half the time: what a pup's dose depends on is the mean of
what it is with a parent of none and one of two. So a variable of two states, the gamete, may stand
between a parent of three and its pup, and tables that must hold one of the two hold fewer entries.
Nothing here knows of gametes: any table is redrawn whose slices along a variable are the means of
few of them, at a locus with many alleles as well.
"""

from __future__ import annotations

from collections.abc import Container, Sequence

import numpy as np

from genetics.core.inference.factor_graph import ROUNDING, Factor, Table

Mixture = tuple[Table, Table]


def insert_gamete_variables(
    states: Sequence[int], factors: Sequence[Factor], among: Container[int]
) -> tuple[list[int], list[Factor]]:
    """The same network with more variables, numbered after the others: summed over, they leave
    the tables as they were. Redrawn are tables of three variables that are all `among` some."""
    states, redrawn = list(states), []
    known: dict[tuple[int, int], Mixture | None] = {}
    for factor in factors:
        if len(factor.scope) != 3 or not all(variable in among for variable in factor.scope):
            redrawn.append(factor)
            continue
        scope: tuple[int, ...] = factor.scope
        table = factor.table
        for axis, variable in enumerate(factor.scope):
            key = (id(factor.table), axis)
            if key not in known:
                known[key] = mixture(factor.table, axis)
            found = known[key]
            if found is not None:
                hidden = len(states)
                states.append(found[0].shape[1])
                redrawn.append(Factor((variable, hidden), found[0]))
                scope = (*scope[:axis], hidden, *scope[axis + 1 :])
                table = np.take(table, _pure(found[0]), axis=axis)
        redrawn.append(Factor(scope, table))
    return states, redrawn


def mixture(table: Table, axis: int) -> Mixture | None:
    """Weights (states, k) and slices (k, ...) along an axis whose product is the table, each
    slice one of the table's own; None where k is the number of states."""
    slices = np.moveaxis(table, axis, 0)
    rows = slices.reshape(len(slices), -1)
    pure = list(range(len(rows)))
    halves: dict[int, tuple[int, int]] = {}
    for row in range(len(rows)):
        pair = _halves(rows, row, [one for one in pure if one != row])
        if pair is not None:
            pure.remove(row)
            halves[row] = pair
    if not halves:
        return None
    weights = np.zeros((len(rows), len(pure)))
    weights[pure, np.arange(len(pure))] = 1
    for row in reversed(halves):  # the two were pure when it was taken out
        weights[row] = weights[list(halves[row])].mean(axis=0)
    return weights, slices[pure]


def _pure(weights: Table) -> list[int]:
    """The states that are no mixture."""
    return [int(np.flatnonzero(column == 1)[0]) for column in weights.T]


def _halves(rows: Table, row: int, others: Sequence[int]) -> tuple[int, int] | None:
    """Two of the others whose mean a row is."""
    for place, one in enumerate(others):
        for other in others[place + 1 :]:
            mean = (rows[one] + rows[other]) / 2
            if (np.abs(rows[row] - mean) <= ROUNDING * mean).all():
                return one, other
    return None
