"""Which boars may have sired a litter, by the days on which it can have been conceived.

Gestation is 68 days as a rule and 59 to 73 at most (`rules.limits`); a boar that was there on the
likely days is a likelier sire than one that came or left in between.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from herdbook.book import limits
from herdbook.book.models import Animal, Litter
from herdbook.book.models.animal import State
from herdbook.book.models.litter import Source

# A shed with more boars than this in a fortnight has not had their dates written.
MOST_CANDIDATES = 30

# How far gestations spread around the usual length, in days: the standard deviation (common
# practice, no source; most litters come within four days of the usual date).
SPREAD_DAYS = 2.0

# A boar that is written as a possible sire stays one, whatever the dates say of him: they may be
# wrong. So small a part of what the best of them has he keeps (common practice, no source).
KEPT_SHARE = 0.01

Weighted = tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class Window:
    """The days on which a litter can have been conceived: ``chances`` (n,) from the day numbered
    ``first`` on, summing to one."""

    first: int
    chances: NDArray[np.float64]

    def share_of(self, boar: Animal) -> float:
        """The chance that the litter was conceived on a day when the boar was there, and grown."""
        if boar.state == State.PAPER:
            return 0.0
        days = self.first + np.arange(len(self.chances))
        there = np.ones(len(days), dtype=bool)
        if boar.born is not None:
            grown = boar.born.earliest + timedelta(days=limits.BOAR_SIRES_FROM_DAYS)
            there &= days >= grown.toordinal()
        if boar.came_on is not None:
            there &= days >= boar.came_on.earliest.toordinal()
        if boar.left_on is not None:
            there &= days <= boar.left_on.latest.toordinal()
        return float(self.chances[there].sum())


def conception_window(litter: Litter) -> Window | None:
    """When a litter born at home was conceived; None where its birth is not known.

    By gestation from each day on which it may have been born, and within the days written for the
    boar where these leave any.
    """
    if litter.source != Source.HOME or litter.born is None:
        return None
    lengths = np.arange(limits.GESTATION_LONGEST_DAYS, limits.GESTATION_SHORTEST_DAYS - 1, -1)
    usual = (lengths - limits.GESTATION_USUAL_DAYS) / SPREAD_DAYS
    births = (litter.born.latest - litter.born.earliest).days + 1
    chances = np.convolve(np.exp(-(usual**2) / 2), np.ones(births))
    first = litter.born.earliest.toordinal() - limits.GESTATION_LONGEST_DAYS
    within = _with_the_boar(litter, first + np.arange(len(chances)))
    chances = np.where(within, chances, 0.0) if within.any() else chances
    return Window(first, chances / chances.sum())


def dam_of(litter: Litter, animals: Mapping[int, Animal]) -> Animal | None:
    """The dam of a litter among these animals, by key."""
    return None if litter.dam_id is None else animals.get(litter.dam_id)


def boars_that_were_there(litter: Litter, dam: Animal | None, boars: Iterable[Animal]) -> Weighted:
    """The boars that may have sired a litter born at home whose sire is not written, with weights.

    Of ``boars``, those of the herd, the ones that were old enough and lived in it on some day on
    which it can have been conceived, each by the chance of those days. A sow that came later was
    bought in-pig: then nobody here. Where more than ``MOST_CANDIDATES`` may have been there, their
    dates say too little to name any, and the sire stays unknown.
    """
    window = conception_window(litter)
    if window is None or dam is None or litter.born is None:
        return ()
    last = litter.born.latest - timedelta(days=limits.GESTATION_SHORTEST_DAYS)
    if dam.came_on is not None and dam.came_on.earliest > last:
        return ()
    shares = [(boar.pk, window.share_of(boar)) for boar in boars]
    there = tuple((key, share) for key, share in shares if share > 0)
    return () if len(there) > MOST_CANDIDATES else there


def weighed_by_dates(
    litter: Litter, written: Sequence[tuple[int, float]], animals: dict[int, Animal]
) -> Weighted:
    """Several boars written as possible sires, their weights times what the dates say of each.

    One of another herd, whose days here nobody wrote, counts as one that was there all along.
    """
    window = conception_window(litter) if len(written) > 1 else None
    if window is None:
        return tuple(written)
    shares = [
        window.share_of(animals[key]) if animals[key].herd_id == litter.herd_id else 1.0
        for key, _ in written
    ]
    if not any(shares):
        return tuple(written)
    least = KEPT_SHARE * max(shares)
    return tuple(
        (key, weight * max(share, least))
        for (key, weight), share in zip(written, shares, strict=True)
    )


def without_own_young(
    sires: Mapping[int, Weighted],
    written: Collection[int],
    dams: Mapping[int, int | None],
    pups: Mapping[int, Sequence[int]],
    place: Mapping[int, int],
) -> dict[int, Weighted]:
    """Possible sires by litter without those that may come from the pups themselves.

    A litter of which the year alone is known may have been conceived when its own pups were grown.
    Of litters whose sire is not ``written``, each boar goes out through whom an animal would come
    to be its own ancestor; ``pups`` are rows, and ``place`` is that of an animal's key.
    """
    lines = [
        (place[parent], pup)
        for litter, boars in sires.items()
        for parent in (dams[litter], *(boar for boar, _ in boars))
        if parent is not None
        for pup in pups.get(litter, ())
    ]
    if not lines:
        return dict(sires)
    parents, young = np.array(lines).T
    graph = coo_array((np.ones(len(lines)), (parents, young)), shape=(len(place),) * 2)
    _, circle = connected_components(graph, directed=True, connection="strong")
    kept = {}
    for litter, boars in sires.items():
        own = set() if litter in written else {circle[pup] for pup in pups.get(litter, ())}
        kept[litter] = tuple(pair for pair in boars if circle[place[pair[0]]] not in own)
    return kept


def _with_the_boar(litter: Litter, days: NDArray[np.int64]) -> NDArray[np.bool_]:
    within = np.ones(len(days), dtype=bool)
    if litter.boar_in is not None:
        within &= days >= litter.boar_in.earliest.toordinal()
    if litter.boar_out is not None:
        within &= days <= litter.boar_out.latest.toordinal()
    return within
