"""How far approximate doses are from an independent sampler, where exact can't reach.

    python -m tests.benchmarks.sampler > tests/benchmarks/sampler.md

Simulated herds (`herds.py`, seeded) are worked out as a page would have them, and sampled
by `gibbs.py`, which shares no code with the engine. A sampler is off too: its noise is
told beside each difference, and herds that exact does reach show what it does there.
"""

from __future__ import annotations

import sys
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from genetics.core.posterior.dose import dose_posterior
from tests.benchmarks.gibbs import sampled_doses
from tests.benchmarks.herds import FREQUENCY, Habits, bred

# The chains take long to forget where they began: after 60 sweeps some shares are 0.15 off.
BURN_IN, SWEEPS, CHAINS = 1500, 500, 400
NOISES = 2.0  # standard errors that a difference may owe to the sampler

# Seed of a herd and how it is bred; the first two within reach of the exact engine.
HERDS = (
    (71, Habits(100, founders=12, boars=4, unseen=0.4, certain=0.0)),
    (72, Habits(150, founders=20, boars=8, back=2, unseen=0.4, certain=0.0)),
    (73, Habits(400, boars=12, unseen=0.4, certain=0.0)),
    (74, Habits(400, boars=4, unseen=0.4, certain=0.0)),
    (75, Habits(400, boars=6, back=2, unseen=0.6, certain=0.0)),
    (76, Habits(400, boars=8, founders=40, litters=24, unseen=0.2, certain=0.0)),
    (77, Habits(1500, boars=20, founders=60, litters=40, unseen=0.4, certain=0.0)),
)

Table = NDArray[np.float64]


class Compared(NamedTuple):
    """Animals (n,) of one label in one herd: the largest difference of their three chances, the
    sampler's standard error of that chance, and the estimate that the engine gave."""

    animals: int
    label: str
    off: Table
    noise: Table
    estimate: Table


def main() -> None:
    found = []
    for seed, habits in HERDS:
        found += compared(seed, habits)
        print(f"{habits.animals} animals, seed {seed}", file=sys.stderr)
    print(f"""# How far approximate doses are from a sampler

Made by `python -m tests.benchmarks.sampler > sampler.md`: simulated herds, most of them
beyond the reach of the exact engine, reckoned with every other animal asked for and no wrong
sires, beside a blocked Gibbs sampler that shares no code with the engine (`gibbs.py`):
{CHAINS} chains side by side, {SWEEPS} sweeps each after {BURN_IN} that do not count. Looks at 40
to 80 per cent of animals; 4 to 20 boars in use.

Difference: the largest between the two answers' three chances of an animal. Noise: the sampler's
standard error of that chance, from the spread of its chains. It does not tell how far all chains
still are from having forgotten where they began; the exact figures show how much that may be.
Below: the share of differences that are no larger than the engine's estimate and {NOISES:g} such
errors together. Where a figure is exact, that says how well the sampler does.

| animals | label | compared | mean difference | 95% below | largest | mean noise | mean estimate \
| below |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |""")
    for one in found:
        print(_line(str(one.animals), one))
    for label in ("exact", "refined", "approximate"):
        parts = [one for one in found if one.label == label]
        columns = (np.concatenate([part[number] for part in parts]) for number in (2, 3, 4))
        print(_line("all", Compared(0, label, *columns)))


def compared(seed: int, habits: Habits) -> list[Compared]:
    """One herd, by label."""
    herd = bred(np.random.default_rng(seed), habits)
    size = len(herd.pedigree)
    near = dose_posterior(
        herd.pedigree,
        herd.likelihood,
        frequency=FREQUENCY,
        errors=0.0,
        approximate=True,
        asked=range(0, size, 2),
    )
    shares, noise = sampled_doses(
        herd.pedigree,
        herd.likelihood,
        FREQUENCY,
        np.random.default_rng(seed + 1000),
        sweeps=SWEEPS,
        burn_in=BURN_IN,
        chains=CHAINS,
    )
    off = np.abs(near.chances - shares)
    worst, everyone = off.argmax(axis=1), np.arange(size)
    told = off[everyone, worst], noise[everyone, worst], near.error
    methods = np.array(near.method)
    return [
        Compared(size, label, *(column[methods == label] for column in told))
        for label in ("exact", "refined", "approximate")
        if (methods == label).sum() >= size / 20
    ]


def _line(herd: str, one: Compared) -> str:
    off, noise = one.off, one.noise
    cells = (off.mean(), np.quantile(off, 0.95), off.max(), noise.mean(), one.estimate.mean())
    below = (off <= one.estimate + NOISES * noise).mean()
    figures = " | ".join(f"{cell:.1e}" for cell in cells)
    return f"| {herd} | {one.label} | {len(off)} | {figures} | {below:.1%} |"


if __name__ == "__main__":
    main()
