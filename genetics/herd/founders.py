"""The lines of a herd: which founders its animals go back to, who keeps each, what is about to go.

A parent that nobody knows is a founder of its own, unrelated to all others. A possible sire counts
by his share in the figures.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from django.db.models import Q

from genetics.core.relatedness.effective_size import (
    equivalent_generations,
    genome_equivalents,
    size_by_kinship,
    size_by_parents,
)
from genetics.core.relatedness.founders import (
    Contributions,
    Kept,
    contributions,
    drop_genes,
    effective_founders,
    kept,
)
from genetics.core.relatedness.kinship import kinship
from genetics.figures.refresh import engine, standing_shares
from genetics.models import KeptLines, Reckoning
from genetics.snapshot.kept import book_revision
from genetics.snapshot.reading import Reading, read_book
from genetics.snapshot.sire_weights import Weighed, weigh
from herdbook.book.models import Animal, CandidateSire, Herd, Litter
from herdbook.book.models.animal import State
from herdbook.book.models.litter import Source

#: Where an animal still lives that counts as the herd's.
ALIVE = (State.IN_HERD, State.ON_LOAN)

# Genes are dropped down the pedigree so often: a share is then off by 2 in 100 at most, 19 times
# in 20 (twice the standard error of a share of a half, from two genes a draw).
DRAWS = 2000
SEED = 1866
FEW = 2
# Boars and sows with a litter in the last so many days are those that the herd is bred from.
LATELY_DAYS = 365
# A possible sire of less than this is no line of the herd's: he would stand in the list as one that
# is about to be lost.
FOLLOWED_FROM = 0.05


@dataclass(frozen=True)
class Keeper:
    """An animal that has genes of a founder.

    `has`: the share of its own genes that is expected from the founder. `alone`: of the founder's
    genes, the share that no other animal of the herd has.
    """

    animal: Animal
    has: float
    alone: float


@dataclass(frozen=True)
class Founder:
    """A founder by its animal, or as the sire or dam that nobody knows of some pups.

    `share`: of all genes of the herd, those expected from this founder. `left`: of the founder's
    own genes, the share that some animal still has. `keepers`: who has any, most of them first.
    """

    animal: Animal | None
    unknown: str
    pups: tuple[Animal, ...]
    share: float
    left: float
    keepers: tuple[Keeper, ...]

    @property
    def about_to_go(self) -> bool:
        """Whether all that is left of it rests on one or two animals."""
        return len(self.keepers) <= FEW


@dataclass(frozen=True)
class Lines:
    """The founders of a herd, the largest share first, and how many that makes in effect.

    `animals`: how many live in it. `boars` and `sows`: how many had a litter lately. A size that
    cannot be told is None; `generations` are those on record, on the mean of the animals.
    """

    animals: int
    founders: tuple[Founder, ...]
    effective_founders: float
    genome_equivalents: float
    boars: int
    sows: int
    size_by_parents: float | None
    size_by_kinship: float | None
    generations: float

    @property
    def about_to_go(self) -> tuple[Founder, ...]:
        """The lines that rest on one or two animals, the most at stake first."""
        few = [founder for founder in self.founders if founder.about_to_go]
        return tuple(sorted(few, key=lambda one: (len(one.keepers), -one.left)))


def lines_of(herd: Herd, today: date) -> Lines | None:
    """The lines of the animals that live in a herd; None where none does.

    Found once for each revision of the book. Raises PedigreeError where it contradicts itself.
    """
    mark = {"revision": book_revision(), "engine": engine()}
    kept_lines = KeptLines.objects.filter(herd=herd, **mark).first()
    found = kept_lines.found if kept_lines else _found(herd)
    if found is None:
        return None
    # Lines found while the figures are of another revision took possible sires as written.
    if not kept_lines and Reckoning.objects.filter(**mark).exists():
        KeptLines.objects.update_or_create(herd=herd, defaults={**mark, "found": found})
    return _lines(herd, today, found)


def _found(herd: Herd) -> dict | None:
    """The lines as numbers and keys, to be kept; None where no animal lives in the herd.

    A founder: its animal's key or None, which parent nobody knows, the keys of its pups, its share,
    what is left, and its keepers by key with what each has and has alone.
    """
    alive = list(
        Animal.objects.filter(herd=herd, state__in=ALIVE)
        .order_by("pk")
        .values_list("pk", flat=True)
    )
    if not alive:
        return None
    reading = read_book()
    rows = [reading.place[key] for key in alive]
    shares = standing_shares(reading)
    weighed = weigh(reading, shares, least=FOLLOWED_FROM)
    found = contributions(weighed.pedigree, rows)
    left = kept(drop_genes(weighed.pedigree, rows, DRAWS, np.random.default_rng(SEED)))
    table = kinship(weigh(reading, shares).pedigree, rows)
    generations = equivalent_generations(reading.recorded)[rows]
    return {
        "animals": len(alive),
        "founders": list(_founders(reading, weighed, alive, found, left)),
        "effective_founders": effective_founders(found.of_all),
        "genome_equivalents": genome_equivalents(table),
        "size_by_kinship": _or_none(size_by_kinship(table, generations)),
        "generations": float(generations.mean()),
    }


def _founders(
    reading: Reading, weighed: Weighed, alive: list[int], found: Contributions, left: Kept
) -> Iterator[list]:
    for column, number in enumerate(found.founders.tolist()):
        known, unknown, pups = None, "", []
        if number < len(reading):
            known = reading.keys[number]
        else:
            litter, side = weighed.unknown_parent(number)
            unknown = ("sire", "dam")[side]
            pups = [reading.keys[row] for row in weighed.pedigree.litters[litter].pups]
        has, alone = found.shares[:, column], left.alone[:, column]
        rows = sorted(np.flatnonzero(has).tolist(), key=lambda row: (-has[row], -alone[row], row))
        keepers = [[alive[row], float(has[row]), float(alone[row])] for row in rows]
        share, all_left = float(found.of_all[column]), float(left.share[column])
        yield [known, unknown, pups, share, all_left, keepers]


def _lines(herd: Herd, today: date, found: dict) -> Lines:
    """What was found, its animals fetched from the book."""
    boars, sows = _bred_lately(herd, today)
    animals = Animal.objects.select_related("litter").in_bulk(
        {
            key
            for known, _, pups, _, _, keepers in found["founders"]
            for key in (known, *pups, *(keeper for keeper, _, _ in keepers))
            if key is not None
        }
    )
    founders = [
        Founder(
            animal=None if known is None else animals[known],
            unknown=unknown,
            pups=tuple(animals[key] for key in pups),
            share=share,
            left=left,
            keepers=tuple(Keeper(animals[key], has, alone) for key, has, alone in keepers),
        )
        for known, unknown, pups, share, left, keepers in found["founders"]
    ]
    return Lines(
        **found | {"founders": tuple(sorted(founders, key=lambda one: (-one.share, -one.left)))},
        boars=boars,
        sows=sows,
        size_by_parents=size_by_parents(boars, sows) if boars and sows else None,
    )


def _bred_lately(herd: Herd, today: date) -> tuple[int, int]:
    """How many boars and sows have a litter of late, born to a sow of the herd, be it written at
    its birth or taken in from paper; of several boars, the likeliest."""
    since = str(today - timedelta(days=LATELY_DAYS))
    own = Q(source=Source.HOME) | Q(dam__herd=herd, dam__state__in=ALIVE)
    litters = Litter.objects.filter(own, herd=herd, born__gte=since)
    sows = set(litters.exclude(dam=None).order_by().values_list("dam", flat=True))
    likeliest: dict[int, int] = {}
    for litter, boar in CandidateSire.objects.filter(litter__in=litters).values_list(
        "litter", "boar"
    ):
        likeliest.setdefault(litter, boar)
    return len(set(likeliest.values())), len(sows)


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else value
