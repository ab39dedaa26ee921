"""Simulated registers (`tests/benchmarks/registers.py`, seeded) of exactly so many animals: twelve
seasons, some three hundred animals a herd, half of the new boars from other herds, cut off where
there are enough; a third of the animals without a look, the others with odds, none beyond doubt.

'By messages': a figure of every animal with its estimate of error, from the checked pedigree on,
by the compiled belief propagation of large families, two starts side by side on two threads; with
errors of 0.01 each sire is a choice. 'As the book asks', once: exact is tried first up to 2,000
animals, and every animal is refined besides. 'A litter of four' is born into the register and
the messages follow it: the solver's time alone, and then all of it, with the arrays laid out
again; medians of 21 litters, one after the other. A reach is held against the clock, since two
threads share the work; both times rise where other programs want the cores.

'Exact' is the exact engine, on seeded herds (`herds.py`), and how much memory a process
of its own came to, and its libraries alone. Of 12 sows and 6 boars a season, parents are of the
last three seasons, put together at random. As hobby breeders may keep them, 10 sows a season and
their boars are of the last two, three or four seasons, a third of the animals have no look, the
others odds, one litter in ten has two possible sires, and sires are wrong with chance 0.01. What
exceeds the budget of many calculations is exact only where figures are asked for once, by a longer
search for an order, made again each time, and by compiled sums on two threads. The peer is asked
for the same figures of smaller herds with 3 boars by variable elimination, a query an animal, as
far up as it finishes twice within 6 GB and a minute.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from genetics.core.inference.large_exact import better_plan
from genetics.core.large_pedigree.solver import Register
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import Dose, dose_posterior
from tests.benchmarks import registers
from tests.benchmarks.herds import FREQUENCY, Habits, Herd, bred, looked_at
from tests.benchmarks.measuring import Row, beside, quickest_both, seconds

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
HOBBY = {f"as hobby breeders may keep them, {boars} boars a season": boars for boars in (2, 3, 4)}
DECISIVE = "12 sows and 6 boars a season, 40% beyond doubt"
LARGEST, LARGE_HERDS = (1_000, 2_000, 5_000), 3
MEMORY = """
import re
from pathlib import Path
from tests.benchmarks.dose import herds, once
from genetics.core.numerics.kernels import available
def used():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024
assert available()
before = used()
for herd in herds({kind!r}):
    once(herd, {errors})
print(before, used())
"""


def measure() -> Iterator[Row]:
    """Exact beside the peer, then registers of three sizes, then what a litter costs."""
    yield from _beside_the_peer()
    for kind in (FEW_BOARS, MANY_BOARS, SOME_CERTAIN, *HOBBY):
        yield _exact(kind, 0.01 if kind in HOBBY else 0.0)
    for animals in LARGEST:
        yield _large(animals)
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
    return dose_posterior(herd.pedigree, herd.likelihood, frequency=FREQUENCY, **told)


def once(herd: Herd, errors: float = 0.0) -> Dose:
    """What is asked for once: exact, where it may be, by an order that is searched for again."""
    better_plan.cache_clear()
    return reckoned(herd, errors=errors, approximate=True, asked=())


def herds(kind: str) -> list[Herd]:
    """Herds of 200 of a kind."""
    return [_cut(_herd(kind, one), EXACT) for one in range(HERDS)]


def _herd(kind: str, number: int) -> Herd:
    chance = np.random.default_rng(SEED + number)
    if kind == FEW_BOARS:
        return looked_at(chance, registers.bred(chance, EXACT, SEASONS, 1))
    if kind in HOBBY:
        kept = {"boars": HOBBY[kind], "back": 2 + number % 3, "litters": 10}
        return bred(chance, Habits(EXACT, unseen=1 / 3, certain=0.0, doubtful=0.1, **kept))
    return bred(chance, Habits(EXACT, certain=0.1 if kind == SOME_CERTAIN else 0.0))


def _all_exact(dose: Dose) -> bool:
    return set(dose.method) == {"exact"}


def _exact(kind: str, errors: float) -> Row:
    """The slowest of those herds that are exact."""
    tried = herds(kind)
    often = sum(_all_exact(reckoned(herd, errors=errors)) for herd in tried)
    exact = [herd for herd in tried if _all_exact(once(herd, errors))]
    what = f"exact, {EXACT} animals, {kind}: {often} of {HERDS} within the budget of many"
    what += f" reckonings, {len(exact)} where asked for once"
    if not exact:
        return Row(what, seconds(lambda: once(tried[0], errors))[0])
    times = [
        quickest_both(lambda herd=herd: once(herd, errors), times=2, for_s=0) for herd in exact
    ]
    ours_s, clock_s = max(times, key=lambda one: one[1])
    middle_s = float(np.median(times, axis=0)[0])
    before, used = _memory_mb(kind, errors)
    met = "met" if used - before <= EXACT_REACH_MB else "not met"
    what += f"; the slowest (half take up to {1000 * middle_s:.3g} ms)"
    what += f"; at most {used:.0f} MB of memory, of libraries {before:.0f} MB"
    return Row(f"{what} (reach {EXACT_REACH_MB} MB: {met})", ours_s, EXACT_REACH_S, clock_s=clock_s)


def _large(animals: int) -> Row:
    """The slowest of a few large herds of which much is beyond doubt, and how many are exact."""
    tried = [
        _cut(bred(np.random.default_rng(SEED + one), Habits(animals, certain=0.4)), animals)
        for one in range(LARGE_HERDS)
    ]
    exact = sum(_all_exact(reckoned(herd)) for herd in tried)
    times = [quickest_both(lambda herd=herd: reckoned(herd), times=1, for_s=0) for herd in tried]
    what = f"exact, {animals:,} animals, {DECISIVE}: {exact} of {LARGE_HERDS} herds; the slowest"
    return Row(what, max(processor_s for processor_s, _ in times))


def _memory_mb(kind: str, errors: float) -> tuple[float, float]:
    """The most memory that a fresh interpreter came to when its libraries were loaded, and at
    last."""
    command = [sys.executable, "-c", MEMORY.format(kind=kind, errors=errors)]
    run = subprocess.run(command, check=True, capture_output=True, text=True)
    before, used = map(float, run.stdout.split())
    return before, used


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


def _case(herd: Herd) -> PosteriorProblem:
    return PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.0, None, BUDGET)
