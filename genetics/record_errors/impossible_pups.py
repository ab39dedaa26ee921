"""The pups that their parents cannot have, by what was seen, sold or written of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from genetics.core.inheritance.loci import Gene, genes
from genetics.core.penetrance.observation import Observation
from genetics.core.record_errors.error_posterior import misfits
from genetics.doses.progeny_test import JUDGED_SELF_DAYS
from genetics.record_errors.results import MendelianInconsistency, Showed
from genetics.snapshot.appearance import words_of
from genetics.snapshot.reading import Reading
from herdbook.book.models import Animal, Herd, Look
from herdbook.book.models.animal import BoughtAs
from herdbook.book.models.look import Stage

Seen = list[tuple[Look | None, Observation]]

# Genotypes that an appearance leaves open, by the count of the allele in question.
_ANY, _NONE, _ONE, _TWO = (True,) * 3, (True, False, False), (False, True, False), (False,) * 2
_MARKED, _DOUBLED, _FEWER = (False, True, True), (*_TWO, True), (True, True, False)
# The recessives that words tell: who shows one has it doubled, who shows another has not.
_RECESSIVE = ("chocolate", "extension", "pink eye", "satin", "rex", "long coat")


def misfits_of(
    reading: Reading, animals: Sequence[Animal], seen: Sequence[Seen], herd: Herd
) -> Iterator[MendelianInconsistency]:
    """The misfits among a herd's own pups, points first."""
    words = [words_of(animal) for animal in animals]
    by_gene = {
        "points": [_points(animal, row) for animal, row in zip(animals, seen, strict=True)],
        **{key: [_doubled(genes()[key], said) for said in words] for key in _RECESSIVE},
    }
    for gene, allowed in by_gene.items():
        for _, pup, parents in misfits(reading.recorded, np.array(allowed, dtype=bool)):
            if animals[pup].herd_id == herd.pk:
                rows = (pup, *parents) if gene == "points" else ()
                yield MendelianInconsistency(
                    gene,
                    animals[pup],
                    tuple(animals[row] for row in parents),
                    tuple(_showed(animals[row], seen[row]) for row in rows),
                )


def _showed(animal: Animal, seen: Seen) -> Showed | None:
    """What `_points` goes by."""
    look = seen[-1][0] if seen else None
    if look is not None:
        return Showed(look.stage, look.on)
    return Showed(animal.bought_as) if animal.bought_as else None


def _points(animal: Animal, seen: Seen) -> tuple[bool, ...]:
    """By the last look, if it was late enough; else by what the animal was bought as."""
    if seen:
        last = seen[-1][1]
        stage, grown = last.stage, last.age_days >= JUDGED_SELF_DAYS
        if stage == Stage.OVERMARKED:
            return _DOUBLED
        if stage == Stage.NONE:
            return _NONE if grown else _ANY
        return _ONE if grown and stage == Stage.FULL else _MARKED
    bought: dict[str, tuple[bool, ...]] = {
        BoughtAs.SELF: _NONE,
        BoughtAs.MARKED: _MARKED,
        BoughtAs.OVERMARKED: _DOUBLED,
    }
    return bought.get(animal.bought_as, _ANY)


def _doubled(gene: Gene, words: dict[str, set[str]]) -> tuple[bool, ...]:
    said = gene.said(words)
    if said is None:
        return _ANY
    shown = gene.classes.index(str(gene.shown))
    if said == (shown,):
        return _DOUBLED
    return _ANY if shown in said else _FEWER
