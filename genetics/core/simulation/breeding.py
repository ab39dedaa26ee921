"""A herd bred on by a rule for some seasons, many times over.

One run draws what the records leave open (doses, and which of a founder's genes came down), then
breeds season after season: pairs by the rule, litters of drawn sizes with pups drawn from the same
table of Mendel's that the engine uses, losses, and young kept by the rule in the place of the
oldest. All runs go side by side in arrays. Kinship is not estimated: it is carried on by Wright's
definition from the parents of each run.

Arrays: r runs, n breeding animals of which the first `boars` are boars, s sows, p pups.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.mendel import transmission
from genetics.core.posterior.sampling import drawn
from genetics.core.simulation.selection_rules import Policy

Figures = NDArray[np.float64]
Doses = NDArray[np.int8]
Numbers = NDArray[np.int64]

_LOTS = 1e-6  # how far lots move a choice: less than any kinship that matters


@dataclass(frozen=True)
class Plan:
    """How the herd is run. Young are first mated in the season after their birth.

    `boars` and `sows` are mated each season, every sow once, and a boar may cover any number.
    `young_boars` and `young_sows` take the place of the oldest after each season. `sizes` (m + 1,):
    chance that a litter has 0, 1 .. m pups. `losses`: chance that a pup born is lost before it
    counts. `showable`: chance that a one-dose pup is good enough.
    """

    boars: int
    sows: int
    young_boars: int
    young_sows: int
    sizes: Figures
    losses: float
    showable: float = 1.0


@dataclass(frozen=True)
class Start:
    """The animals to breed from, in every run.

    `boars` (b,) and `sows` (s,) index into the rest: `doses` (r, a), `kinship` (a, a), `genes`
    (r, loci, a, 2) as `lines.Drop` has them, `age_days` (a,).
    """

    boars: Numbers
    sows: Numbers
    doses: Doses
    kinship: Figures
    genes: NDArray[np.int32]
    age_days: Figures


@dataclass(frozen=True)
class Herd:
    """The breeding animals of all runs: `doses` (r, n), `kinship` (r, n, n), `genes` (r, loci, n,
    2), and the season each was `born` in (r, n), below zero for those of the start."""

    doses: Doses
    kinship: Figures
    genes: NDArray[np.int32]
    born: Figures
    boars: int


@dataclass(frozen=True)
class Season:
    """What one season brought in each run.

    For each litter, its `mates` (r, s): the boar's place in the herd; `pups` (r, s, m): doses of
    those that lived, -1 where there is none; `showable` (r, s): one-dose pups good enough. For the
    young kept, the places of `sires` and `dams` (r, k), and `now` (r, n): who stands in each place
    afterwards, an old place or n + the young one's number.
    """

    mates: Numbers
    pups: Doses
    showable: Numbers
    inbreeding: Figures
    sires: Numbers
    dams: Numbers
    now: Numbers


def begin(start: Start, plan: Plan, policy: Policy, random: np.random.Generator) -> Herd:
    """The animals that the rule breeds from first; those on hand where there are fewer."""
    if not len(start.boars) or not len(start.sows):
        raise ValueError("a herd is bred on from a boar and a sow at least")
    kin = start.kinship.mean(axis=0)
    places = []
    for own, most, are_boars in ((start.boars, plan.boars, True), (start.sows, plan.sows, False)):
        worth = policy.worth_of_stock(start.doses[:, own], kin[own], are_boars=are_boars)
        places.append(own[_best(worth, most, random)])
    chosen = np.concatenate(places, axis=1)
    return Herd(
        np.take_along_axis(start.doses, chosen, axis=1),
        start.kinship[chosen[:, :, None], chosen[:, None, :]],
        np.take_along_axis(start.genes, chosen[:, None, :, None], axis=2),
        -1 - start.age_days[chosen],
        places[0].shape[1],
    )


def breed(
    herd: Herd, plan: Plan, policy: Policy, season: int, random: np.random.Generator
) -> tuple[Herd, Season]:
    """One season: pair, litter, lose, keep."""
    mates = _mated(herd, policy, random)
    pups = _littered(herd, mates, plan, random)
    runs, sows = mates.shape
    dams = herd.boars + np.broadcast_to(np.arange(sows), mates.shape)
    inbreeding = herd.kinship[np.arange(runs)[:, None], mates, dams]
    one_dose = (pups == 1).sum(axis=2)
    sires, mothers, doses, now = _kept(herd, mates, pups, plan, policy, random)
    brought = Season(
        mates, pups, random.binomial(one_dose, plan.showable), inbreeding, sires, mothers, now
    )
    return _grown(herd, brought, doses, season, random), brought


def _best(worth: Figures, most: int, random: np.random.Generator) -> Numbers:
    """The places (r, most) of those worth most, lots between equals."""
    lots = worth + _LOTS * random.random(worth.shape)
    best: Numbers = np.argsort(-lots, axis=1)[:, :most]
    return best


def _mated(herd: Herd, policy: Policy, random: np.random.Generator) -> Numbers:
    """The boar (r, s) that each sow goes to."""
    boars, sows = herd.doses[:, : herd.boars], herd.doses[:, herd.boars :]
    worth = policy.worth_of_pairs(boars, sows)
    worth += policy.kin * herd.kinship[:, herd.boars :, : herd.boars]
    mates: Numbers = (worth + _LOTS * random.random(worth.shape)).argmax(axis=2)
    return mates


def _littered(herd: Herd, mates: Numbers, plan: Plan, random: np.random.Generator) -> Doses:
    """Doses (r, s, m) of the pups that lived, -1 where there is none."""
    sires = np.take_along_axis(herd.doses, mates, axis=1)
    chances = transmission()[sires, herd.doses[:, herd.boars :]]
    most = len(plan.sizes) - 1
    sizes = random.choice(most + 1, size=mates.shape, p=plan.sizes)
    living = random.binomial(sizes, 1 - plan.losses)
    at = random.random((*mates.shape, most))
    doses = drawn(np.broadcast_to(chances[:, :, None, :], (*at.shape, 3)), at)
    pups: Doses = np.where(np.arange(most) < living[:, :, None], doses, -1).astype(np.int8)
    return pups


def _kept(
    herd: Herd,
    mates: Numbers,
    pups: Doses,
    plan: Plan,
    policy: Policy,
    random: np.random.Generator,
) -> tuple[Numbers, Numbers, Doses, Numbers]:
    """Sires, dams and doses (r, k) of the young kept, and who then stands in each place."""
    runs, sows, most = pups.shape
    doses = pups.reshape(runs, -1)
    litter = np.repeat(np.arange(sows), most)
    to_herd = herd.kinship.mean(axis=2)
    dams = np.broadcast_to(herd.boars + litter, doses.shape)
    sires = mates[:, litter]
    kin = (_at(to_herd, sires) + _at(to_herd, dams)) / 2
    is_boar = random.random(doses.shape) < 0.5
    now = np.broadcast_to(np.arange(herd.born.shape[1]), herd.born.shape).copy()
    chosen: list[Numbers] = []
    for are_boars, most_kept in ((True, plan.young_boars), (False, plan.young_sows)):
        own = slice(None, herd.boars) if are_boars else slice(herd.boars, None)
        worth = policy.worth_of_stock(np.maximum(doses, 0), kin, are_boars=are_boars)
        worth = np.where((doses >= 0) & (is_boar == are_boars), worth, -np.inf)
        places = np.argsort(herd.born[:, own], axis=1, kind="stable")[:, :most_kept]
        best = _best(worth, places.shape[1], random)
        places = places[:, : best.shape[1]] + (own.start or 0)
        number = now.shape[1] + sum(each.shape[1] for each in chosen) + np.arange(best.shape[1])
        there = np.isfinite(_at(worth, best))
        np.put_along_axis(now, places, np.where(there, number, places), axis=1)
        chosen.append(best)
    best = np.concatenate(chosen, axis=1)
    return _at(sires, best), _at(dams, best), np.maximum(_at(doses, best), 0), now


def _grown(
    herd: Herd, brought: Season, doses: Doses, season: int, random: np.random.Generator
) -> Herd:
    """The herd with the young in their places."""
    sires, dams, now = brought.sires, brought.dams, brought.now
    kinship = _with_young(herd.kinship, sires, dams)
    kinship = np.take_along_axis(kinship, now[:, :, None], axis=1)
    kinship = np.take_along_axis(kinship, now[:, None, :], axis=2)
    genes = np.concatenate([herd.genes, _handed_on(herd.genes, sires, dams, random)], axis=2)
    born = np.concatenate([herd.born, np.full(doses.shape, float(season))], axis=1)
    return Herd(
        _at(np.concatenate([herd.doses, doses], axis=1), now),
        kinship,
        np.take_along_axis(genes, now[:, None, :, None], axis=2),
        _at(born, now),
        herd.boars,
    )


def _with_young(kinship: Figures, sires: Numbers, dams: Numbers) -> Figures:
    """Kinship (r, n + k, n + k) of the herd and its young, by Wright's definition."""
    runs, count = kinship.shape[:2]
    young = sires.shape[1]
    whole = np.empty((runs, count + young, count + young))
    whole[:, :count, :count] = kinship
    rows = [np.take_along_axis(kinship, one[:, :, None], axis=1) for one in (sires, dams)]
    with_old = (rows[0] + rows[1]) / 2
    whole[:, count:, :count] = with_old
    whole[:, :count, count:] = with_old.transpose(0, 2, 1)
    columns = [np.take_along_axis(with_old, one[:, None, :], axis=2) for one in (sires, dams)]
    whole[:, count:, count:] = (columns[0] + columns[1]) / 2
    own = np.arange(count, count + young)
    whole[:, own, own] = (1 + kinship[np.arange(runs)[:, None], sires, dams]) / 2
    return whole


def _handed_on(
    genes: NDArray[np.int32], sires: Numbers, dams: Numbers, random: np.random.Generator
) -> NDArray[np.int32]:
    """Genes (r, loci, k, 2) of the young, one from each parent by Mendel's coin."""
    halves = []
    for parents in (sires, dams):
        of_parent = np.take_along_axis(genes, parents[:, None, :, None], axis=2)
        coin = random.integers(2, size=(*of_parent.shape[:3], 1))
        halves.append(np.take_along_axis(of_parent, coin, axis=3))
    return np.concatenate(halves, axis=3)


def _at(rows: NDArray[Any], places: Numbers) -> NDArray[Any]:
    """Each row's values at its own places."""
    return np.take_along_axis(rows, places, axis=1)
