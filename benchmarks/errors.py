"""How far approximate doses are off, and whether their estimates of error hold.

    python -m benchmarks.errors [HERDS] > benchmarks/errors.md

Simulated herds (`benchmarks/herds.py`, seeded) that the exact engine can still reach are reckoned
exactly, and again with a smaller budget, so that the same families come out approximate. In each
herd a few animals are asked for, and so refined; the rest, but for probes, are approximate.
"""

from __future__ import annotations

import math
import sys

import numpy as np

from benchmarks.herds import FREQUENCY, Habits, Herd, bred
from genetics.core.approximation import Approximation, approximate
from genetics.core.case import BUDGET, Case
from genetics.core.factors import Table, settle
from genetics.core.propagation import marginals
from genetics.core.solving import Component, components

DEAR = 3e4  # table entries; what costs less says little of large herds
ASKED = 6
SEED = 50_000  # the estimates were scaled on herds of other seeds
SCALES = (0.0, 1e-5, 1e-4, 1e-3, 1e-2, math.inf)


def main(herds: int) -> None:
    errors = {"refined": np.empty((0, 3)), "approximate": np.empty((0, 3))}
    used = tried = untold = 0
    while used < herds:
        tried += 1
        chance = np.random.default_rng(SEED + tried)
        part, animals = _dearest(bred(chance, _habits(chance)), float(chance.choice([0.0, 0.01])))
        if part is None or not DEAR <= part.plan.price <= BUDGET / 10:
            continue
        used += 1
        exact = marginals(part.states, part.plan.order, part.factors).shares
        budget = 10 ** chance.uniform(4, min(5.5, math.log10(part.plan.price) - 0.3))
        asked = chance.choice(animals, min(ASKED, len(animals)), replace=False).tolist()
        near = approximate(part, asked, budget)
        told = [animal for animal in animals if near.told(animal)]
        untold += len(animals) - len(told)
        for method, rows in errors.items():
            chosen = [one for one in told if near.refined[one] == (method == "refined")]
            errors[method] = np.vstack([rows, _rows(used, chosen, exact, near)])
        print(f"{used} of {herds} herds", file=sys.stderr)
    _write(herds, tried, untold, errors)


def _dearest(herd: Herd, errors: float) -> tuple[Component | None, list[int]]:
    """The dearest component of a herd and its animals, by the first order that is found."""
    case = Case.of(herd.pedigree, herd.likelihood, FREQUENCY, errors, None, BUDGET)
    built = case.network(range(len(herd.pedigree)))
    parts = components(built.network, settle(built.network), BUDGET, tries=0)
    part = max(parts, key=lambda one: one.plan.price, default=None)
    animals = set(built.animals.values())
    variables = part.variables if part else []
    return part, [number for number, one in enumerate(variables) if one in animals]


def _rows(number: int, animals: list[int], exact: list[Table], near: Approximation) -> Table:
    """For each of some animals: the herd's number, its true error and the estimate."""
    off = [np.abs(near.shares[animal] - exact[animal]).max() for animal in animals]
    estimates = [near.errors[animal] for animal in animals]
    rows: Table = np.column_stack([np.full(len(off), number), off, estimates])
    return rows


def _habits(chance: np.random.Generator) -> Habits:
    return Habits(
        animals=int(chance.integers(80, 180)),
        boars=int(chance.integers(2, 8)),
        back=int(chance.integers(1, 4)),
        founders=int(chance.integers(8, 25)),
        unseen=float(chance.choice([0.0, 0.3, 0.6])),
        certain=float(chance.choice([0.0, 0.1, 0.3])),
        doubtful=float(chance.choice([0.0, 0.1])),
    )


def _write(herds: int, tried: int, untold: int, errors: dict[str, Table]) -> None:
    print(f"""# How far approximate doses are off

Made by `python -m benchmarks.errors {herds} > benchmarks/errors.md`: {herds} of {tried} simulated
herds of 80 to 180 animals, those whose dearest family costs 3e4 to 2.5e6 table entries to be
exact; 2 to 7 boars in use, 1 to 3 seasons of parents, looks at 10 to 100 per cent of animals, 0
to 30 per cent of all beyond doubt, wrong sires at 0 or 0.01, two candidate sires for 0 or 10 per
cent of litters. Budgets from 1e4 to 3e5 entries made them approximate; {ASKED} animals in each herd
were asked for, and with some 12 more that probe the family they are refined; the rest are not.
True error: the largest difference from the exact engine's three chances.
Animals that got no figure, as messages did not settle or not in one place: {untold}.

| label | animals | mean error | median | 95% below | largest | mean estimate | below estimate |
| --- | --- | --- | --- | --- | --- | --- | --- |""")
    for method, rows in errors.items():
        off, estimate = rows[:, 1], rows[:, 2]
        cells = (*(off.mean(), np.median(off), np.quantile(off, 0.95), off.max(), estimate.mean()),)
        figures = " | ".join(f"{cell:.1e}" for cell in cells)
        print(f"| {method} | {len(rows)} | {figures} | {(off <= estimate).mean():.1%} |")
    print("""
By size of the estimate: how many, and the share of true errors below it.

| estimate | refined | below | approximate | below |
| --- | --- | --- | --- | --- |""")
    for low, high in zip(SCALES[:-1], SCALES[1:], strict=True):
        print(f"| {low:g} to {high:g} | {_share(errors, low, high)} |")
    print("\nShare of herds with at least 90 per cent of true errors below their estimates:\n")
    for method, rows in errors.items():
        below = rows[:, 1] <= rows[:, 2]
        shares = [below[rows[:, 0] == herd].mean() for herd in np.unique(rows[:, 0])]
        print(f"- {method}: {np.mean(np.array(shares) >= 0.9):.1%} of {len(shares)}")


def _share(errors: dict[str, Table], low: float, high: float) -> str:
    cells = []
    for rows in errors.values():
        here = rows[(rows[:, 2] > low) & (rows[:, 2] <= high)]
        below = f"{(here[:, 1] <= here[:, 2]).mean():.1%}" if len(here) else ""
        cells.append(f"{len(here)} | {below}")
    return " | ".join(cells)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
