"""Littermates that nobody could tell apart: pups counted together, and pups taken for each other.

The running totals of a count become a chain of variables, and a mix-up one more choice of the
litter: which two pups, if any, have their records exchanged. Both are factors of at most three
variables.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from genetics.core.inference.factor_graph import Network, Table
from genetics.core.pedigree.group_records import (
    MIX_UPS,
    GroupCount,
    LabelSwap,
    Totals,
)


def price_of(levels: Sequence[Sequence[Totals]]) -> float:
    """Entries of a tally's largest table, with the doses of a pup and of both its parents."""
    sizes = [len(level) for level in levels]
    return 27.0 * max(one * other for one, other in zip(sizes, sizes[1:], strict=False))


def exchange_chances(pups: Mapping[int, str], alike: Sequence[tuple[int, int]]) -> list[LabelSwap]:
    """How likely each two pups of a litter are taken for each other, at most once for the litter.

    `pups`: how each is told apart, a word of `MIX_UPS`; `alike`: the pairs that no sex or colour
    tells apart. Of two pups the more surely told one counts: whoever knows it knows that it is
    not the other. The rate of a pair is shared by all pairs that are alike, so that a litter of
    pups told apart in one way has just that rate.
    """
    shared = [
        LabelSwap(first, second, min(MIX_UPS[pups[first]], MIX_UPS[pups[second]]) / len(alike))
        for first, second in alike
    ]
    return [one for one in shared if one.chance > 0]


def add_tally(
    network: Network, tally: GroupCount, variables: Sequence[int]
) -> list[tuple[int, ...]]:
    """Multiply a network by a tally, whose members' doses are `variables`, in their order.

    Gives the variables of each member's table, which are wanted together where the tally asks:
    the totals before it but for the first, its dose, the totals after it but for the last.
    """
    scopes = []
    before: tuple[int, ...] = ()
    for place, (table, dose) in enumerate(zip(tally.chain, variables, strict=True)):
        last = place == len(tally.members) - 1
        after = () if last else (network.variable(table.shape[2]),)
        scopes.append((*before, dose, *after))
        inner = table if before else table[0]
        network.factor(scopes[-1], inner[..., 0] if last else inner)
        before = after
    if tally.asked:
        network.together += scopes
    return scopes


def chances_of_ways(tally: GroupCount, joint: Sequence[Table]) -> tuple[Table, ...]:
    """Posterior (3, w) of each member's dose and way, by that of the variables of its table.

    Given the dose and the totals before and after, a way has the share of its own weight in the
    table's entry.
    """
    found = []
    rows = zip(tally.steps, tally.members, tally.chain, joint, strict=True)
    for steps, member, entries, table in rows:
        whole = table.reshape(entries.shape)
        share = np.divide(whole, entries, out=np.zeros_like(entries), where=entries > 0)
        found.append(np.einsum("bda,bwa->dw", share, steps) * member.weights)
    return tuple(found)


def add_mix_ups(
    network: Network, mix_ups: Sequence[LabelSwap], variables: Mapping[int, int], rows: Table
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


def exchanged(pup: int, mix_up: LabelSwap) -> int:
    """Whose record is really this pup's, if these two are exchanged; and whom its own is of."""
    return {mix_up.first: mix_up.second, mix_up.second: mix_up.first}.get(pup, pup)
