"""Compiled: products of tables, summed over some of their variables.

All tables lie one after the other in one long array, the `arena`, and what they come to is written
into it as well, so that no table is ever held twice. Entries are made by the block: the last
variables of the new table run through a row that stays close to the processor.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from genetics.core.numerics.kernels import compiled

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]
Indices = NDArray[np.uint32]  # without a sign, so that none is looked for from the end

BLOCK = 1024  # entries of a row at most
ALIKE, IN_LINE, SCATTERED = 0, 1, 2  # how a table's entries lie along a row


@compiled
def offsets(shape: Integers, strides: Integers) -> Integers:
    """Where the entries of a table lie (tables, entries) for all states of some variables.

    `shape` (variables,): their states; `strides` (tables, variables).
    """
    found = np.zeros((len(strides), int(shape.prod())), dtype=np.int64)
    for table in range(len(strides)):
        run = found.shape[1]
        for variable in range(len(shape)):
            run //= shape[variable]
            for entry in range(found.shape[1]):
                state = entry // run % shape[variable]
                found[table, entry] += state * strides[table, variable]
    return found


@compiled
def lie(along: Indices) -> int:
    """How a table's entries lie along a row."""
    if along[-1] == 0:
        return ALIKE
    for entry in range(len(along)):
        if along[entry] != entry:
            return SCATTERED
    return IN_LINE


@compiled
def multiply(entries: Floats, along: Indices, how: int, row: Floats) -> None:
    """Multiply a row by a table's entries."""
    if how == IN_LINE:
        for entry in range(len(row)):
            row[entry] *= entries[entry]
    else:
        for entry in range(len(row)):
            row[entry] *= entries[along[entry]]


@compiled
def add(entries: Floats, along: Indices, how: int, row: Floats, total: Floats) -> None:
    """Add a row times a table's entries to the total."""
    if how == IN_LINE:
        for entry in range(len(row)):
            total[entry] += row[entry] * entries[entry]
    else:
        for entry in range(len(row)):
            total[entry] += row[entry] * entries[along[entry]]


@compiled
def weigh(arena: Floats, here: int, row: Floats, state: int, weights: Floats) -> None:
    """Add what was there before, times a row, to the weight of a state; where that is -1, the
    states run along the row."""
    runs = len(weights) if state < 0 else 1
    run = len(row) // runs
    for number in range(runs):
        share = 0.0
        for entry in range(number * run, (number + 1) * run):
            share += arena[here + entry] * row[entry]
        weights[number if state < 0 else state] += share


@compiled
def contract(
    arena: Floats,
    begin: int,
    starts: Integers,
    strides: Integers,
    shape: Integers,
    kept: int,
    scale: float,
    weights: Floats,
    part: int,
    parts: int,
) -> None:
    """Write the product of tables, summed over all variables but the first `kept`, at `begin`.

    `starts` (tables,): where in the arena each begins; `strides` (tables, variables) of the
    variables, of which `shape` (variables,) are the states. All is multiplied by `scale`. What
    was there before, times what is written, is added to `weights` (states of the first variable,),
    if there are any. Only one of several `parts` of the rows is made, so that threads may share.
    """
    width, outer = 1, kept
    while outer > 0 and width * shape[outer - 1] <= BLOCK:
        outer -= 1
        width *= shape[outer]
    along = offsets(shape[outer:kept], strides[:, outer:kept]).astype(np.uint32)
    summed = offsets(shape[kept:], strides[:, kept:])
    how, last = np.empty(len(starts), dtype=np.int64), -1
    for table in range(len(starts)):
        how[table] = lie(along[table])
        if how[table] != ALIKE:
            last = table
    row, total = np.empty(width), np.empty(width)
    rows = int(shape[:outer].prod())
    begun, ended = part * rows // parts, (part + 1) * rows // parts
    at, digits = starts.copy(), np.zeros(outer + 1, dtype=np.int64)
    run = rows
    for variable in range(outer):
        run //= shape[variable]
        digits[variable] = begun // run % shape[variable]
        for table in range(len(starts)):
            at[table] += digits[variable] * strides[table, variable]
    for number in range(begun, ended):
        total[:] = 0.0
        for term in range(summed.shape[1]):
            alike = scale
            for table in range(len(starts)):
                if how[table] == ALIKE:
                    alike *= arena[at[table] + summed[table, term]]
            row[:] = alike
            for table in range(len(starts)):
                entries = arena[at[table] + summed[table, term] :]
                if table == last:
                    add(entries, along[table], how[table], row, total)
                elif how[table] != ALIKE:
                    multiply(entries, along[table], how[table], row)
            if last < 0:
                for entry in range(width):
                    total[entry] += alike
        here = begin + number * width
        if len(weights) > 0:
            weigh(arena, here, total, digits[0] if outer > 0 else -1, weights)
        for entry in range(width):
            arena[here + entry] = total[entry]
        variable = outer - 1
        while variable >= 0:
            digits[variable] += 1
            turned = digits[variable] == shape[variable]
            steps = digits[variable] - 1 if turned else 1
            for table in range(len(starts)):
                by = strides[table, variable]
                at[table] += -by * steps if turned else by
            if not turned:
                break
            digits[variable] = 0
            variable -= 1
