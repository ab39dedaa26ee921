"""The mark of the engine: which method and which tables made a figure.

`METHOD` is raised by hand when a method changes a figure. The tables, rates and limits that doses
rest on change the mark by themselves: every constant of the modules that `STARTING_POINTS` use,
and the file of loci, since colours weigh possible sires. Each counts by its own name and value, so
that a comment, or a module that moves, leaves the mark as it is.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np

from genetics.core.penetrance import group_counts, likelihood
from genetics.core.posterior import dose, genotypes

# 2: pups counted together, and taken for each other; 3: a pup that may have been taken for a
# littermate may have been taken for any other animal too; 4: herds exact that were refined;
# 5: counts in large registers; 6: a book teaches spreads as well as medians, and by counts;
# 7: nameless pups counted hold in a dear family too, where nothing is known of the others;
# 8: a white pup of two roans that nobody saw grown does not weigh possible sires by its white,
# looks of one spell share what the weather did, and milestones keep but loosely to the pace;
# 9: approximate figures of families of every size by one engine
METHOD = 9
STARTING_POINTS = (dose, genotypes, likelihood, group_counts)


def engine_version(*beside: object) -> str:
    """A mark such as '8-3f2a9c04' of the method, of all constants behind the figures, and of what
    the caller sets `beside` them: the founders' frequency, how often a sire is wrong, modules of
    its own. It takes some milliseconds: a process that asks often keeps it."""
    marked = repr([sorted(_constants(modules_used())), [_plain(one) for one in beside]])
    return f"{METHOD}-{hashlib.sha256(marked.encode()).hexdigest()[:8]}"


def modules_used() -> list[ModuleType]:
    """The modules of the core that the starting points use, themselves among them."""
    found: dict[str, ModuleType] = {}
    left = [module.__name__ for module in STARTING_POINTS]
    core = __package__ or ""
    while left:
        name = left.pop()
        if name.startswith(core + ".") and name not in found:
            found[name] = sys.modules[name]
            left += [_home_of(value) for value in vars(found[name]).values()]
    return list(found.values())


def _home_of(value: object) -> str:
    """The name of a module, or of the module that defines a class or function; else nothing."""
    name = value.__name__ if isinstance(value, ModuleType) else getattr(value, "__module__", "")
    return name if isinstance(name, str) and name in sys.modules else ""


def _constants(modules: list[ModuleType]) -> set[str]:
    """Name and value of every constant, once where several modules have the same."""
    return {repr((name, _plain(of))) for module in modules for name, of in _named(module)}


def _named(module: ModuleType) -> Iterator[tuple[str, object]]:
    return ((name, of) for name, of in vars(module).items() if name.strip("_").isupper())


def _plain(value: object) -> object:
    """The same on every machine: a module by its constants, a file by its bytes, and anything
    that is neither a number, words nor a table by its name or kind."""
    if isinstance(value, ModuleType):
        return sorted(_constants([value]))
    if isinstance(value, Path):
        return hashlib.sha256(value.read_bytes()).hexdigest() if value.is_file() else "folder"
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
