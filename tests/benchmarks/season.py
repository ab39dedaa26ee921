"""What a season's plan gains over 'the best-looking boar to each sow', on simulated herds.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.season

writes tests/benchmarks/season.md. Seeded; a few minutes on one core. The times are of one run.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from genetics.core.estimation.litter_size import expected_size, herds_mean
from genetics.core.exceptions import NoPlanError
from genetics.core.inheritance.mendel import transmission
from genetics.core.mate_allocation.coancestry_limit import mean_coancestry
from genetics.core.mate_allocation.planner import (
    Constraints,
    MatingProblem,
    Pairs,
    Plan,
    parents_used,
    plan_season,
)
from genetics.core.mate_allocation.sensitivity import costs, other_plans
from genetics.core.mate_allocation.tie_breaking import least_related
from genetics.core.posterior.dose import dose_posterior
from genetics.core.posterior.pair_forecast import forecast_pairs
from genetics.core.relatedness.kinship import kinship
from tests.benchmarks.herds import FREQUENCY, Habits, bred

SEED = 20261125
ERRORS = 0.01
PUPS = 3  # of a usual litter
BORN = (1, 2, 3, 4, 5)  # sizes of litters, each as likely
OWN_LITTERS, KNOWN_SOWS = 2, 0.5  # litters in the book of each of so many of the sows
# As in `genetics/matings/showable_rate.py`, which is not of the core: shares good enough, and lost
# to 28 days.
GOOD, LOST_BORN = 0.5, 0.27
STILLBORN = LOST_BORN * 0.8
LOST_ALIVE = (LOST_BORN - STILLBORN) / (1 - STILLBORN)
USUAL_ALIVE = PUPS * (1 - STILLBORN)
KEPT_USUAL = PUPS * (1 - LOST_BORN)  # alive at 28 days
KNOWN = 0.9
ANIMALS = 160
HERDS = 20
BOARS, SOWS, PENS, SOWS_A_BOAR = 8, 30, 20, 4
CEILING = 0.125
Table = np.ndarray


@dataclass(frozen=True)
class Shed:
    """A herd's boars and sows with what the book expects, what is true, and how each boar looks.

    The herd's value is of showable pups. `looks` (boars,): chance of one dose as the book has it,
    which is what shows on him; `true` (sows, boars): one-dose pups born that the animals' true
    doses would give on average.
    """

    herd: MatingProblem
    looks: Table
    true: Table


def shed(random: np.random.Generator, boars: int, sows: int, animals: int) -> Shed:
    """The last born of a simulated herd, as many boars and sows as are asked for; those too
    tangled for a figure are worth nothing to any rule."""
    made = bred(random, Habits(animals=animals, founders=max(20, animals // 20)))
    count = len(made.doses)
    last = random.permutation(np.arange(count - 2 * (boars + sows), count))[: boars + sows]
    his, hers = last[:boars], last[boars:]
    given = {"frequency": FREQUENCY, "errors": ERRORS}
    dose = dose_posterior(made.pedigree, made.likelihood, **given, approximate=True, asked=())
    pairs = forecast_pairs(
        made.pedigree, made.likelihood, hers, his, dose.chances, **given, most_held=0
    )
    kin = kinship(made.pedigree, last)
    doses = np.array(made.doses)
    true = PUPS * transmission()[doses[his][None, :], doses[hers][:, None], 1]
    # litters of their own, so that the herds are the same whatever is drawn of them
    value = GOOD * alive_at_28_days(random.spawn(1)[0], sows)[:, None] * pairs.forecast[:, :, 1]
    herd = MatingProblem(value, kin[boars:, :boars], kin)
    return Shed(herd, dose.chances[his, 1], true)


def alive_at_28_days(random: np.random.Generator, sows: int) -> Table:
    """Pups to expect of each sow (sows,), as the book has it: half of them by their own litters.

    In truth all are alike, so that a sow of larger litters had luck: the book draws her mean
    towards the herd's.
    """
    born = random.choice(BORN, (sows, OWN_LITTERS))
    alive = random.binomial(born, 1 - STILLBORN)
    known = random.random(sows) < KNOWN_SOWS
    mean = herds_mean(USUAL_ALIVE, float(alive[known].mean()), OWN_LITTERS * int(known.sum()))
    return expected_size(mean, alive.mean(axis=1), OWN_LITTERS * known) * (1 - LOST_ALIVE)


def best_looking(one: Shed, limits: Constraints, random: np.random.Generator) -> Pairs:
    """Each sow in turn goes to the boar that looks best and has room, within the inbreeding."""
    may = limits.allowed(one.herd)
    left = list(limits.capacity)
    pairs: list[tuple[int, int]] = []
    for sow in random.permutation(len(may)).tolist():
        for boar in np.argsort(-one.looks).tolist():
            if len(pairs) < limits.pens and may[sow, boar] and left[boar]:
                left[boar] -= 1
                pairs.append((sow, boar))
                break
    return tuple(pairs)


def best_for_her(one: Shed, limits: Constraints, random: np.random.Generator) -> Pairs:
    """Each sow in turn goes to the boar by whom the book expects most, if he has room."""
    by_value = np.where(limits.allowed(one.herd), one.herd.value, -1.0)
    left = list(limits.capacity)
    pairs: list[tuple[int, int]] = []
    for sow in random.permutation(len(by_value)).tolist():
        for boar in np.argsort(-by_value[sow]).tolist():
            if len(pairs) < limits.pens and by_value[sow, boar] >= 0 and left[boar]:
                left[boar] -= 1
                pairs.append((sow, boar))
                break
    return tuple(pairs)


def best_pairs_first(one: Shed, limits: Constraints, random: np.random.Generator) -> Pairs:
    """The pair of which the book expects most, then the best of those left, and so on."""
    by_value = np.where(limits.allowed(one.herd), one.herd.value, -1.0)
    left, used = list(limits.capacity), set()
    pairs: list[tuple[int, int]] = []
    for place in np.argsort(-by_value, axis=None).tolist():
        sow, boar = divmod(place, by_value.shape[1])
        if len(pairs) < limits.pens and by_value[sow, boar] >= 0 and left[boar] and sow not in used:
            left[boar] -= 1
            used.add(sow)
            pairs.append((sow, boar))
    return tuple(pairs)


def planned(one: Shed, limits: Constraints, random: np.random.Generator) -> Pairs:
    """The plan, with no limit on coancestry."""
    return least_related(one.herd, limits, plan_season(one.herd, limits)).plan.pairs


def planned_as_related(one: Shed, limits: Constraints, random: np.random.Generator) -> Pairs:
    """The plan, its herd to come no more related than that of the rule of thumb."""
    rule = best_looking(one, limits, np.random.default_rng(random.integers(2**32)))
    ceiling = _coancestry(one, rule)
    held = Constraints(limits.pens, limits.capacity, limits.inbreeding, ceiling)
    best = plan_season(one.herd, held, start=rule)
    return least_related(one.herd, held, best).plan.pairs


def large_herd(random: np.random.Generator, boars: int, sows: int, animals: int) -> MatingProblem:
    """The same with every dose known to `KNOWN`, so that no pair is left out."""
    made = bred(random, Habits(animals=animals, boars=12, litters=40, founders=40))
    count = len(made.doses)
    last = random.permutation(np.arange(count - 2 * (boars + sows), count))[: boars + sows]
    chances = np.full((count, 3), (1 - KNOWN) / 2)
    chances[np.arange(count), made.doses] = KNOWN
    his, hers = chances[last[:boars]], chances[last[boars:]]
    value = GOOD * KEPT_USUAL * np.einsum("sa,bc,ca->sb", hers, his, transmission()[:, :, 1])
    kin = kinship(made.pedigree, last)
    return MatingProblem(value, kin[boars:, :boars], kin)


RULES: dict[str, Callable[[Shed, Constraints, np.random.Generator], Pairs]] = {
    "best-looking boar to each sow": best_looking,
    "best boar by the book to each sow in turn": best_for_her,
    "best pair by the book first": best_pairs_first,
    "plan": planned,
    "plan, no more related than the first": planned_as_related,
}


def _coancestry(one: Shed, pairs: Pairs) -> float:
    sows, boars = one.herd.value.shape
    return mean_coancestry(one.herd.kinship, parents_used(pairs, sows, boars))


def main() -> None:
    """Run every herd and write the tables beside this file."""
    place = Path(__file__).with_suffix(".md")
    place.write_text("\n".join(pages()) + "\n", encoding="utf-8")
    print(f"written: {place.name}")


def pages() -> Iterator[str]:
    """The document, line by line."""
    yield "# What a season's plan gains\n"
    yield (
        "Made by `OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.season`, seeded. "
        f"{HERDS} herds of about {ANIMALS} animals from `herds.py`; of the youngest, "
        f"{BOARS} boars and {SOWS} sows. {PENS} pens, {SOWS_A_BOAR} sows to a boar, no litter "
        f"inbred above {CEILING:.1%}; the same limits for every rule. Litters hold {BORN[0]} to "
        f"{BORN[-1]} pups born, each size as likely; {LOST_BORN:.0%} are lost by 28 days, "
        f"{STILLBORN / LOST_BORN:.0%} of these stillborn, and {GOOD:.0%} of those of one dose are "
        "good enough to show, as in a herd that judged none yet. All sows are alike in that, and "
        f"the book goes by the {OWN_LITTERS} litters that {KNOWN_SOWS:.0%} of them had, drawn "
        "towards the herd's mean. 'Looks best' is the boar likeliest to have one dose, which is "
        "what shows on him; his sows come in any order. 'Expected' is by the book, which knows the "
        "doses from looks alone, by belief propagation, each parent's by itself, and so promises "
        "more than comes of it; 'true' is what the doses that the herd was made with give on "
        "average, which no rule could see. ± is one standard error over herds."
    )
    yield from _gains()
    yield from _times()


def _gains() -> Iterator[str]:
    random = np.random.default_rng(SEED)
    rows: dict[str, list[tuple[float, ...]]] = {name: [] for name in RULES}
    for number in range(HERDS):
        one = shed(random, BOARS, SOWS, ANIMALS)
        limits = Constraints(PENS, (SOWS_A_BOAR,) * BOARS, CEILING)
        for name, rule in RULES.items():
            # the same order of sows for every rule
            pairs = rule(one, limits, np.random.default_rng([SEED, number]))
            expected = sum(one.herd.value[pair] for pair in pairs)
            born = sum(one.true[pair] for pair in pairs)
            true = born / PUPS * KEPT_USUAL * GOOD
            inbred = np.mean([one.herd.inbreeding[pair] for pair in pairs])
            kin = _coancestry(one, pairs)
            rows[name].append((len(pairs), expected, true, inbred, kin, born))
    first = np.array(next(iter(rows.values())))
    yield (
        "\n| rule | matings | expected showable pups | true showable pups | gain over the first, "
        "true | of one dose born, true | gain | mean litter inbreeding | mean coancestry |\n"
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
    )
    for name, made in rows.items():
        table = np.array(made)
        mean = table.mean(axis=0)
        shown, born = (_gain(table[:, column] - first[:, column]) for column in (2, 5))
        yield (
            f"| {name} | {mean[0]:.1f} | {mean[1]:.1f} | {mean[2]:.1f} | {shown} | {mean[5]:.1f} "
            f"| {born} | {mean[3]:.2%} | {mean[4]:.2%} |"
        )


def _gain(gain: Table) -> str:
    return f"{gain.mean():+.1f} ± {gain.std(ddof=1) / np.sqrt(len(gain)):.1f}"


def _times() -> Iterator[str]:
    yield (
        "\n## Sixty boars by two hundred sows\n\nOne herd of about 900 animals, each "
        "dose known to 90%, 120 pens, 4 sows to a boar, litters inbred up to 12.5%; seconds of one "
        "run on a machine that was doing other work too. The ceiling on coancestry lies between "
        "what the plan comes to without one and the least that is possible. Worth is in showable "
        "pups. Ties: the least related of the plans worth as much, and whether that was proven. "
        "Limits priced and other plans take up to 2.5 s each; so does each kind of caution that "
        "keeps anybody out, of which this herd has none.\n\n"
        "| ceiling | best plan | bound | gap | rounds | plan (s) | coancestry | after ties | ties "
        "(s) | costs and others (s) |\n"
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
    )
    herd = large_herd(np.random.default_rng(SEED), 60, 200, 900)
    free = Constraints(120, (4,) * 60, CEILING)
    first = least_related(herd, free, plan_season(herd, free)).plan
    for share in (None, 0.99, 0.98, 0.97):
        ceiling = None if share is None else share * first.coancestry
        yield _timed(herd, Constraints(120, (4,) * 60, CEILING, ceiling))


def _timed(herd: MatingProblem, limits: Constraints) -> str:
    words = "none" if limits.coancestry is None else f"{limits.coancestry:.2%}"
    began = time.perf_counter()
    try:
        plan: Plan = plan_season(herd, limits, seconds=7.5)
    except NoPlanError as none:
        how = "none is possible" if none.proven else "none found"
        took = f"{time.perf_counter() - began:.1f}"
        return f"| {words} | {how} | – | – | – | {took} | – | – | – | – |"
    found = time.perf_counter()
    first, settled = plan, least_related(herd, limits, plan, seconds=1.5)
    plan, chosen = settled.plan, time.perf_counter()
    after = f"{plan.coancestry:.2%}, {'proven' if settled.proven else 'not proven'}"
    costs(herd, limits, plan, seconds=2.5)
    other_plans(herd, limits, plan, seconds=2.5)
    ended = time.perf_counter()
    return (
        f"| {words} | {plan.value:.1f} | {plan.bound:.1f} "
        f"| {(plan.bound - plan.value) / plan.bound:.2%} | {plan.rounds} | {found - began:.1f} "
        f"| {first.coancestry:.2%} | {after} | {chosen - found:.1f} | {ended - chosen:.1f} |"
    )


if __name__ == "__main__":
    main()
