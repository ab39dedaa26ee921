"""How far approximate doses are off, and whether their estimates of error hold.

    python -m tests.benchmarks.errors [HERDS] > tests/benchmarks/errors.md

Simulated herds (`herds.py`, seeded) that the exact engine can still reach are worked out exactly,
and again by the approximate one. In each herd a few animals are asked for, and so refined; the
rest, but for probes, are approximate.
"""

from __future__ import annotations

import math
import sys

import numpy as np

from genetics.core.inference.exact import Component, components
from genetics.core.inference.factor_graph import Table, settle
from genetics.core.inference.junction_tree import marginals
from genetics.core.large_pedigree.solver import Register
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from tests.benchmarks.herds import FREQUENCY, Habits, Herd, bred

DEAR = 3e4  # table entries; what costs less says little of large herds
ASKED = 6
SEED = 50_000  # the estimates were scaled on herds of other seeds
LABELS = ("refined", "approximate")
SCALES = (0.0, 1e-5, 1e-4, 1e-3, 1e-2, math.inf)


def main(herds: int) -> None:
    errors = {label: np.empty((0, 3)) for label in LABELS}
    used = tried = untold = 0
    while used < herds:
        tried += 1
        chance = np.random.default_rng(SEED + tried)
        herd = bred(chance, habits_of(chance))
        case = case_of(herd, float(chance.choice([0.0, 0.01])))
        part, animals = dearest_part(case)
        if part is None or not DEAR <= part.plan.price <= BUDGET / 10:
            continue
        used += 1
        exact_of = exact_shares(part, animals)
        asked = chance.choice([*animals], min(ASKED, len(animals)), replace=False).tolist()
        found = approximated(case, animals, asked)
        untold += len(animals) - sum(map(len, found.values()))
        for method, shares in found.items():
            rows = error_rows(used, shares, exact_of)
            errors[method] = np.vstack([errors[method], rows])
        print(f"{used} of {herds} herds", file=sys.stderr)
    _write(herds, tried, untold, errors)


def case_of(herd: Herd, errors: float) -> PosteriorProblem:
    return PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, errors, None, BUDGET)


def dearest_part(case: PosteriorProblem) -> tuple[Component | None, dict[int, int]]:
    """The dearest component of a herd, by the first order that is found, and the places of its
    animals among its variables."""
    built = case.network(range(len(case.pedigree)))
    parts = components(built.network, settle(built.network), BUDGET, tries=0)
    part = max(parts, key=lambda one: one.plan.price, default=None)
    place = {variable: number for number, variable in enumerate(part.variables if part else [])}
    return part, {
        animal: place[variable] for animal, variable in built.animals.items() if variable in place
    }


Told = dict[int, tuple[Table, float]]  # an animal's shares and the estimate of their error


def exact_shares(part: Component, animals: dict[int, int]) -> dict[int, Table]:
    """The exact shares of a component's animals."""
    shares = marginals(part.states, part.plan.order, part.factors).shares
    spread = [row for _, row in part.spread(shares)]
    return {animal: spread[place] for animal, place in animals.items()}


def approximated(
    case: PosteriorProblem, animals: dict[int, int], asked: list[int]
) -> dict[str, Told]:
    """What the approximate engine gives them, by label."""
    figures = Register(case, range(len(case.pedigree))).figures(asked)
    return {
        label: {
            animal: (figures.shares[animal], float(figures.errors[animal]))
            for animal in animals
            if figures.told[animal] and figures.refined[animal] == (label == LABELS[0])
        }
        for label in LABELS
    }


def error_rows(number: int, told: Told, exact: dict[int, Table]) -> Table:
    """For each of some animals: the herd's number, its true error and the estimate."""
    rows = [
        (number, np.abs(shares - exact[animal]).max(), estimate)
        for animal, (shares, estimate) in told.items()
    ]
    return np.array(rows).reshape(-1, 3)


def habits_of(chance: np.random.Generator) -> Habits:
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

Made by `python -m tests.benchmarks.errors {herds} > errors.md`: {herds} of {tried} simulated
herds of 80 to 180 animals, those whose dearest family costs 3e4 to 2.5e6 table entries to be
exact; 2 to 7 boars in use, 1 to 3 seasons of parents, looks at 10 to 100 per cent of animals, 0
to 30 per cent of all beyond doubt, wrong sires at 0 or 0.01, two candidate sires for 0 or 10 per
cent of litters. {ASKED} animals in each herd were asked for, and with some 16 more that probe the
family they are refined; the rest are not.
True error: the largest difference from the exact engine's three chances.
Animals that got no figure, as messages did not settle or not in one place: {untold}.
""")
    write_tables(errors)


def write_tables(errors: dict[str, Table]) -> None:
    """True errors and estimates by label: of each animal its herd's number, the one and the other
    (n, 3)."""
    print("""\
| label | animals | mean error | median | 95% below | largest | mean estimate | below estimate |
| --- | --- | --- | --- | --- | --- | --- | --- |""")
    for method, rows in errors.items():
        off, estimate = rows[:, 1], rows[:, 2]
        cells = (*(off.mean(), np.median(off), np.quantile(off, 0.95), off.max(), estimate.mean()),)
        figures = " | ".join(f"{cell:.1e}" for cell in cells)
        print(f"| {method} | {len(rows)} | {figures} | {(off <= estimate).mean():.1%} |")
    print("""
By size of the estimate: how many, and the share of true errors below it.
""")
    print("| estimate | " + " | below | ".join(errors) + " | below |")
    print("| --- |" + " --- | --- |" * len(errors))
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
