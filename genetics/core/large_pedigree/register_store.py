"""Registers of large families, kept from one calculation to the next.

A register has settled once for the whole family, and is refreshed where the family has changed
since (`Register.refresh`): a litter or a check costs what it touches. Animals are known again by
keys of the caller's, for their numbers change when one is deleted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Lock

import numpy as np

from genetics.core.exceptions import ContradictionError
from genetics.core.large_pedigree.solver import Register
from genetics.core.peeling.problem import PosteriorProblem


@dataclass(frozen=True)
class _Kept:
    """A register, and the key of each of its animals."""

    keys: tuple[int, ...]
    register: Register


class RegisterStore:
    """The registers of the `most` largest families, for one process.

    A register takes about 450 bytes for each animal: 10 MB for 20,000, 45 MB for 100,000.
    """

    def __init__(self, most: int = 1) -> None:
        self.most = most
        self._kept: list[_Kept] = []
        self._lock = Lock()

    def warm_start(self, keys: Sequence[int]) -> WarmStart:
        """The store for a pedigree whose animals have these keys."""
        return WarmStart(self, keys)

    def take(self, keys: Sequence[int]) -> _Kept | None:
        """The register that has most of these animals; all that have any leave the store, so that
        no two threads work on one."""
        wanted = set(keys)
        with self._lock:
            shared = [(len(wanted.intersection(kept.keys)), kept) for kept in self._kept]
            self._kept = [kept for count, kept in shared if not count]
        count, best = max(shared, key=lambda pair: pair[0], default=(0, None))
        return best if count else None

    def put(self, keys: Sequence[int], register: Register) -> None:
        """Keep a register, unless there are larger ones enough."""
        with self._lock:
            kept = [*self._kept, _Kept(tuple(keys), register)]
            self._kept = sorted(kept, key=lambda one: -len(one.keys))[: self.most]


@dataclass(frozen=True)
class WarmStart:
    """A store of registers for one pedigree, whose animals have these `keys`."""

    store: RegisterStore
    keys: Sequence[int]

    @contextmanager
    def register(self, case: PosteriorProblem, family: Sequence[int]) -> Iterator[Register]:
        """The register of a family, refreshed or new; kept if nothing is raised. Raises
        ContradictionError."""
        keys = [self.keys[animal] for animal in family]
        register = _refreshed(self.store.take(keys), case, family, keys)
        if register is None:
            register = Register(case, family)
        yield register
        self.store.put(keys, register)


def _refreshed(
    kept: _Kept | None, case: PosteriorProblem, family: Sequence[int], keys: Sequence[int]
) -> Register | None:
    """The register that was kept, as the family is now; None where that cannot be had. One made
    again finds out whether a contradiction is one."""
    if kept is None:
        return None
    row_of = dict(zip(keys, family, strict=True))
    try:
        kept.register.refresh(case, family, np.array([row_of.get(key, -1) for key in kept.keys]))
    except ContradictionError:
        return None
    return kept.register
