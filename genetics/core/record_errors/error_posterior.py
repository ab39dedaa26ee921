"""Which records to doubt: the chance that a sire or a look is wrong, and what cannot be.

A record is weighed by all the others together: a litter's sire by the share that the calculation
gives to another boar, a look by how ill it fits the animal's dose, its other looks and its pace.
No chance here picks the best of many: each is averaged over what the other records leave open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.mendel import transmission
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.likelihood import MISJUDGED, MIXED_UP
from genetics.core.penetrance.observation import STAGES, Observation, Seen, as_seen
from genetics.core.penetrance.onset_parameters import CURVES, Curves
from genetics.core.penetrance.pattern_details import details_likelihood
from genetics.core.penetrance.scaled_likelihood import chances_of_rows
from genetics.core.posterior.dose import Dose

Table = NDArray[np.float64]


class Doubt(NamedTuple):
    """One record and the chance that it is wrong.

    `kind`: 'sire' (`number` is the litter, `look` -1), 'look' (`number` is the animal, `look`
    its place among that animal's looks) or 'mix-up' (`number` and `look` are the two littermates
    that were taken for each other).
    """

    kind: str
    number: int
    look: int
    chance: float


class Misfit(NamedTuple):
    """A pup that these parents, or the one parent, cannot have, if all are what they were seen
    to be."""

    litter: int
    pup: int
    parents: tuple[int, ...]


def doubts(
    pedigree: Pedigree,
    dose: Dose,
    looks: Sequence[Sequence[Seen]],
    *,
    misjudged: float = MISJUDGED,
    mixed_up: float = MIXED_UP,
    curves: Curves = CURVES,
) -> list[Doubt]:
    """Every record that can be weighed, the most doubtful first.

    `dose`: what `dose_posterior` made of this pedigree with `errors` above 0 and with the
    likelihood of these `looks` (one row for each animal) at these rates. A sire that was not
    written, and an animal or litter without a figure, is left out. Where whom a record is of is a
    choice of the litter, that two littermates were taken for each other is a doubt of its own, and
    the looks are weighed by the doses of whoever they were made at (`Dose.behind`); elsewhere such
    a look is one at another animal.
    """
    found = [
        Doubt("sire", litter, -1, float(shares[-1]))
        for litter, shares in dose.sire_shares.items()
        if len(shares) > len(pedigree.litters[litter].sires)
    ]
    weighed = list(_looked_at(pedigree, dose, looks, mixed_up))
    rows = [as_seen(looks[animal]) for animal, _, _ in weighed]
    whole, rests = _with_and_without(rows, misjudged, curves)
    for of, seen, every, rest in zip(weighed, rows, whole, rests, strict=True):
        animal, posterior, rate = of
        wrong = _misread(posterior, seen, every, rest, misjudged, rate)
        found += [Doubt("look", animal, place, chance) for place, chance in enumerate(wrong)]
    for pairs in dose.mix_ups.values():
        found += [Doubt("mix-up", first, second, chance) for first, second, chance in pairs]
    return sorted(found, key=lambda doubt: (-doubt.chance, doubt[:3]))


def looks_of_another(
    pedigree: Pedigree,
    dose: Dose,
    looks: Sequence[Sequence[Seen]],
    *,
    misjudged: float = MISJUDGED,
    mixed_up: float = MIXED_UP,
    curves: Curves = CURVES,
) -> dict[int, float]:
    """The chance that an animal's looks were all made at another, for each that was looked at.

    The arguments are those of `doubts`. It is one slip: of the chance that `doubts` gives each of
    the looks it is the part that they share, and the rest is that this one was misread.
    """
    weighed = list(_looked_at(pedigree, dose, looks, mixed_up))
    rows = [as_seen(looks[animal]) for animal, _, _ in weighed]
    chances = chances_of_rows(rows, misjudged=misjudged, curves=curves)
    return {
        animal: _another(posterior, seen, whole, rate)
        for (animal, posterior, rate), seen, whole in zip(weighed, rows, chances, strict=True)
    }


def _looked_at(
    pedigree: Pedigree, dose: Dose, looks: Sequence[Sequence[Seen]], mixed_up: float
) -> Iterator[tuple[int, Table, float]]:
    """The animals with looks and a figure: the doses of whoever was looked at, and the rate of
    mix-ups."""
    rates = mix_up_rates(pedigree, looks, mixed_up)
    rates[list(dose.behind)] = mixed_up
    for animal, seen in enumerate(looks):
        if seen and not np.isnan(dose.chances[animal, 0]):
            posterior = dose.behind.get(animal, dose.chances[animal])
            yield animal, posterior, float(rates[animal])


def mix_up_rates(pedigree: Pedigree, looks: Sequence[Sequence[Seen]], mixed_up: float) -> Table:
    """The chance (n,) that an animal was taken for a littermate that was not seen to be just the
    same, or with chance `mixed_up` for any animal, before any record."""
    taken = np.zeros(len(pedigree))
    for litter in pedigree.litters:
        for first, second, chance in litter.mix_ups:
            if as_seen(looks[first]) != as_seen(looks[second]):
                taken[[first, second]] += chance
    rates: Table = 1 - (1 - mixed_up) * (1 - taken)
    return rates


def misread_looks(
    posterior: Table,
    looks: Sequence[Seen],
    *,
    misjudged: float = MISJUDGED,
    mixed_up: float = MIXED_UP,
    curves: Curves = CURVES,
) -> list[float]:
    """The chance that each of an animal's looks was misread, or made at another animal.

    `posterior` (3,): the dose of the animal that they are written of, or of the littermate that
    was taken for it, by all records, these looks with them. Given the dose d the
    looks depend on nothing else. Let L be the chance of all looks, without mix-ups, and N that of
    all but the one in question, whatever it found: the sum over the four stages that it may have;
    R that of all but it and of showing the stage that was written, in
    the weather that it was made in: an animal that heat has paled is not misread. Then

        L = (1 - m) R + (m / 3) (N - R),  so  R = (L - N m / 3) / (1 - 4 m / 3),

    and of L the part that the look was misread is (m / 3) (N - R): one look left out at a time.
    With D the chance of the details, which given the dose and the stages written say nothing of a
    slip, M = (1 - x) D L + x (mean of D L over d) for all looks and x = `mixed_up`, the chance is
    the mean over `posterior` of ((1 - x) D (m / 3) (N - R) + x mean D L) / M. Raises ValueError
    for a misjudged rate that is not above 0 and below 3 / 4, where a look says nothing.
    """
    seen = as_seen(looks)
    whole, rests = _with_and_without([seen], misjudged, curves)
    return _misread(posterior, seen, whole[0], rests[0], misjudged, mixed_up)


def _with_and_without(
    rows: Sequence[list[Observation]], misjudged: float, curves: Curves
) -> tuple[Table, list[Table]]:
    """Of the looks at each of many animals, the chance (n, 3) of all, and (looks, 3) of all but
    each."""
    if not 0 < misjudged < 3 / 4:
        raise ValueError(f"a rate of misjudged looks lies from 0 to 3/4, and is not {misjudged}")
    asked = [
        *rows,
        *(
            [*row[:place], replace(row[place], stage=stage), *row[place + 1 :]]
            for row in rows
            for place in range(len(row))
            for stage in STAGES
        ),
    ]
    chances = chances_of_rows(asked, misjudged=misjudged, curves=curves)
    rests = chances[len(rows) :].reshape(-1, len(STAGES), 3).sum(axis=1)
    ends = np.cumsum([len(row) for row in rows], dtype=np.int64)
    return chances[: len(rows)], np.split(rests, ends)[:-1]


def _misread(
    posterior: Table,
    seen: list[Observation],
    whole: Table,
    rests: Table,
    misjudged: float,
    mixed_up: float,
) -> list[float]:
    """As `misread_looks` says, by the chances of all looks and of all but each."""
    details, other, mixed = _mixed(whole, seen, mixed_up)
    right = (whole - rests * misjudged / 3) / (1 - 4 * misjudged / 3)
    misread = np.maximum(misjudged / 3 * (rests - right), 0)
    shares = ((1 - mixed_up) * details * misread + other) / np.where(mixed > 0, mixed, 1)
    chances: list[float] = np.minimum(shares @ posterior, 1.0).tolist()
    return chances


def _another(posterior: Table, seen: list[Observation], whole: Table, mixed_up: float) -> float:
    _, other, mixed = _mixed(whole, seen, mixed_up)
    return min(float(posterior @ (other / np.where(mixed > 0, mixed, 1))), 1.0)


def _mixed(whole: Table, seen: list[Observation], mixed_up: float) -> tuple[Table, float, Table]:
    """The chance of the details (3,), that of all looks at another animal, and of all looks (3,)
    at whichever animal."""
    details = details_likelihood(seen)
    other = float(mixed_up * (details * whole).mean())
    return details, other, (1 - mixed_up) * details * whole + other


def misfits(pedigree: Pedigree, allowed: NDArray[np.bool_]) -> list[Misfit]:
    """The pups that their written parents cannot have, by one gene of two alleles.

    `allowed` (n, 3): whether what was seen of an animal leaves it each genotype. For points: a self
    has no dose, a marked animal one, an overmarked one two; so a self pup of an overmarked parent,
    an overmarked pup of a self and a marked pup of two selfs are found. For chocolate, which is
    recessive: a chocolate animal has two, a black one none or one; so black from two chocolate
    parents is found. A parent is blamed alone where no mate could make the pup possible, else
    both are named. Of several candidates each is tried, and a misfit names them all.
    """
    return [
        Misfit(number, pup, parents)
        for number, litter in enumerate(pedigree.litters)
        for pup in litter.pups
        for parents in _unfit(allowed, litter.sires, litter.dams, pup)
    ]


def _unfit(
    allowed: NDArray[np.bool_], sires: tuple[int, ...], dams: tuple[int, ...], pup: int
) -> Iterator[tuple[int, ...]]:
    anyone = np.ones(3, dtype=bool)
    sire = _any_of(allowed, sires)
    dam = _any_of(allowed, dams)
    alone = [
        parents
        for parents, can_be in (
            (sires, _fits(sire, anyone, pup, allowed)),
            (dams, _fits(anyone, dam, pup, allowed)),
        )
        if parents and not can_be
    ]
    if alone:
        yield from alone
    elif not _fits(sire, dam, pup, allowed):
        yield sires + dams


def _any_of(allowed: NDArray[np.bool_], candidates: tuple[int, ...]) -> NDArray[np.bool_]:
    """The genotypes (3,) that some candidate may have; any at all for an unknown parent."""
    if not candidates:
        return np.ones(3, dtype=bool)
    genotypes: NDArray[np.bool_] = np.logical_or.reduce(allowed[list(candidates)])
    return genotypes


def _fits(
    sire: NDArray[np.bool_], dam: NDArray[np.bool_], pup: int, allowed: NDArray[np.bool_]
) -> bool:
    """Whether parents of some of these genotypes can have a pup of one that is allowed it."""
    return any(
        sire[s] and dam[d] and (transmission()[s, d] > 0)[allowed[pup]].any()
        for s, d in product(range(3), repeat=2)
    )
