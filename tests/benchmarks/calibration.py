"""Whether what is said of a dose comes true, on simulated herds whose truth is known.

    python -m tests.benchmarks.calibration

writes tests/benchmarks/calibration.md. Seeded; about fifteen minutes on one core.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from genetics.core.estimation.calibration import between, brier, reliability
from tests.simulation.herd import Habits
from tests.simulation.not_told_apart import counted_together, taken_for_each_other
from tests.simulation.reckoned import ERRORS, FREQUENCY, doubted, scored

SEED = 20261125
LOOKS = {
    "one look at 8 weeks, half the pups": {"looks": (56,), "founders_looked_at": 0.2},
    "four looks, each at half the pups": {},
    "four looks at every pup": {"looked_at": 1.0, "founders_looked_at": 1.0},
}
# Looks close to each other, as when a pup is to be sold or shown.
OFTEN = {"looks": (56, 59, 62, 150, 153, 156), "looked_at": 1.0}
BESIDE = {
    "weather of all kinds, written down": {"weather": True},
    "weather of all kinds, not written down": {"weather": True, "noted": 0.0},
    "the same, three looks in a week at 8 weeks and at 5 months": {
        "weather": True,
        "noted": 0.0,
        **OFTEN,
    },
    "seven founders in ten bought as something, a second possible sire in half the litters": {
        "bought": 0.7,
        "possible_sires": 0.5,
    },
    "all of these, the weather written down at half of four looks": {
        "weather": True,
        "noted": 0.5,
        "bought": 0.7,
        "possible_sires": 0.5,
    },
}
# Followed closely: ten looks at every pup.
FOLLOWED = {"looks": (21, 35, 42, 49, 56, 63, 90, 120, 150, 200), "looked_at": 1.0}
DOUBTED = {
    "as assumed": {},
    "milestones strictly by the pace": {"own": 0.0},
    "the same, each with half as much again of its own": {"own": 0.0, "noise": 0.5},
    "the same, each with as much again": {"own": 0.0, "noise": 1.0},
    "as assumed, weather of all kinds": {"weather": True, "noted": 0.5},
}
DOUBT_HERDS = 25
BANDS = (0.02, 0.1, 0.35, 0.65, 0.9, 0.99, 1.01)
NOT_TOLD_APART = 150  # herds
SIZES = {40: 150, 100: 60, 200: 25}  # animals in a herd: herds
BROKEN = {
    "the founders' allele is at 0.45, not 0.25": {"frequency": 0.45},
    "a sire in ten is another boar of the herd": {"wrong_sires": 0.1, "wrong_at_home": True},
    "a look in twenty is misread": {"misread": 0.05},
    "milestones of one animal vary as much again, each alone": {"noise": 1.0},
    "milestones keep strictly to the pace": {"own": 0.0},
    "weather changes every ten days; looks three days apart": {
        "weather": True,
        "spell_days": 10,
        **OFTEN,
    },
    "weather lasts a season; looks three days apart": {"weather": True, "spell_days": 91, **OFTEN},
    "half of the pace is inherited": {"heritable": 0.5},
    "a modifier gene, at 0.2, makes points half as late again": {"delayer": 0.2},
    "the grader writes three overmarked in ten as full": {"lenient": 0.3},
    "half the pups unmarked at eight weeks are never written": {"culled": 0.5},
    "all of these by halves": {
        "frequency": 0.35,
        "wrong_sires": 0.05,
        "wrong_at_home": True,
        "misread": 0.03,
        "noise": 0.5,
        "heritable": 0.25,
        "delayer": 0.1,
        "lenient": 0.15,
        "culled": 0.25,
    },
}
HEAD = (
    "| herds | animals scored | of those given 80 to 90% | mean said | right | Brier | expected "
    "| loss |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
)


def main() -> None:
    """Run every herd and write the tables beside this file."""
    place = Path(__file__).with_suffix(".md")
    place.write_text("\n".join(pages()) + "\n", encoding="utf-8")
    print(f"written: {place.name}")


def pages() -> Iterator[str]:
    """The document, line by line."""
    yield from _opening()
    pooled = []
    yield f"\n## Herds that are as assumed\n\n{HEAD}"
    for size, herds in SIZES.items():
        for words, values in LOOKS.items():
            pairs, left_out = scored(Habits(animals=size, **values), herds, SEED)
            pooled += pairs
            yield _row(f"{herds} of {size} animals; {words}", pairs, left_out)
    yield "\nEvery chance said in these herds, three for each animal:\n"
    yield from _reliability(pooled)
    yield "\n## Weather, purchases and possible sires\n"
    yield (
        "60 of 100 animals, as assumed in all else. Weather is a quarter cold, an eighth hot, in "
        f"spells of four weeks that do not begin with a look.\n\n{HEAD}"
    )
    for words, values in BESIDE.items():
        yield _row(words, *scored(Habits(**values), 60, SEED))
    yield from _not_told_apart()
    yield from _doubts()
    yield "\n## Herds that break an assumption\n"
    yield f"60 of 100 animals; four looks, each at half the pups.\n\n{HEAD}"
    for words, values in BROKEN.items():
        pairs, left_out = scored(Habits(**values), 60, SEED)
        yield _row(words, pairs, left_out)
    yield f"\nReliability of the last of these, {words}:\n"
    yield from _reliability(pairs)


def _not_told_apart() -> Iterator[str]:
    yield "\n## Pups that were not told apart\n"
    yield (
        f"{NOT_TOLD_APART} of 40 animals. In half the litters the pups, seen once at eight weeks, "
        "were counted together; or looks at 8, 13 and 21 weeks at two of one litter in five were "
        f"exchanged.\n\n{HEAD}"
    )
    counted, by_name, forgotten = counted_together(NOT_TOLD_APART, SEED)
    allowed, believed = taken_for_each_other(NOT_TOLD_APART, SEED)
    for words, pairs in (
        ("half the litters counted together", counted),
        ("the same, had each pup been seen by name", by_name),
        ("the same, with those counts forgotten", forgotten),
        ("two pups exchanged in a litter in five, allowed for", allowed),
        ("the same, every name believed", believed),
    ):
        yield _row(words, pairs, 0)


def _doubts() -> Iterator[str]:
    yield "\n## Looks that are doubted\n"
    yield (
        f"{DOUBT_HERDS} of 60 animals, ten looks at every pup. Of the looks that were said to be "
        "wrong with such a chance, how many there were, and how many were wrong; of all that were "
        "wrong, how many were said to be more likely so than not. The looks at one animal may be "
        "another's, all ten, so that a row of few looks may rest on one animal or two.\n"
    )
    yield "| herds | chance said | looks | mean said | wrong |\n| --- | --- | ---: | ---: | ---: |"
    found = []
    for words, values in DOUBTED.items():
        rows = doubted(Habits(animals=60, **FOLLOWED, **values), DOUBT_HERDS, SEED)
        looks = rows[rows[:, 0] == 0]
        yield from _bands(words, looks)
        slips = looks[looks[:, 2] == 1]
        share = (slips[:, 1] > 0.5).mean()
        found.append(f"| {words} | {len(slips)} | {share:.0%} |")
    yield "\n| herds | looks that were wrong | said so |\n| --- | ---: | ---: |"
    yield from found


def _bands(words: str, looks) -> Iterator[str]:
    for low, high in pairwise(BANDS):
        part = looks[(looks[:, 1] >= low) & (looks[:, 1] < high)]
        if len(part):
            yield (
                f"| {words} | {low:.0%} to {min(high, 1):.0%} | {len(part)} "
                f"| {part[:, 1].mean():.1%} | {part[:, 2].mean():.1%} |"
            )


def _opening() -> Iterator[str]:
    yield "# Do the chances come true?\n"
    yield (
        "Made by `python -m tests.benchmarks.calibration`, seeded. The herds come from "
        "`tests/simulation/herd.py`, which imports nothing of the reckoning; each is reckoned "
        f"with the book's own rates (allele {FREQUENCY}, wrong sires {ERRORS}).\n\n"
        "Left out of all of these: what a look notes beside the stage (spread, stain, each place), "
        "which the book weighs by tables of its own, and colours. But for the herds of 'Weather, "
        "purchases and possible sires' and rows that name it, weather is mild all year, no founder "
        "was bought as anything, and one sire is written for each litter.\n\n"
        "'Of those given 80 to 90%' counts the animals whose likeliest dose had such a chance, "
        "and 'right' is the share that had that dose. Brier's score is summed over the three "
        "doses, 0 perfect; 'expected' is what it would be on average were every chance right, and "
        "'loss' is how much worse it came out. ± is one standard error, herd by herd. An animal "
        "without a figure is not scored, and is counted."
    )


def _row(words: str, pairs, left_out: int) -> str:
    said, mean, right, error = between(pairs, 0.8, 0.9)
    score, hoped, gap = brier(pairs)
    animals = sum(len(doses) for _, doses in pairs)
    without = f" ({left_out} without a figure)" if left_out else ""
    return (
        f"| {words} | {animals}{without} | {said} | {mean:.1%} | {right:.1%} ± {error:.1%} "
        f"| {score:.4f} | {hoped:.4f} | {score - hoped:+.4f} ± {gap:.4f} |"
    )


def _reliability(pairs) -> Iterator[str]:
    yield "| chance said | how often | mean said | came true |\n| --- | ---: | ---: | ---: |"
    for band in reliability(pairs):
        yield (
            f"| {band.low:.0%} to {band.high:.0%} | {band.said} | {band.mean:.2%} "
            f"| {band.came_true:.2%} ± {band.error:.2%} |"
        )


if __name__ == "__main__":
    main()
