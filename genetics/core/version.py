"""Which engine made a figure: what is said today can be told from what was said before.

`METHOD` is raised by hand when a way of reckoning changes what is said; the tables, rates and
limits that doses rest on move the mark by themselves: every constant of `TABLES`, and the file of
loci, since colours weigh possible sires. Doubts of records and plans are not frozen, so their
rates are no part of it.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from types import ModuleType

import numpy as np

from genetics.core import (
    approximation,
    beliefs,
    case,
    columns,
    contraction,
    curves,
    dear,
    details,
    dose,
    elimination,
    evidence,
    factors,
    littermates,
    loci,
    messages,
    neighbourhoods,
    nodes,
    onset,
    propagation,
    register,
    rotations,
    seen,
    solving,
    summing,
    tallies,
    telling,
    vicinity,
)

# 2: pups counted together, and taken for each other; 3: a pup that may have been taken for a
# littermate may have been taken for any other animal too; 4: herds exact that were refined;
# 5: counts in large registers; 6: a book teaches spreads as well as medians, and by counts;
# 7: nameless pups counted hold in a dear family too, where nothing is known of the others;
# 8: a white pup of two roans that nobody saw grown does not weigh possible sires by its white,
# looks of one spell share what the weather did, and milestones keep but loosely to the pace
METHOD = 8
TABLES = (
    approximation,
    beliefs,
    case,
    columns,
    contraction,
    curves,
    dear,
    details,
    dose,
    elimination,
    evidence,
    factors,
    littermates,
    loci,
    messages,
    neighbourhoods,
    nodes,
    onset,
    propagation,
    register,
    rotations,
    seen,
    solving,
    summing,
    tallies,
    telling,
    vicinity,
)


def engine_version(*beside: object) -> str:
    """A mark such as '1-3f2a9c04' of the method, of all tables of `TABLES`, and of what the caller
    sets `beside` them: the founders' frequency, how often a sire is wrong, modules of its own."""
    told = repr([_plain(one) for one in (*TABLES, *beside)])
    return f"{METHOD}-{hashlib.sha256(told.encode()).hexdigest()[:8]}"


def _plain(value: object) -> object:
    """The same on every machine: a module by its constants, a file by what it holds, and what is
    neither a number, words nor a table by its name or kind."""
    if isinstance(value, ModuleType):
        constants = ((name, of) for name, of in vars(value).items() if name.strip("_").isupper())
        return value.__name__, [(name, _plain(of)) for name, of in sorted(constants)]
    if isinstance(value, Path):
        return hashlib.sha256(value.read_bytes()).hexdigest()
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    if isinstance(value, dict):
        return [(_plain(key), _plain(of)) for key, of in value.items()]
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, str):
        return str(value)
    if isinstance(value, bool | int | float | None):
        return value
    return getattr(value, "__name__", type(value).__name__)
