"""Simulated registers (`benchmarks/registers.py`, seeded) of exactly so many animals: twelve
seasons, some three hundred animals a herd, half of the new boars from other herds, cut off where
there are enough; a third of the animals without a look, the others with odds, none beyond doubt.

'By messages': a figure of every animal with its estimate of error, from the checked pedigree on,
by the compiled belief propagation of large families, two starts side by side on two threads; with
errors of 0.01 each sire is a choice. 'As the book asks', once: exact is tried first up to 2,000
animals, and every animal is refined besides. 'A litter of four' is born into the register and
the messages follow it: the solver's time alone, and then all of it, with the arrays laid out
anew; medians of 21 litters, one after the other. A reach is held against the clock, since two
threads share the work; both times rise where other programs want the cores.

'Exact' is the exact engine, on seeded herds, and how much memory the process came to in all, its
libraries counted. Of 12 sows and 6 boars a season, parents are of the last three seasons, put
together at random (`benchmarks/herds.py`). The peer is asked for the same figures of smaller such
herds with 3 boars by variable elimination, a query an animal, as far up as it finishes twice
within 6 GB and a minute.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from benchmarks import registers
from benchmarks.herds import FREQUENCY, Habits, Herd, bred, looked_at
from benchmarks.measuring import Row, beside, quickest_both, seconds
from genetics.core.case import BUDGET, Case
from genetics.core.dose import Dose, reckon_dose
from genetics.core.pedigree import Litter, Pedigree
from genetics.core.register import Register
from genetics.core.solving import solve

PEER = "pgmpy"
SEED = 1866
REACHES = {1_000: 0.010, 10_000: 0.1, 100_000: 1.2}
SEASONS, A_HERD = 12, 290
LITTERS = 21
LOOKS = np.array([[0.08, 0.55, 0.3], [0.9, 0.08, 0.02], [1, 1, 1], [0.08, 0.55, 0.3]])
PEERS_SIZES = (15, 25, 40, 60, 90, 130, 200)
PEERS_PATIENCE_S = 60
EXACT, HERDS = 200, 12
EXACT_REACH_S, EXACT_REACH_MB = 1.0, 500
FEW_BOARS = "8 sows and 2 boars a season, none beyond doubt"
MANY_BOARS = "12 sows and 6 boars a season, none beyond doubt"
SOME_CERTAIN = "12 sows and 6 boars a season, 10% beyond doubt"
MEMORY = """
import resource
from benchmarks.dose import affordable, herds, reckoned
for herd in filter(affordable, herds({kind!r})):
    reckoned(herd)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def measure() -> Iterator[Row]:
    """Exact beside the peer, then registers of three sizes, then what a litter costs."""
    yield from _beside_the_peer()
    for kind in (FEW_BOARS, MANY_BOARS, SOME_CERTAIN):
        yield _exact(kind)
    for animals, reach_s in REACHES.items():
        herd = _register(animals)
        for errors in (0.0, 0.01):
            yield _messages(herd, errors, reach_s)
        if animals == min(REACHES):
            yield _as_asked(herd)
    yield from _litters(herd)


