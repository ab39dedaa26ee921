"""Simulated registers of many herds to measure on. Seeded; no record of any herd.

Every season each sow of a herd has a litter by one of its boars. For the next season each herd
keeps some young of its own in the place of older ones, and half of its new boars are exchanged
for another herd's. Few seasons make a shallow register, many a deep one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from genetics.core.pedigree.arrays import Numbers, Parentage

PUPS = np.array([1, 2, 3, 4, 5])
CHANCES = np.array([0.1, 0.2, 0.4, 0.2, 0.1])
SOWS_A_BOAR = 8
KEPT = 0.5  # of the boars and sows of one season in the next


@dataclass(frozen=True)
class Register:
    """Parents (n,) of each animal, and its litter; -1 where there is none. Older come first."""

    sires: Numbers
    dams: Numbers
    litters: Numbers

    @property
    def parentage(self) -> Parentage:
        """The same by litters, each by its first pup's parents."""
        first = np.full(int(self.litters.max(initial=-1)) + 1, -1)
        bred = np.flatnonzero(self.litters != -1)[::-1]
        first[self.litters[bred]] = bred
        sides = np.column_stack([self.sires[first], self.dams[first]]).ravel()
        known = sides != -1
        start = np.concatenate([[0], np.cumsum(known)]).astype(np.int32)
        candidates = sides[known].astype(np.int32)
        return Parentage(self.litters, start, candidates, np.ones(len(candidates)))


def bred(chance: np.random.Generator, animals: int, seasons: int, herds: int) -> Register:
    """A register of about so many animals, in herds of one size."""
    sows_a_herd = max(SOWS_A_BOAR, round(animals / seasons / 3 / herds))
    boars_a_herd = max(2, round(sows_a_herd / SOWS_A_BOAR))
    sows = np.arange(herds * sows_a_herd).reshape(herds, -1)
    boars = sows.size + np.arange(herds * boars_a_herd).reshape(herds, -1)
    sires, dams = [np.full(sows.size + boars.size, -1)], [np.full(sows.size + boars.size, -1)]
    count = sows.size + boars.size
    for _season in range(seasons):
        mates = boars[np.arange(herds)[:, None], chance.integers(boars_a_herd, size=sows.shape)]
        sizes = chance.choice(PUPS, size=sows.shape, p=CHANCES)
        sires.append(np.repeat(mates.ravel(), sizes.ravel()))
        dams.append(np.repeat(sows.ravel(), sizes.ravel()))
        home = np.repeat(np.arange(sows.size) // sows_a_herd, sizes.ravel())
        young = count + np.arange(len(home))
        count += len(home)
        sows, boars = _next_season(chance, sows, boars, young, home)
    sire, dam = np.concatenate(sires).astype(np.int32), np.concatenate(dams).astype(np.int32)
    return Register(sire, dam, _litters(sire, dam))


def _next_season(
    chance: np.random.Generator, sows: Numbers, boars: Numbers, young: Numbers, home: Numbers
) -> tuple[Numbers, Numbers]:
    """Some of each herd's young in the places of its older sows and boars."""
    sows, boars = sows.copy(), boars.copy()
    places = np.searchsorted(home, np.arange(len(sows) + 1))
    new_boars = boars.shape[1] - round(boars.shape[1] * KEPT)
    new_sows = sows.shape[1] - round(sows.shape[1] * KEPT)
    for herd, (first, last) in enumerate(zip(places[:-1], places[1:], strict=True)):
        picked = chance.permutation(young[first:last])[: new_boars + new_sows]
        boars[herd] = np.roll(boars[herd], new_boars)
        sows[herd] = np.roll(sows[herd], new_sows)
        boars[herd, :new_boars] = picked[:new_boars]
        sows[herd, : len(picked) - new_boars] = picked[new_boars:]
    exchanged = new_boars - new_boars // 2
    boars[:, :exchanged] = chance.permutation(boars[:, :exchanged])
    return sows, boars


def _litters(sires: Numbers, dams: Numbers) -> Numbers:
    """Animals of the same parents that follow one another are a litter."""
    bred = sires != -1
    new = np.r_[True, (np.diff(sires) != 0) | (np.diff(dams) != 0)] & bred
    return np.where(bred, np.cumsum(new) - 1, -1).astype(np.int32)
