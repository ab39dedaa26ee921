"""The errors of the core, under one root.

GeneticsError
├── PedigreeError                a pedigree that cannot be
├── InconsistentEvidenceError    evidence that no genotypes explain
├── ContradictionError           factors that no states satisfy
├── UnderflowError               numbers too small to divide by
└── NoPlanError                  matings that no plan can hold
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class GeneticsError(Exception):
    """The root of the core's errors."""


class ContradictionError(GeneticsError):
    """No states of the variables have a weight above zero."""


class UnderflowError(GeneticsError):
    """A table came near the smallest number that a computer holds."""


class NoPlanError(GeneticsError):
    """No plan keeps within the limits; `proven` is False where only none was found in time."""

    def __init__(self, proven: bool) -> None:
        self.proven = proven
        super().__init__("no plan keeps within these limits")


class InconsistentEvidenceError(GeneticsError, ValueError):
    """No genotypes explain the evidence.

    `animals` lists, over all such families, each animal whose evidence alone, taken away, makes
    the rest of its family possible, or else every animal with evidence in that family.
    `single` tells for each whether it is of the first kind.
    """

    def __init__(self, animals: Sequence[int], single: Sequence[bool], ids: Sequence[str]) -> None:
        names = ", ".join(ids[animal] for animal in animals)
        super().__init__(f"no genotypes explain the evidence on {names}")
        self.animals = tuple(animals)
        self.single = tuple(single)


class Fault(NamedTuple):
    """One thing wrong with a pedigree: its kind, the animals it concerns, and a sentence.

    Kinds: `index` (no such animal), `litters` (a pup of two litters), `cycle` (its own ancestor),
    `both` (candidate sire and dam of one litter), `repeated` (a candidate or pup named twice),
    `weight` (weights not positive, not finite, or not one for each candidate), `littermate` (in a
    tally or a mix-up of a litter that it is not of).
    """

    kind: str
    animals: tuple[int, ...]
    message: str


class PedigreeError(GeneticsError, ValueError):
    """What a pedigree cannot be; `faults` names every offending animal."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("; ".join(fault.message for fault in faults))
        self.faults = tuple(faults)