def _register(animals: int) -> Herd:
    chance = np.random.default_rng(SEED)
    count = 1 + -(-animals // A_HERD)
    return _cut(looked_at(chance, registers.bred(chance, animals, SEASONS, count)), animals)


def _cut(herd: Herd, animals: int) -> Herd:
    """The first so many animals, parents before offspring."""
    born = (
        (litter, [one for one in litter.pups if one < animals]) for litter in herd.pedigree.litters
    )
    litters = tuple(replace(litter, pups=tuple(pups)) for litter, pups in born if pups)
    pedigree = Pedigree(herd.pedigree.ids[:animals], litters)
    return Herd(pedigree, herd.likelihood[:animals], herd.doses[:animals])


def _small(animals: int) -> Herd:
    habits = Habits(animals, boars=3, founders=max(6, animals // 5), litters=5, certain=0.0)
    return _cut(bred(np.random.default_rng(SEED), habits), animals)


def _beside_the_peer() -> Iterator[Row]:
    for animals in PEERS_SIZES:
        herd = _small(animals)
        ours_s, clock_s = quickest_both(lambda herd=herd: reckoned(herd))
        what = f"exact, {len(herd.pedigree)} animals"
        try:
            theirs = beside("pgmpy_dose.py", PEERS_PATIENCE_S, **_arrays(herd))
        except (subprocess.CalledProcessError, subprocess.TimeoutExpired) as error:
            how = "took too long" if isinstance(error, subprocess.TimeoutExpired) else "failed"
            yield Row(f"{what}; the peer {how}", ours_s, clock_s=clock_s)
            return
        difference = float(np.abs(reckoned(herd).chances - theirs["doses"]).max())
        yield Row(what, ours_s, None, float(theirs["seconds"]), difference, clock_s)


def _arrays(herd: Herd) -> dict[str, np.ndarray]:
    parents = np.full((2, len(herd.pedigree)), -1)
    for litter in herd.pedigree.litters:
        parents[:, list(litter.pups)] = np.array([litter.sires, litter.dams])
    given = {"sires": parents[0], "dams": parents[1], "likelihood": herd.likelihood}
    return given | {"frequency": np.array(FREQUENCY)}


def reckoned(herd: Herd, **told: object) -> Dose:
    return reckon_dose(herd.pedigree, herd.likelihood, frequency=FREQUENCY, **told)


def herds(kind: str) -> list[Herd]:
    """Herds of 200 of a kind, those that the budget allows to be exact and the others."""
    return [_cut(_herd(kind, np.random.default_rng(SEED + one)), EXACT) for one in range(HERDS)]


def _herd(kind: str, chance: np.random.Generator) -> Herd:
    if kind == FEW_BOARS:
        return looked_at(chance, registers.bred(chance, EXACT, SEASONS, 1))
    return bred(chance, Habits(EXACT, certain=0.1 if kind == SOME_CERTAIN else 0.0))


def affordable(herd: Herd) -> bool:
    """Whether all of a herd is exact within the budget."""
    case = _case(herd)
    networks = (case.network(family).network for family in herd.pedigree.families())
    return not any(solve(network, case.budget).tangled for network in networks)


def _exact(kind: str) -> Row:
    """The slowest of those herds that the budget allows to be exact."""
    tried = herds(kind)
    exact = [herd for herd in tried if affordable(herd)]
    dear = f"{HERDS - len(exact)} of {HERDS} herds cost more than the budget: reach not met"
    what = f"exact, {EXACT} animals, {kind}"
    if not exact:
        ours_s, clock_s = np.max(
            [seconds(lambda one=one: affordable(one)) for one in tried], axis=0
        )
        return Row(f"{what}: {dear}; to find that out", ours_s, clock_s=clock_s)
    times = [quickest_both(lambda herd=herd: reckoned(herd), for_s=0) for herd in exact]
    ours_s, clock_s = np.max(times, axis=0).tolist()
    used = _memory_mb(kind)
    met = "met" if used <= EXACT_REACH_MB else "not met"
    found = f"the slowest of {len(exact)}" + (f"; {dear}" if len(exact) < HERDS else "")
    memory = f"at most {used:.0f} MB of memory (reach {EXACT_REACH_MB} MB: {met})"
    return Row(f"{what}: {found}; {memory}", ours_s, EXACT_REACH_S, clock_s=clock_s)


def _memory_mb(kind: str) -> float:
    """The most memory that a fresh interpreter came to over those that are exact."""
    command = [sys.executable, "-c", MEMORY.format(kind=kind)]
    run = subprocess.run(command, check=True, capture_output=True, text=True)
    return float(run.stdout)


def _messages(herd: Herd, errors: float, reach_s: float) -> Row:
    def act() -> Dose:
        # a budget too small for anything exact: that is not tried first
        return reckoned(herd, errors=errors, budget=1e3, approximate=True, asked=())

    ours_s, clock_s = quickest_both(act)
    what = f"by messages, {len(herd.pedigree):,} animals, errors {errors:g}"
    return Row(what, ours_s, reach_s, clock_s=clock_s)


def _as_asked(herd: Herd) -> Row:
    told = {"errors": 0.01, "approximate": True}
    refined = reckoned(herd, **told).method.count("refined")
    ours_s, clock_s = seconds(lambda: reckoned(herd, **told))
    count = len(herd.pedigree)
    what = f"as the book asks, {count:,} animals, errors 0.01: {refined:,} refined"
    return Row(what, ours_s, clock_s=clock_s)


def _litters(herd: Herd) -> Iterator[Row]:
    """What litters of four cost, one after the other."""
    count = len(herd.pedigree)
    register = Register(_case(herd), range(count))
    follow, solver, whole = register.follow, [], []

    def timed(listed):
        found = []
        solver.append(seconds(lambda: found.append(follow(listed))))
        return found[0]

    register.follow = timed
    chance = np.random.default_rng(SEED)
    for _litter in range(1 + LITTERS):  # the first one compiles
        herd = _with_litter(chance, herd)
        case, animals = _case(herd), range(len(herd.pedigree))
        whole.append(seconds(lambda case=case, animals=animals: register.refresh(case, animals)))
    what = f"a litter of four among {count:,} animals"
    for name, times, reach_s in (("the solver", solver, 0.002), ("all of it", whole, None)):
        ours_s, clock_s = np.median(times[1:], axis=0).tolist()
        yield Row(f"{what}, {name}", ours_s, reach_s, clock_s=clock_s)


def _with_litter(chance: np.random.Generator, herd: Herd) -> Herd:
    """A litter of the last season's kind: its sire and dam those of two recent litters."""
    recent = herd.pedigree.litters[-2000:]
    sire = recent[int(chance.integers(len(recent)))].sires[0]
    dam = recent[int(chance.integers(len(recent)))].dams[0]
    count = len(herd.pedigree)
    pups = tuple(range(count, count + 4))
    pedigree = Pedigree(
        (*herd.pedigree.ids, *(f"a{pup}" for pup in pups)),
        (*herd.pedigree.litters, Litter(pups, sires=(sire,), dams=(dam,))),
    )
    return replace(herd, pedigree=pedigree, likelihood=np.vstack([herd.likelihood, LOOKS]))


def _case(herd: Herd) -> Case:
    return Case.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.0, None, BUDGET)
