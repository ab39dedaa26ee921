"""Simulated registers (`registers.py`, seeded): every sow has a litter a season by a
boar of her herd, half of the sows and boars are new each season, and half of the new boars come
from another herd. Five seasons are shallow, 67 are deep. Both sides are given the same arrays of
sires and dams, and their figures are compared animal by animal. The peer is not asked where its
time is empty. All is done by one core.

Kinship of sows with boars, and mean kinship, are asked of a register whose inbreeding is known.
`Pedigree` checks the litters of a file or a book and lays them out; the arrays above start there.
A first call waits for the compiler once on a machine, and for its kept work at later starts.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from genetics.core.pedigree.arrays import Parentage
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.pedigree.sparse_kinship import Lineage
from tests.benchmarks.measuring import Row, beside, quickest
from tests.benchmarks.registers import Register, bred

PEER = "sgkit"
SEED = 67
SOWS, BOARS = 200, 50
START = """
import time, numpy
from genetics.core.pedigree.sparse_kinship import Lineage
from tests.benchmarks.registers import Register
none = numpy.full(3000, -1, dtype=numpy.int32)
parentage = Register(none, none, none).parentage
begun = time.process_time()
lineage = Lineage.of(parentage)
lineage.kinship(numpy.arange(9), numpy.arange(9))
print(time.process_time() - begun)
"""


def measure() -> Iterator[Row]:
    """Inbreeding beside the peer's, then what it has no counterpart for."""
    chance = np.random.default_rng(SEED)
    shallow, deep = bred(chance, 100_000, 5, 100), bred(chance, 100_000, 67, 20)
    yield _inbreeding("inbreeding, {} animals, 5 seasons", shallow, 0.05)
    yield _inbreeding("inbreeding, {} animals, 67 seasons", deep, 1.2)
    yield _inbreeding("inbreeding, {} animals, 5 seasons", bred(chance, 1_000_000, 5, 1000), 0.5)
    yield _kinship_table(bred(chance, 2_000, 10, 2))
    yield _uncertain(chance, shallow, "5 seasons")
    yield _uncertain(chance, deep, "67 seasons")
    for register, seasons in ((shallow, "5 seasons"), (deep, "67 seasons")):
        yield from _kinships(register, seasons)
    yield _checked(shallow)
    with tempfile.TemporaryDirectory() as home:
        yield Row("first call on a machine", _first_call(home))
        yield Row("first call of a later start", _first_call(home))


def _inbreeding(what: str, register: Register, reach_s: float) -> Row:
    theirs = _beside("inbreeding", register)
    ours_s = quickest(lambda: Lineage.of(register.parentage))
    ours = Lineage.of(register.parentage).inbreeding
    difference = float(np.abs(ours - theirs["figures"]).max())
    what = what.format(f"{len(ours):,}")
    return Row(what, ours_s, reach_s, float(theirs["seconds"]), difference)


def _kinship_table(register: Register) -> Row:
    """Every animal with every other, from the arrays of parents on."""
    theirs = _beside("kinship", register)
    everyone = np.arange(len(register.sires))

    def ours() -> NDArray[np.float64]:
        return Lineage.of(register.parentage).kinship(everyone, everyone)

    difference = float(np.abs(ours() - theirs["figures"]).max())
    what = f"kinship of {len(everyone):,} animals with each other, 10 seasons"
    return Row(what, quickest(ours), None, float(theirs["seconds"]), difference)


def _beside(what: str, register: Register) -> dict[str, NDArray[np.float64]]:
    parents = {"sires": register.sires, "dams": register.dams}
    return beside("sgkit_pedigree.py", what=np.array(what), **parents)


def _uncertain(chance: np.random.Generator, register: Register, seasons: str) -> Row:
    """Every litter by its sire or by that of another litter shortly before, at even chances."""
    plain = register.parentage
    sires = plain.candidates[::2]
    before = np.arange(len(sires)) - chance.integers(1, 50, len(sires))
    others = sires[np.maximum(before, 0)]
    start, candidates, weights = [0], [], []
    for sire, other, dam in zip(sires, others, plain.candidates[1::2], strict=True):
        pair = [sire] if sire == other else [sire, other]
        candidates += [*pair, dam]
        weights += [1 / len(pair)] * len(pair) + [1.0]
        start += [len(candidates) - 1, len(candidates)]
    arrays = np.array(start, np.int32), np.array(candidates, np.int32), np.array(weights)
    parentage = Parentage(plain.litter_of, *arrays)
    what = f"inbreeding, {len(plain.litter_of):,} animals, {seasons}, two possible sires a litter"
    return Row(what, quickest(lambda: Lineage.of(parentage)))


def _kinships(register: Register, seasons: str) -> Iterator[Row]:
    lineage = Lineage.of(register.parentage)
    sows, boars = np.unique(register.dams)[-SOWS:], np.unique(register.sires)[-BOARS:]
    grid = quickest(lambda: lineage.kinship(sows, boars))
    yield Row(f"kinship of {SOWS} sows with {BOARS} boars, {seasons}", grid, 0.025)
    everyone, group = np.arange(len(register.sires)), np.concatenate([sows, boars])
    mean = quickest(lambda: lineage.mean_kinship(everyone, group))
    yield Row(f"mean kinship of every animal to {len(group)}, {seasons}", mean)


def _checked(register: Register) -> Row:
    first = np.flatnonzero(np.diff(register.litters, prepend=-1) != 0)
    pups = np.split(np.arange(len(register.litters)), first)[1:]
    litters = tuple(
        Litter(tuple(young), (sire,), (), (dam,))
        for young, sire, dam in zip(
            [one.tolist() for one in pups],
            register.sires[first].tolist(),
            register.dams[first].tolist(),
            strict=True,
        )
    )
    ids = tuple(map(str, range(len(register.litters))))
    seconds = quickest(lambda: Pedigree(ids, litters).parentage)
    return Row(f"a checked `Pedigree` of {len(litters):,} litters", seconds)


def _first_call(home: str) -> float:
    """Processor seconds of the first call in a fresh interpreter that keeps its code in `home`."""
    run = subprocess.run(
        [sys.executable, "-c", START],
        check=True,
        capture_output=True,
        text=True,
        env=os.environ | {"HERDBOOK_HOME": home},
    )
    return float(run.stdout)
