"""Which evidence to doubt where no genotypes explain all of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

Possible = Callable[[Sequence[int]], bool | None]


def single_culprits(animals: Sequence[int], possible: Possible) -> list[int]:
    """The animals without whose evidence that of all the others is possible.

    `possible` tells whether the evidence of some of the animals is, None where that is too
    tangled to tell; that of all of them is not.
    A culprit is in every subset that is impossible, so one small subset is found first.
    """
    others = set(animals)
    return [
        animal for animal in _conflict(animals, possible) if possible(sorted(others - {animal}))
    ]


def _conflict(animals: Sequence[int], possible: Possible) -> list[int]:
    """A small subset of animals whose evidence is impossible together (if that can be shown).

    The shortest impossible beginning of the list ends with a needed animal; that animal is
    kept, the rest after it dropped, and so on until those kept are impossible by themselves.
    """
    kept: list[int] = []
    rest = list(animals)
    while rest and possible(kept) is not False:
        low, high = 1, len(rest)
        while low < high:
            middle = (low + high) // 2
            if possible(kept + rest[:middle]) is not False:
                low = middle + 1
            else:
                high = middle
        kept.append(rest[low - 1])
        rest = rest[: low - 1]
    return kept
