"""A simulator of herds: it imports nothing of what it is there to judge.

Genes by Mendel's coin, points by ages at which an animal of its own pace reaches each stage, a
keeper who looks and slips, and litters written down with now and then the wrong boar. Each habit
that breaks the assumptions of a calculation can be switched on. All ages are in days. The ages at
which points come, what weather does to them and what founders are bought as are common practice,
no source, written down here a second time on purpose.
"""

from dataclasses import dataclass

import numpy as np

STAGES = ("none", "coming", "full", "overmarked")
# Median age and spread of its logarithm at which an animal of a dose reaches a stage.
REACHED = {
    1: ((1, 42.0, 0.40), (2, 120.0, 0.16)),
    2: ((1, 26.0, 0.40), (2, 40.0, 0.20), (3, 50.0, 0.20)),
}
# Milestones of these stages have a part of their spread to themselves; when points are full is the
# animal's pace.
LOOSE = (1, 3)
GROWN = 300
WARMTHS = ("cold", "mild", "hot")
WARMTH_SHARES = (0.25, 0.63, 0.12)
COMES_AHEAD = {"cold": 1.1, "mild": 1.0, "hot": 1.0}
# Of an animal that has reached a stage: up to which share of spells it shows each stage at most,
# the palest first, where one that pales more than another at one stage does so at each.
SHOWN = {
    "cold": {1: ((0.85, 1), (1, 2)), 2: ((0.94, 2), (1, 3))},
    "mild": {},
    "hot": {
        1: ((0.30, 0), (1, 1)),
        2: ((0.05, 0), (0.45, 1), (1, 2)),
        3: ((0.01, 0), (0.11, 1), (0.41, 2), (1, 3)),
    },
}
BOUGHT_AS = {
    "self": (0.96, 0.03, 0.01),
    "marked": (0.02, 0.90, 0.08),
    "overmarked": (0.005, 0.045, 0.95),
}


@dataclass(frozen=True)
class Habits:
    """How a herd is bred and written down.

    `looks`: ages at which a pup is looked at, each with chance `looked_at`; founders are looked at
    when grown with chance `founders_looked_at`. `misread`: a look written as one of the other
    stages. `mixed_up`: all looks at a pup are at another, of any dose. `wrong_sires`: a litter is
    by another boar: a stranger, or with `wrong_at_home` one of the herd's own. `own`: how loosely
    the milestones of `LOOSE` keep to the pace. `weather`: whether it is not mild all year; a spell
    of one warmth lasts `spell_days`, and what is written of it is the warmth with chance `noted`,
    or nothing. `bought`: the share of founders bought as something. `possible_sires`: the share of
    litters with another boar of the herd written beside the sire. The rest break what a calculation
    may assume: `noise` (each milestone has a spread of its own beside all that, as a
    share of it), `heritable` (share of the pace's variance that is inherited), `delayer` (frequency
    of a dominant gene that makes points come half as late again), `lenient` (share of overmarked
    animals that the grader writes as full), `culled` (share of pups unmarked at eight weeks that
    are never written down).
    """

    animals: int = 100
    frequency: float = 0.25
    looks: tuple[int, ...] = (28, 56, 90, 150)
    looked_at: float = 0.5
    founders_looked_at: float = 0.5
    misread: float = 0.01
    mixed_up: float = 0.002
    wrong_sires: float = 0.01
    wrong_at_home: bool = False
    own: float = 0.6
    weather: bool = False
    spell_days: float = 28
    noted: float = 1.0
    bought: float = 0.0
    possible_sires: float = 0.0
    noise: float = 0.0
    heritable: float = 0.0
    delayer: float = 0.0
    lenient: float = 0.0
    culled: float = 0.0


@dataclass
class Herd:
    """What is written of a herd and, in `doses`, `sire_wrong` and `misread`, what is true.

    `litters`: (pups, sires, dam) by animal number, as written. `looks[a]`: (stage, age, warmth),
    and `misread[a]` tells of each whether it was. `bought_as[a]`: a word, or nothing.
    """

    doses: list[int]
    litters: list[tuple[tuple[int, ...], tuple[int, ...], int]]
    sire_wrong: list[bool]
    looks: list[list[tuple[str, int, str]]]
    misread: list[list[bool]]
    bought_as: list[str]


@dataclass
class _Animal:
    genes: tuple[int, int]
    pace: float  # the inherited part, standard normal in founders
    delayers: tuple[int, int]

    @property
    def dose(self) -> int:
        return sum(self.genes)


