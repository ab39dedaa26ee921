"""Littermates that nobody could tell apart: pups counted together, and pups taken for each other.

A count is a row of littermates and what each may have been among those counted; a chain of
running totals sums over who was what. A mix-up is one more choice of the litter: which two pups,
if any, have their records exchanged. Both are factors of at most three variables.

The rates are common practice, no source, put into numbers by us: newborn littermates are told
apart by a smudge or a swirl of hair, and a keeper who has not settled on a sign is wrong more
often than one who has; a tag is not confused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.factors import Network, Table

Totals = tuple[int, ...]

# How often the records of two littermates are exchanged, by how they are told apart.
MIX_UPS = {
    "tag": 0.0,  # common practice, no source: a number in the ear is not confused
    "signs": 0.002,  # common practice, no source: markings or a photo, and the keeper is sure
    "not yet": 0.02,  # common practice, no source: no sign is written, and the keeper is sure
    "fairly": 0.05,  # common practice, no source: the keeper is fairly sure which pup this is
    "unsure": 0.2,  # common practice, no source: the keeper is not sure which pup this is
}


class MixUp(NamedTuple):
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
class Tally:
    """Littermates counted together: the chance that their steps sum to `totals` (c,).

    Given the doses it is the sum, over one way for each member with sums equal to `totals`, of
    the product of their weights: who was what is summed over. Raises ValueError where no ways of
    the members make the totals.
    """

    members: tuple[Member, ...]
    totals: Totals

    def __post_init__(self) -> None:
        if not all(self.levels()):
            raise ValueError("no ways of the members make these totals")

    @property
    def pups(self) -> tuple[int, ...]:
        """Those with a name."""
        return tuple(member.pup for member in self.members if member.pup != -1)

    def levels(self) -> list[list[Totals]]:
        """The running totals that may stand before the first member and after each, ascending,
        so far as the rest can still make `totals` of them."""
        there: list[set[Totals]] = [{(0,) * len(self.totals)}]
        for member in self.members:
            sums = {_sum(total, step) for total in there[-1] for step in member.steps.tolist()}
            there.append({total for total in sums if _within(total, self.totals)})
        there[-1] &= {self.totals}
        for place in range(len(self.members) - 1, -1, -1):
            steps = self.members[place].steps.tolist()
            there[place] = {
                total
                for total in there[place]
                if any(_sum(total, step) in there[place + 1] for step in steps)
            }
        return [sorted(totals) for totals in there]

    @property
    def price(self) -> float:
        """Entries of its largest table, with the doses of a pup and of both its parents."""
        sizes = [len(totals) for totals in self.levels()]
        return 27.0 * max(one * other for one, other in zip(sizes, sizes[1:], strict=False))


def exchange_chances(pups: Mapping[int, str], alike: Sequence[tuple[int, int]]) -> list[MixUp]:
    """How likely each two pups of a litter are taken for each other, at most once for the litter.

    `pups`: how each is told apart, a word of `MIX_UPS`; `alike`: the pairs that no sex or colour
    tells apart. Of two pups the more surely told one counts: whoever knows it knows that it is
    not the other. The rate of a pair is shared by all pairs that are alike, so that a litter of
    pups told apart in one way has just that rate.
    """
    shared = [
        MixUp(first, second, min(MIX_UPS[pups[first]], MIX_UPS[pups[second]]) / len(alike))
        for first, second in alike
    ]
    return [one for one in shared if one.chance > 0]


def add_tally(network: Network, tally: Tally, variables: Sequence[int]) -> None:
    """Multiply a network by a tally, whose members' doses are `variables`, in their order."""
    levels = tally.levels()
    before: tuple[int, ...] = ()
    for place, (member, variable) in enumerate(zip(tally.members, variables, strict=True)):
        table = chain(member, levels[place], levels[place + 1])
        last = place == len(tally.members) - 1
        after = () if last else (network.variable(len(levels[place + 1])),)
        shape = [*([table.shape[0]] if before else []), 3, *([] if last else [table.shape[2]])]
        network.factor((*before, variable, *after), table.reshape(shape))
        before = after


def add_mix_ups(
    network: Network, mix_ups: Sequence[MixUp], variables: Mapping[int, int], rows: Table
) -> int:
    """Multiply a network by what was seen of pups that may be taken for each other.

    `variables`: the dose of each pup, by its number; `rows` (n, 3): the likelihood of its record.
    Gives the variable that chooses: state 0 for none, then one for each of `mix_ups`.
    """
    shares = np.array([1 - sum(one.chance for one in mix_ups), *(one.chance for one in mix_ups)])
    choice = network.variable(len(shares))
    network.factor((choice,), shares)
    for pup in dict.fromkeys(pup for one in mix_ups for pup in one[:2]):
        seen = [pup, *(exchanged(pup, one) for one in mix_ups)]
        network.factor((choice, variables[pup]), rows[seen])
        network.together.append((choice, variables[pup]))
    return choice


def exchanged(pup: int, mix_up: MixUp) -> int:
    """Whose record is really this pup's, if these two are exchanged; and whom its own is of."""
    return {mix_up.first: mix_up.second, mix_up.second: mix_up.first}.get(pup, pup)


def chain(member: Member, before: list[Totals], after: list[Totals]) -> Table:
    """Table over (total before, dose, total after)."""
    table = np.zeros((len(before), 3, len(after)))
    place = {total: number for number, total in enumerate(after)}
    for row, total in enumerate(before):
        for way, step in enumerate(member.steps.tolist()):
            column = place.get(_sum(total, step))
            if column is not None:
                table[row, :, column] += member.weights[:, way]
    return table


def _sum(total: Totals, step: Sequence[int]) -> Totals:
    return tuple(one + more for one, more in zip(total, step, strict=True))


def _within(total: Totals, totals: Totals) -> bool:
    return all(one <= most for one, most in zip(total, totals, strict=True))
