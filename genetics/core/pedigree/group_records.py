"""Records of littermates that nobody could tell apart: pups counted, or taken for each other.

A count is a row of littermates and what each may have been among those counted; a chain of
running totals sums over who was what. The rates of swapped pups are common practice, no source,
put into numbers by us: newborn littermates are told apart by a smudge or a swirl of hair, and a
keeper who has not settled on a sign is wrong more often than one who has; a tag is not confused.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.inference.factor_graph import Table

Totals = tuple[int, ...]


# How often the records of two littermates are exchanged, by how they are told apart.
MIX_UPS = {
    "tag": 0.0,  # common practice, no source: a number in the ear is not confused
    "signs": 0.002,  # common practice, no source: markings or a photo, and the keeper is sure
    "not yet": 0.02,  # common practice, no source: no sign is written, and the keeper is sure
    "fairly": 0.05,  # common practice, no source: the keeper is fairly sure which pup this is
    "unsure": 0.2,  # common practice, no source: the keeper is not sure which pup this is
}


class LabelSwap(NamedTuple):
    """The chance that what was seen of two littermates was seen of the other one."""

    first: int
    second: int
    chance: float


class Member(NamedTuple):
    """One of the pups counted: its number, -1 for one without a name, and what it may have been.

    `weights` (3, w): the chance, at each dose, of each way it may have been among those counted;
    `steps` (w, c): what that way adds to each of the totals.
    """

    pup: int
    weights: Table
    steps: NDArray[np.int64]


@dataclass(frozen=True)
class GroupCount:
    """Littermates counted together: the chance that their steps sum to `totals` (c,).

    Given the doses it is the sum, over one way for each member with sums equal to `totals`, of
    the product of their weights: who was what is summed over. `asked`: whether the chances of
    each member's ways are wanted. Raises ValueError where no ways of the members make the totals.
    """

    members: tuple[Member, ...]
    totals: Totals
    asked: bool = False

    def __post_init__(self) -> None:
        if not all(self.levels):
            raise ValueError("no ways of the members make these totals")

    @property
    def pups(self) -> tuple[int, ...]:
        """Those with a name."""
        return tuple(member.pup for member in self.members if member.pup != -1)

    @cached_property
    def steps(self) -> tuple[Table, ...]:
        """For each member, a table over (total before, way, total after): 1 where the way leads
        from one to the other."""
        return tuple(
            _leading(member.steps, before, after)
            for member, before, after in zip(
                self.members, self.levels, self.levels[1:], strict=False
            )
        )

    @cached_property
    def chain(self) -> tuple[Table, ...]:
        """For each member, a table over (total before, dose, total after)."""
        return tuple(
            np.einsum("bwa,dw->bda", steps, member.weights)
            for steps, member in zip(self.steps, self.members, strict=True)
        )

    @cached_property
    def levels(self) -> list[list[Totals]]:
        """The running totals that may stand before the first member and after each, ascending,
        so far as the rest can still make `totals` of them."""
        return levels_of([member.steps for member in self.members], self.totals)


def levels_of(steps: Sequence[NDArray[np.int64]], totals: Totals) -> list[list[Totals]]:
    """The levels of a tally whose members have these steps."""
    ways = [one.tolist() for one in steps]
    there: list[set[Totals]] = [{(0,) * len(totals)}]
    for own in ways:
        sums = {_sum(total, step) for total in there[-1] for step in own}
        there.append({total for total in sums if _within(total, totals)})
    there[-1] &= {totals}
    for place in range(len(ways) - 1, -1, -1):
        there[place] = {
            total
            for total in there[place]
            if any(_sum(total, step) in there[place + 1] for step in ways[place])
        }
    return [sorted(level) for level in there]


def _leading(steps: NDArray[np.int64], before: list[Totals], after: list[Totals]) -> Table:
    table = np.zeros((len(before), len(steps), len(after)))
    place = {total: number for number, total in enumerate(after)}
    for row, total in enumerate(before):
        for way, step in enumerate(steps.tolist()):
            column = place.get(_sum(total, step))
            if column is not None:
                table[row, way, column] = 1
    return table


def _sum(total: Totals, step: Sequence[int]) -> Totals:
    return tuple(one + more for one, more in zip(total, step, strict=True))


def _within(total: Totals, totals: Totals) -> bool:
    return all(one <= most for one, most in zip(total, totals, strict=True))
