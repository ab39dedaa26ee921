"""A family as flat arrays: what stands together in a litter, ready for compiled kernels.

Belief propagation is exact on trees. A sire, a dam and two pups are none: each pup's table joins
both parents, and what they say goes round. So the two become one cluster, and all litters of a
sire and a dam, or one litter with all its possible sires, are trees of clusters: only the loops
between families are left.

The variables are genotypes: of each animal and, after them, of each litter's parent in effect where
it is uncertain or unknown. They meet in clusters of two kinds. A knot joins two variables and,
through Mendel's tables, all those that the two stand with: a sire, a dam and their pups. A
mixture joins a parent in effect to the candidates it may have been, each with its weight, and the
choice among them is summed over in closed form.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.large_pedigree.group_counts import Counts, counts_of
from genetics.core.pedigree.group_records import GroupCount
from genetics.core.peeling.family_network import Locus
from genetics.core.peeling.problem import PosteriorProblem

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
EFFECT = 1 << 40  # identities of parents in effect begin here


class Clusters(NamedTuple):
    """V variables, C clusters, E edges between a cluster and a variable; genotypes are 0 .. g - 1.

    `own` (V, g): each variable's weight by itself, at most 1. Cluster c has the edges from
    `start[c]` to `start[c + 1]`, clusters in the order of a walk down the generations. Of a knot
    they are its two variables and then the others, `table` telling by which of `tables` (3, g * g,
    g) an other one depends on the two; from `leaves[c]` on they stand in no other cluster, so that
    what they say never changes. Of a mixture, where `mixes[c]`, they are the parent in effect,
    `weight` being the chance that it was none of the candidates but drawn from `pool` (g,), and
    then the candidates with their weights. `first[v]` and `next` chain the edges of a variable, -1
    at the end; `cluster` (E,) is each edge's. Pups that were counted together follow one another in
    the knot of their parents, before its leaves (`Counts`, which is handed on by itself: kernels
    that have no need of it are the quicker without).
    """

    own: Floats
    start: Integers
    leaves: Integers
    mixes: NDArray[np.bool_]
    variable: NDArray[np.int32]
    table: NDArray[np.int8]
    weight: Floats
    cluster: NDArray[np.int32]
    first: Integers
    next: Integers
    tables: Floats
    pool: Floats


class Naming(NamedTuple):
    """What the variables and clusters stand for.

    `animals` (n,): the animal of each of the first n variables. `identity` (V,): the animal, or
    EFFECT + 2 * the litter's first pup, + 1 for its dam: the same when the register grows.
    `litter` (C,) and `dams` (C,): of a mixture, its litter and whether it is of dams; -1 of a knot.
    """

    animals: Integers
    identity: Integers
    litter: Integers
    dams: NDArray[np.bool_]


class _Parents(NamedTuple):
    """One side of all litters: the variable in effect of each, and the mixtures among them."""

    variable: Integers
    effects: Integers  # litters with a variable of their own, in order
    mixed: Integers  # those of them that have candidates
    counts: Integers  # of candidates of each mixed litter
    candidates: Integers  # all of them, litter after litter
    weights: Floats
    errors: float


def clusters_of(
    case: PosteriorProblem, family: Sequence[int] | Integers | NDArray[np.int32]
) -> tuple[Clusters, Naming, Counts]:
    """The clusters of animals that include all their possible parents, ascending."""
    animals = np.asarray(family, dtype=np.int64)
    pedigree = case.pedigree
    place = np.full(len(pedigree), -1, dtype=np.int64)
    place[animals] = np.arange(len(animals))
    litters, counted = _litters(case, animals, place)
    pups, pup_counts = _listed(pedigree.litters[number].pups for number in litters)
    sires = _side(case, litters, place, case.locus.errors, dams=False)
    dams = _side(case, litters, place, 0.0, dams=True)
    sires, dams, count = _numbered(sires, dams, len(animals))
    there = place[pups] >= 0
    of = np.repeat(np.arange(len(litters)), pup_counts)[there]
    pups, pup_counts = pups[there], np.bincount(of, minlength=len(litters))
    tallies = [pedigree.litters[litters[one]].tally for one in counted]
    in_tally = _in_tally(tallies, counted, pups, of)
    parents = np.column_stack([sires.variable, dams.variable])
    knots = _knots(parents, of, place[pups], counted, in_tally, count)
    rank = np.empty(len(pedigree))
    rank[pedigree.order] = np.arange(len(pedigree))
    begins = np.cumsum(pup_counts) - pup_counts
    when = _when(case, litters, pups, pup_counts, rank)
    parts = [
        knots.parts(np.concatenate([when[of], when[counted]])),
        _mixtures(sires, when),
        _mixtures(dams, when),
    ]
    own = np.ones((count, case.genotypes))
    own[: len(animals)] = case.evidence.by_animal[animals]
    founders = pedigree.litter_of[animals] == -1
    own[: len(animals)][founders] *= case.founder_shares[animals][founders]
    identity = np.concatenate([animals, np.empty(count - len(animals), dtype=np.int64)])
    eldest = len(pedigree) + litters  # stands for a litter without pups
    eldest[pup_counts > 0] = pups[begins[pup_counts > 0]]
    for side, dam in ((sires, 0), (dams, 1)):
        unknown = np.setdiff1d(side.effects, side.mixed, assume_unique=True)
        own[side.variable[unknown]] = case.locus.pool
        identity[side.variable[side.effects]] = EFFECT + 2 * eldest[side.effects] + dam
    clusters, order, counts = _assembled(own, parts, case.locus, tallies, knots.counted, animals)
    litter = np.concatenate(
        [np.full(len(parts[0].when), -1), litters[sires.mixed], litters[dams.mixed]]
    )
    of_dams = np.repeat([False, False, True], [len(part.when) for part in parts])
    return clusters, Naming(animals, identity, litter[order], of_dams[order]), counts


def _litters(
    case: PosteriorProblem, animals: Integers, place: Integers
) -> tuple[Integers, Integers]:
    """The litters the animals were born in, each once, in order of its first animal, and then those
    that were counted and have no pups there; where among them those stand that were counted."""
    of = case.pedigree.litter_of[animals]
    numbers, at = np.unique(of[of != -1], return_index=True)
    ordered = numbers[np.argsort(at)].tolist()
    known = set(ordered)
    counted = set()
    for number in sorted(case.evidence.tallied):
        litter = case.pedigree.litters[number]
        there = number in known or litter.candidates
        if there and all(place[animal] >= 0 for animal in litter.counted + litter.candidates):
            counted.add(number)
    ordered += sorted(counted - known)
    found = np.array(ordered, dtype=np.int64)
    return found, np.flatnonzero([number in counted for number in ordered]).astype(np.int64)


def _in_tally(
    tallies: Sequence[GroupCount], counted: Integers, pups: Integers, of: Integers
) -> Integers:
    """For each pup the tally that it is in, or -1."""
    found = np.full(len(pups), -1, dtype=np.int64)
    begins = np.searchsorted(of, counted)
    for number, (tally, begin) in enumerate(zip(tallies, begins, strict=True)):
        named, row = set(tally.pups), begin
        while row < len(pups) and of[row] == counted[number]:
            if pups[row] in named:
                found[row] = number
            row += 1
    return found


def _when(
    case: PosteriorProblem, litters: Integers, pups: Integers, pup_counts: Integers, rank: Floats
) -> Floats:
    """When in the walk each litter comes: with its first pup, or after its parents."""
    begins = np.cumsum(pup_counts) - pup_counts
    there = pup_counts > 0
    when = np.empty(len(litters))
    if there.any():
        when[there] = np.minimum.reduceat(rank[pups], begins[there])
    for row in np.flatnonzero(~there):
        when[row] = rank[list(case.pedigree.litters[litters[row]].candidates)].max() + 0.75
    return when


def _listed(lists: Iterable[tuple[int, ...]]) -> tuple[Integers, Integers]:
    """Lists one after the other, and how long each is."""
    kept = list(lists)
    counts = np.fromiter(map(len, kept), dtype=np.int64, count=len(kept))
    return np.fromiter(chain.from_iterable(kept), dtype=np.int64, count=counts.sum()), counts


def _side(
    case: PosteriorProblem, litters: Integers, place: Integers, errors: float, *, dams: bool
) -> _Parents:
    """Sires or dams of litters; a parent in effect is numbered -1 for now."""
    listed = [case.pedigree.litters[number] for number in litters]
    candidates, counts = _listed(one.dams if dams else one.sires for one in listed)
    shares = (one.dam_weights if dams else one.sire_weights for one in listed)
    weights = np.fromiter(chain.from_iterable(shares), dtype=np.float64, count=len(candidates))
    certain = (counts == 1) & (errors == 0)
    begins = np.cumsum(counts) - counts
    variable = np.full(len(litters), -1, dtype=np.int64)
    variable[certain] = place[candidates[begins[certain]]]
    mixed = np.flatnonzero(~certain & (counts > 0))
    kept = np.repeat(~certain, counts)
    return _Parents(
        variable,
        np.flatnonzero(~certain),
        mixed,
        counts[mixed],
        place[candidates[kept]],
        (1 - errors) * weights[kept],
        errors,
    )


def _numbered(sires: _Parents, dams: _Parents, count: int) -> tuple[_Parents, _Parents, int]:
    """The same with their parents in effect numbered from `count`, litter by litter."""
    litters = np.concatenate([sires.effects, dams.effects])
    side = np.repeat([0, 1], [len(sires.effects), len(dams.effects)])
    numbers = np.empty(len(litters), dtype=np.int64)
    numbers[np.lexsort((side, litters))] = count + np.arange(len(litters))
    sires.variable[sires.effects] = numbers[side == 0]
    dams.variable[dams.effects] = numbers[side == 1]
    return sires, dams, count + len(litters)


class _Part(NamedTuple):
    """Clusters of one kind: when in the walk each comes, how many edges it has, and the edges."""

    when: Floats
    counts: Integers
    mixes: bool
    variable: Integers
    table: Integers
    weight: Floats
    tally: Integers  # of each edge, -1 for none


class _Knots(NamedTuple):
    """`pair` (K, 2) of each knot; for each pup its knot, the third variable, its table and the
    tally that it is in; the knots of tallies, `counted`."""

    pair: Integers
    knot: Integers
    third: Integers
    table: Integers
    tally: Integers
    counted: Integers

    def parts(self, when: Floats) -> _Part:
        """As clusters; `when` of each pup, and then of each tally."""
        count = len(self.pair)
        at = np.full(count, np.inf)
        np.minimum.at(at, np.concatenate([self.knot, self.counted]), when)
        by_knot = np.argsort(self.knot, kind="stable")
        counts = np.bincount(self.knot, minlength=count) + 2
        begins = np.cumsum(counts) - counts
        variable = np.empty(counts.sum(), dtype=np.int64)
        table = np.zeros(len(variable), dtype=np.int64)
        others = np.ones(len(variable), dtype=bool)
        for side in (0, 1):
            variable[begins + side] = self.pair[:, side]
            others[begins + side] = False
        variable[others] = self.third[by_knot]
        table[others] = self.table[by_knot]
        tally = np.full(len(variable), -1, dtype=np.int64)
        tally[others] = self.tally[by_knot]
        return _Part(at, counts, False, variable, table, np.zeros(len(variable)), tally)


def _knots(
    parents: Integers, of: Integers, pup: Integers, counted: Integers, tally: Integers, count: int
) -> _Knots:
    """For each pup the two of it and its parents that stand together most often;
    the parents in a litter of which pups were counted.

    `parents` (m, 2) of the litters, `of` (p,) the litter of each pup, `counted` (t,) those with a
    tally, `tally` (p,) the tally that each pup is in.
    """
    trio = np.column_stack([parents[of], pup])
    order = np.argsort(trio, axis=1)
    ascending = np.take_along_axis(trio, order, axis=1)
    pairs = np.array([(0, 1), (0, 2), (1, 2)])
    keys = ascending[:, pairs[:, 0]] * count + ascending[:, pairs[:, 1]]
    distinct, inverse, times = np.unique(keys, return_inverse=True, return_counts=True)
    inverse = inverse.reshape(keys.shape)
    best = times[inverse].argmax(axis=1)
    best = np.where(np.isin(of, counted), 2 - (order == 2).argmax(axis=1), best)
    rows = np.arange(len(pup))
    of_tallies = parents[counted].min(axis=1) * count + parents[counted].max(axis=1)
    chosen, knot = np.unique(
        np.concatenate([distinct[inverse[rows, best]], of_tallies]), return_inverse=True
    )
    knot = knot.reshape(-1)
    left_out = 2 - best  # (0, 1) leaves 2, (0, 2) leaves 1, (1, 2) leaves 0
    who = np.take_along_axis(order, pairs[best], axis=1)  # 2 stands for the pup
    table = np.where(who[:, 0] == 2, 1, np.where(who[:, 1] == 2, 2, 0))
    pair = np.column_stack(np.divmod(chosen, max(1, count)))
    third = ascending[rows, left_out]
    return _Knots(pair, knot[: len(pup)], third, table, tally, knot[len(pup) :])


def _mixtures(side: _Parents, when: Floats) -> _Part:
    counts = side.counts + 1
    begins = np.cumsum(counts) - counts
    variable = np.empty(counts.sum(), dtype=np.int64)
    weight = np.empty(len(variable))
    others = np.ones(len(variable), dtype=bool)
    others[begins] = False
    variable[begins], weight[begins] = side.variable[side.mixed], side.errors
    variable[others], weight[others] = side.candidates, side.weights
    before = when[side.mixed] - 0.5  # who the parent was, and then its young
    none = np.zeros(len(variable), dtype=np.int64)
    return _Part(before, counts, True, variable, none, weight, none - 1)


def _assembled(
    own: Floats,
    parts: list[_Part],
    locus: Locus,
    tallies: list[GroupCount],
    counted: Integers,
    animals: Integers,
) -> tuple[Clusters, Integers, Counts]:
    """All clusters in the order of the walk, the place each came from, and the tallies laid out.
    `counted`: the knots of the tallies, as they are in the first of the parts."""
    counts = np.concatenate([part.counts for part in parts])
    order = np.argsort(np.concatenate([part.when for part in parts]), kind="stable")
    begins = np.cumsum(counts) - counts
    start = np.concatenate([[0], np.cumsum(counts[order])])
    cluster = np.repeat(np.arange(len(order), dtype=np.int32), counts[order])
    edges = begins[order][cluster] + np.arange(len(cluster)) - start[cluster]
    mixes = np.repeat([part.mixes for part in parts], [len(part.when) for part in parts])[order]
    variable = np.concatenate([part.variable for part in parts]).astype(np.int32)
    leaf = (np.bincount(variable, minlength=len(own)) == 1)[variable][edges]
    tally = np.concatenate([part.tally for part in parts])[edges]
    leaf &= ~mixes[cluster] & (tally == -1)
    leaf[start[:-1]] = leaf[start[:-1] + 1] = False  # a knot's own two are none of the others
    last = np.lexsort((np.where(leaf, len(tallies), tally), cluster))
    edges, leaf, tally = edges[last], leaf[last], tally[last]
    variable = variable[edges]
    at = np.empty(len(order), dtype=np.int64)
    at[order] = np.arange(len(order))
    by_cluster = np.argsort(at[counted], kind="stable")
    number = np.append(np.argsort(by_cluster), -1)
    pups = np.append(animals, np.full(len(own) - len(animals), -1))[variable]
    laid_out = counts_of(
        [tallies[one] for one in by_cluster],
        at[counted][by_cluster],
        len(order),
        number[tally],
        pups,
    )
    first, following = _chained(variable, len(own))
    top = own.max(axis=1, keepdims=True)
    clusters = Clusters(
        own / np.where(top > 0, top, 1),
        start,
        start[1:] - np.bincount(cluster[leaf], minlength=len(order)),
        mixes,
        variable,
        np.concatenate([part.table for part in parts]).astype(np.int8)[edges],
        np.concatenate([part.weight for part in parts])[edges],
        cluster,
        first,
        following,
        _tables(locus.transmission),
        locus.pool,
    )
    return clusters, order, laid_out


def _chained(variable: Integers, count: int) -> tuple[Integers, Integers]:
    """Each variable's first edge, and after each edge the variable's next; -1 for none."""
    first = np.full(count, -1, dtype=np.int64)
    following = np.full(len(variable), -1, dtype=np.int64)
    by_variable = np.argsort(variable, kind="stable")
    same = variable[by_variable][1:] == variable[by_variable][:-1]
    following[by_variable[:-1][same]] = by_variable[1:][same]
    begins = by_variable[np.concatenate([[True], ~same])] if len(by_variable) else by_variable
    first[variable[begins]] = begins
    return first, following


def _tables(handed: Floats) -> Floats:
    """A pup given both parents; a parent given the pup and the other; given the other and the pup.

    (3, g * g, g): the two in the order in which the knot names them. `handed` (g, g, g): the chance
    of a pup by its sire's and its dam's genotype.
    """
    turned = (handed, handed.transpose(2, 0, 1), handed.transpose(0, 2, 1))
    tables: Floats = np.stack(
        [np.ascontiguousarray(one).reshape(-1, len(handed)) for one in turned]
    )
    return tables