def make_herd(habits: Habits, random: np.random.Generator) -> Herd:
    """One herd of about `habits.animals` animals: a founder for every seven or so."""
    herd = Herd([], [], [], [], [], [])
    stock: list[_Animal] = []
    founders = max(4, habits.animals // 7)
    for _ in range(founders):
        bought_as = str(random.choice([*BOUGHT_AS])) if random.random() < habits.bought else ""
        stock.append(_founder(habits, random, bought_as))
        seen = (GROWN,) if random.random() < habits.founders_looked_at else ()
        walk = _walk(stock[-1], habits, random)
        _write(herd, stock[-1], walk, seen, habits, random, bought_as)
    boars = list(range(max(1, founders // 4)))
    sows = list(range(len(boars), founders))
    while len(stock) < habits.animals:
        _season(herd, stock, boars, sows, habits, random)
    return herd


def _season(herd, stock, boars, sows, habits, random) -> None:
    """Each sow has a litter, and some of the young take the place of the old."""
    born: list[int] = []
    for sow in list(sows):
        if len(stock) >= habits.animals:
            break
        written = int(random.choice(boars))
        wrong = bool(random.random() < habits.wrong_sires)
        others = [boar for boar in boars if boar != written]
        if wrong and habits.wrong_at_home and others:
            sire = stock[int(random.choice(others))]
        else:
            sire = _founder(habits, random) if wrong else stock[written]
        pups = []
        for _ in range(1 + random.binomial(4, 0.5)):
            pup = _young(sire, stock[sow], random)
            ages = tuple(age for age in habits.looks if random.random() < habits.looked_at)
            walk = _walk(pup, habits, random)
            if random.random() < habits.culled and walk(56, 56) == 0:
                continue
            pups.append(len(stock))
            stock.append(pup)
            _write(herd, pup, walk, ages, habits, random)
        if pups:
            sires = (written,)
            if others and random.random() < habits.possible_sires:
                sires = tuple(sorted((written, int(random.choice(others)))))
            herd.litters.append((tuple(pups), sires, sow))
            herd.sire_wrong.append(wrong)
            born += pups
    for pup in born:
        if random.random() < 0.25:
            row = boars if random.random() < 0.3 else sows
            row[int(random.integers(len(row)))] = pup


def _founder(habits: Habits, random: np.random.Generator, bought_as: str = "") -> _Animal:
    genes = random.random(2) < habits.frequency
    if bought_as:
        genes = np.arange(2) < random.choice(3, p=BOUGHT_AS[bought_as])
    delayers = random.random(2) < habits.delayer
    return _Animal(tuple(genes.astype(int)), random.normal(), tuple(delayers.astype(int)))


def _young(sire: _Animal, dam: _Animal, random: np.random.Generator) -> _Animal:
    def drawn(pairs):
        return tuple(pair[int(random.integers(2))] for pair in pairs)

    pace = (sire.pace + dam.pace) / 2 + random.normal(scale=np.sqrt(0.5))
    return _Animal(drawn((sire.genes, dam.genes)), pace, drawn((sire.delayers, dam.delayers)))


def _write(herd, animal, walk, ages, habits, random, bought_as="") -> None:
    """Write an animal down, with what the keeper finds at these ages."""
    herd.doses.append(animal.dose)
    herd.bought_as.append(bought_as)
    mixed_up = bool(random.random() < habits.mixed_up)
    if mixed_up:
        genes = ((0, 0), (0, 1), (1, 1))[int(random.integers(3))]
        walk = _walk(_Animal(genes, random.normal(), (0, 0)), habits, random)
    looks, slips = [], []
    weather = _weather(habits, random)
    for age in ages:
        warmth, shift = weather(age)
        stage = _shown(walk(age * COMES_AHEAD[warmth], age), warmth, shift)
        if stage == 3 and random.random() < habits.lenient:
            stage = 2
        slip = bool(random.random() < habits.misread)
        if slip:
            stage = int(random.choice([other for other in range(4) if other != stage]))
        looks.append((STAGES[stage], age, warmth if random.random() < habits.noted else ""))
        slips.append(slip or mixed_up)
    herd.looks.append(looks)
    herd.misread.append(slips)


def _walk(animal: _Animal, habits: Habits, random: np.random.Generator):
    """The stage that one animal is at by an age for what is coming and one for the rest: drawn
    once, so that all its looks agree."""
    own = np.sqrt(1 - habits.heritable) * random.normal()
    pace = np.sqrt(habits.heritable) * animal.pace + own
    late = 1.5 if any(animal.delayers) else 1.0
    ages = []
    for stage, median, spread in REACHED.get(animal.dose, ()):
        loose = habits.own if stage in LOOSE else 0.0
        slow = np.sqrt(1 - loose**2) * pace + loose * random.normal()
        slow += habits.noise * random.normal()
        ages.append((stage, late * median * np.exp(spread * slow)))
    return lambda coming, age: max(
        (stage for stage, reached in ages if reached <= (coming if stage == 1 else age)), default=0
    )


def _weather(habits: Habits, random: np.random.Generator):
    """The warmth of the weeks before each age of one animal, and how dark, from 0 to 1, it is
    for such weather."""
    if not habits.weather:
        return lambda age: ("mild", 0.5)
    start = random.random() * habits.spell_days
    many = int((max(habits.looks, default=0) + GROWN) / habits.spell_days) + 2
    warmths = random.choice(WARMTHS, many, p=WARMTH_SHARES).tolist()
    shifts = random.random(many).tolist()

    def at(age):
        spell = int((age + start) / habits.spell_days)
        return warmths[spell], shifts[spell]

    return at


def _shown(reached: int, warmth: str, shift: float) -> int:
    ways = SHOWN[warmth].get(reached, ((1, reached),))
    return next(stage for most, stage in ways if shift < most)
