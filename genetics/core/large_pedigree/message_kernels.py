"""Compiled: what the variables of one cluster hear of each other.

Numbers are scaled to a maximum of 1, and one that is no zero never becomes one: a zero is proof.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from genetics.core.numerics.kernels import compiled

Floats = NDArray[np.float64]

STEP = 2.0**400  # one spare exponent
FAINT = 1e-290  # what is smaller, but is no zero
SMALL = 1e-100  # a product that is scaled before it goes on
ROUNDED = 1e-6  # what is left of a difference may be rounding


@compiled
def renormalise(
    product: Floats,
    spare: NDArray[np.int32],
    zeros: NDArray[np.int32],
    plain: NDArray[np.bool_],
    variable: int,
) -> None:
    """Keep a variable's products within reach by their spare exponents."""
    states = product.shape[1]
    usual = True
    for state in range(states):
        while product[variable, state] < 1 / STEP:
            product[variable, state] *= STEP
            spare[variable, state] += 1
        while product[variable, state] > STEP:
            product[variable, state] /= STEP
            spare[variable, state] -= 1
        if spare[variable, state] != 0 or zeros[variable, state] != 0:
            usual = False
    plain[variable] = usual


@compiled
def scale(rows: Floats, row: int, count: int) -> bool:
    """Make the largest of a row 1 and no number but zero vanish; False if all are zero."""
    top = 0.0
    for state in range(count):
        top = max(top, rows[row, state])
    if not top > 0:
        return False
    factor = 1.0 / top
    for state in range(count):
        if rows[row, state] > 0:
            rows[row, state] = max(rows[row, state] * factor, FAINT)
    return True


@compiled
def kept(left: float, right: float) -> float:
    """A product that is zero only where one of the two is."""
    product = left * right
    if product < FAINT:
        return FAINT if left > 0 and right > 0 else 0.0
    return product


@compiled
def without(
    up: Floats,
    product: Floats,
    spare: NDArray[np.int32],
    zeros: NDArray[np.int32],
    variable: int,
    edge: int,
    out: Floats,
    row: int,
) -> bool:
    """What a variable says to an edge's cluster: all that came but from there (-1: all)."""
    states = up.shape[1]
    low = 1 << 30
    for state in range(states):
        nil = edge >= 0 and up[edge, state] == 0
        if zeros[variable, state] == (1 if nil else 0):
            low = min(low, spare[variable, state])
    for state in range(states):
        nil = edge >= 0 and up[edge, state] == 0
        out[row, state] = 0.0
        if zeros[variable, state] == (1 if nil else 0):
            value = product[variable, state]
            if edge >= 0 and not nil:
                value /= up[edge, state]
            for _ in range(min(2, spare[variable, state] - low)):
                value /= STEP
            out[row, state] = max(value, FAINT)
    return scale(out, row, states)


@compiled
def total_of(rows: Floats, row: int) -> float:
    """The sum of a row."""
    total = 0.0
    for state in range(rows.shape[1]):
        total += rows[row, state]
    return total


@compiled
def mix(
    weight: Floats, pool: Floats, came: Floats, told: Floats, single: Floats, begin: int, end: int
) -> None:
    """What a parent in effect and its candidates hear of each other."""
    states = len(pool)
    whole = 0.0
    for state in range(states):
        told[0, state] = weight[begin] * pool[state]
        whole += told[0, state] * came[0, state]
    none = whole
    for one in range(1, end - begin):
        share = weight[begin + one] / total_of(came, one)
        fits = 0.0
        for state in range(states):
            told[0, state] += share * came[one, state]
            fits += share * came[one, state] * came[0, state]
        single[one, 0] = fits
        whole += fits
    for one in range(1, end - begin):
        rest = whole - single[one, 0]
        if rest < ROUNDED * whole:
            rest = none
            for other in range(1, end - begin):
                rest += single[other, 0] if other != one else 0.0
        for state in range(states):
            told[one, state] = rest + weight[begin + one] * came[0, state]


@compiled
def joint_from_pair(
    tables: Floats,
    table: NDArray[np.int8],
    came: Floats,
    single: Floats,
    before: Floats,
    after: Floats,
    begin: int,
    others: int,
) -> None:
    """Multiply what a knot's others say of its two: those before each one, and those after."""
    _, pairs, states = tables.shape
    for one in range(others):
        kind = table[begin + one]
        for both in range(pairs):
            fits = 0.0
            for state in range(states):
                fits += tables[kind, both, state] * came[2 + one, state]
            single[one, both] = fits
    for both in range(pairs):
        after[others, both] = 1.0
    multiply(came, single, before, after, others)


@compiled
def multiply(came: Floats, single: Floats, before: Floats, after: Floats, others: int) -> None:
    """Products of what each of a knot's others says: those before each one, and those after."""
    states, pairs = came.shape[1], before.shape[1]
    for both in range(pairs):
        before[0, both] = kept(came[0, both // states], came[1, both % states])
    for one in range(others):
        top = 0.0
        for both in range(pairs):
            before[one + 1, both] = kept(before[one, both], single[one, both])
            top = max(top, before[one + 1, both])
        if top < SMALL:
            scale(before, one + 1, pairs)
    for one in range(others - 1, -1, -1):
        top = 0.0
        for both in range(pairs):
            after[one, both] = kept(after[one + 1, both], single[one, both])
            top = max(top, after[one, both])
        if top < SMALL:
            scale(after, one, pairs)


@compiled
def split_joint(
    tables: Floats,
    table: NDArray[np.int8],
    came: Floats,
    told: Floats,
    before: Floats,
    after: Floats,
    begin: int,
    others: int,
) -> None:
    """What the two of a knot and its others hear of each other."""
    _, pairs, states = tables.shape
    for state in range(states):
        told[0, state] = told[1, state] = 0.0
        for mate in range(states):
            told[0, state] += kept(after[0, states * state + mate], came[1, mate])
            told[1, state] += kept(after[0, states * mate + state], came[0, mate])
    for one in range(others):
        kind = table[begin + one]
        for state in range(states):
            told[2 + one, state] = 0.0
        for both in range(pairs):
            weight = kept(before[one, both], after[one + 1, both])
            for state in range(states):
                told[2 + one, state] += weight * tables[kind, both, state]
