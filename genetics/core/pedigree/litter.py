"""A litter: its pups, and who their parents may be."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from genetics.core.pedigree.group_records import GroupCount, LabelSwap


@dataclass(frozen=True)
class Litter:
    """The pups of one birth, or one animal whose parents are on record.

    `sires` and `dams` are the candidates, by number; empty means unknown: one unrelated founder
    for the whole litter, so that its pups are full sibs. All pups share one draw of an uncertain
    parent. Weights are positive, made to sum to one, and equal where none are given; weights
    that cannot be used are kept as they came, for `Pedigree` to name.

    `tally`: what was seen of the pups together, and of littermates that have no number: then a
    litter may have no pups at all. `mix_ups`: the pups that may have been taken for each other,
    whose chances come to less than 1. Neither touches kinship.
    """

    pups: tuple[int, ...]
    sires: tuple[int, ...] = ()
    sire_weights: tuple[float, ...] = ()
    dams: tuple[int, ...] = ()
    dam_weights: tuple[float, ...] = ()
    tally: GroupCount | None = field(default=None, compare=False)
    mix_ups: tuple[LabelSwap, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "sire_weights", _shares(self.sires, self.sire_weights))
        object.__setattr__(self, "dam_weights", _shares(self.dams, self.dam_weights))

    @property
    def candidates(self) -> tuple[int, ...]:
        """All possible parents, sires first."""
        return self.sires + self.dams

    @property
    def counted(self) -> tuple[int, ...]:
        """The pups by number that its tally is about."""
        return () if self.tally is None else self.tally.pups


def _shares(candidates: tuple[int, ...], weights: tuple[float, ...]) -> tuple[float, ...]:
    if candidates and not weights:
        return (1 / len(candidates),) * len(candidates)
    if not usable_weights(candidates, weights):
        return weights
    largest = max(weights, default=1.0)
    scaled = [weight / largest for weight in weights]
    total = math.fsum(scaled)
    return tuple(weight / total for weight in scaled)


def usable_weights(candidates: tuple[int, ...], weights: tuple[float, ...]) -> bool:
    return len(weights) == len(candidates) and all(
        math.isfinite(weight) and weight > 0 for weight in weights
    )
