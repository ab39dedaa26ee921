"""Who the book's animals come from where a sire is not certain: each possible one by his share.

Kinship and inbreeding then are expectations over who the sires are, by all that the records say.
Litters are taken one by one, as if what is known of the sire of one said nothing of another's:
where the same records speak of both, the expectation over both together differs a little.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.snapshot.reading import Reading

# By the key of a litter, then of a boar: None for one who is not among those that may be.
Shares = Mapping[int, Mapping[int | None, float]]

# A sire less likely than this adds to no figure that anyone could see.
NOTHING = 1e-9
# Two coefficients nearer than this may read alike on a page, which gives a tenth of a per cent.
SAME = 0.001

_ANOTHER_BOAR = "another boar"


@dataclass(frozen=True)
class Weighed:
    """The book's pedigree with possible sires weighed.

    The first rows of ``pedigree`` are those of the reading. Each row after them is a boar who is
    not in the book and no kin to any that is: he may be the sire of the litter whose number stands
    at his place in ``others``. ``by_records``: whether any litter goes by shares, not as written.
    """

    pedigree: Pedigree
    others: tuple[int, ...] = ()
    by_records: bool = False

    @property
    def animals(self) -> int:
        """How many rows are animals of the book."""
        return len(self.pedigree) - len(self.others)

    def unknown_parent(self, number: int) -> tuple[int, int]:
        """Which litter a number from `animals` on is a parent of, and on which side: 0 the sire, 1
        the dam. Beyond the rows are those that nobody knows, numbered by the core."""
        if number < len(self.pedigree):
            return self.others[number - self.animals], 0
        litter, side = divmod(number - len(self.pedigree), 2)
        return litter, side


def weigh(reading: Reading, shares: Shares, *, least: float = NOTHING) -> Weighed:
    """The pedigree as written, but for the litters that ``shares`` speaks of.

    Boars of less than ``least`` are taken together with the one who is not among them; where that
    comes to less, they are left out.
    """
    if not shares:
        return Weighed(reading.recorded)
    litters = list(reading.recorded.litters)
    others: list[int] = []
    for litter, key in zip(reading.assumed.litters, reading.litter_keys, strict=True):
        if not litter.pups or key not in shares:
            continue
        number = int(reading.recorded.litter_of[litter.pups[0]])
        if number == -1:
            number = len(litters)
            litters.append(litter)
        sires = _likely(reading, shares[key], least)
        rest = 1 - sum(sires.values())
        if rest >= least:
            sires[len(reading) + len(others)] = rest
            others.append(number)
        litters[number] = _by(sires, litter)
    ids = reading.recorded.ids + (_ANOTHER_BOAR,) * len(others)
    return Weighed(Pedigree(ids, tuple(litters)), tuple(others), by_records=True)


def _likely(reading: Reading, said: Mapping[int | None, float], least: float) -> dict[int, float]:
    """The boars of the book by row, with their shares."""
    return {
        reading.place[key]: share
        for key, share in said.items()
        if key is not None and key in reading.place and share >= least
    }


def _by(sires: Mapping[int, float], litter: Litter) -> Litter:
    return Litter(
        litter.pups,
        sires=tuple(sires),
        sire_weights=tuple(sires.values()),
        dams=litter.dams,
        dam_weights=litter.dam_weights,
    )
