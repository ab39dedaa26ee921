"""How far approximate doses of registers with counts are off, and whether their estimates hold.

    python -m tests.benchmarks.errors_counted [HERDS] > tests/benchmarks/errors_counted.md

As `errors`, with herds in which the pups of some litters were counted together and not
told apart; by the kernels that large registers get.
"""

from __future__ import annotations

import sys

import numpy as np

from genetics.core.peeling.problem import BUDGET
from tests.benchmarks.errors import (
    ASKED,
    DEAR,
    LABELS,
    approximated,
    case_of,
    dearest_part,
    error_rows,
    exact_shares,
    habits_of,
    write_tables,
)
from tests.benchmarks.herds import bred, counted_together

SEED = 250_000  # the estimates were scaled on herds of other seeds
COUNTED = (0.01, 0.05, 0.2, 0.5)  # shares of litters that were counted together, herd by herd


def main(herds: int) -> None:
    errors = {label: np.empty((0, 3)) for label in LABELS}
    used = tried = untold = 0
    while used < herds:
        tried += 1
        chance = np.random.default_rng(SEED + tried)
        herd = bred(chance, habits_of(chance))
        herd = counted_together(chance, herd, COUNTED[tried % len(COUNTED)])
        case = case_of(herd, float(chance.choice([0.0, 0.01])))
        part, animals = dearest_part(case)
        if part is None or not DEAR <= part.plan.price <= BUDGET / 10:
            continue
        used += 1
        asked = chance.choice([*animals], min(ASKED, len(animals)), replace=False).tolist()
        exact = exact_shares(part, animals)
        found = approximated(case, animals, asked)
        untold += len(animals) - sum(map(len, found.values()))
        for method, shares in found.items():
            errors[method] = np.vstack([errors[method], error_rows(used, shares, exact)])
        print(f"{used} of {herds} herds", file=sys.stderr)
    print(f"""# How far approximate doses of registers with counts are off

Made by `python -m tests.benchmarks.errors_counted {herds} > errors_counted.md`: {herds} of
{tried} simulated herds as in `errors.md`, in which the pups of 1, 5, 20 or 50 per cent of litters
of several were besides counted together and not told apart, at three to ten weeks. By the kernels
that families of a thousand animals and more get; {ASKED} animals in each herd were asked for.
Animals that got no figure: {untold}.
""")
    write_tables(errors)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
