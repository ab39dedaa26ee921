"""Looking ahead: the herd bred on by rules of the breeder's choice, a thousand times over.

The animals and what is known of them come from the book; the breeding is the core's. Nothing of it
is written in the book.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, fields
from datetime import date

import numpy as np
from django.db import transaction

from genetics import jobs
from genetics.core.exceptions import PedigreeError
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import InconsistentEvidenceError
from genetics.core.posterior.sampling import Draws, draw_doses
from genetics.core.relatedness.founders import drop_genes
from genetics.core.relatedness.kinship import kinship
from genetics.core.simulation.breeding import Plan, Start
from genetics.core.simulation.selection_rules import (
    CLOSEST_KIN,
    LEAST_KIN,
    ONE_DOSE_TO_SELF,
    OVERMARKED_TO_SELF,
    Policy,
)
from genetics.core.simulation.summary import (
    MEASURES,
    Outlook,
    Spread,
    joined,
    lines_left,
    look_ahead,
    spread,
)
from genetics.figures.refresh import ERRORS, ensure_current, standing_shares
from genetics.matings.showable_rate import LOST_WORTH, STILLBORN, Share
from genetics.matings.showable_rate import Outlook as Expected
from genetics.models import Job, LookAhead
from genetics.snapshot.kept import book_revision
from genetics.snapshot.reading import Reading, read_book
from genetics.snapshot.sire_weights import weigh
from herdbook.book import limits
from herdbook.book.models import Animal, Herd, Limits, Litter
from herdbook.book.models.animal import Sex, State
from herdbook.book.models.litter import Source

JOB = "look ahead"
RUNS = 1000
SEED = 1866
LOCI = 8  # places of the genome at which founders' genes are followed in each run
KEPT = 20  # looks ahead that a herd keeps
MOST_SERIES = 4

POLICIES: dict[str, Policy] = {
    "one-dose-to-self": ONE_DOSE_TO_SELF,
    "overmarked-to-self": OVERMARKED_TO_SELF,
    "least-kin": LEAST_KIN,
    "closest-kin": CLOSEST_KIN,
}

# Chances of a litter of 0, 1, 2 ... pups born: a mean of 2.7 with a spread of 1.03, from 1 to 6, 44
# per cent of them of three (abstract of a study of long-haired cavies); the shares of the other
# sizes are ours, made to fit.
USUAL_SIZES = (0.0, 0.15, 0.23, 0.44, 0.14, 0.035, 0.005)
# The herd's own sizes count from so many litters on.
OWN_LITTERS = 20

# A season is half a year, and a young one born in it is this old when the next one's boars go in.
SEASON_DAYS = 183
FIRST_MATED_DAYS = SEASON_DAYS - limits.GESTATION_USUAL_DAYS

_CELLS = 3_000_000  # figures of kinship in one batch of runs


@dataclass(frozen=True)
class ProjectionRequest:
    """What is to be tried. Numbers are for each season; shares lie from 0 to 1.

    `showable` is None where only the dose counts; `lost_boar` is the key of a boar without whom
    each rule is tried a second time.
    """

    policies: tuple[str, ...]
    seasons: int
    boars: int
    sows: int
    young_boars: int
    young_sows: int
    losses: float
    showable: float | None = None
    lost_boar: int | None = None

    @classmethod
    def from_plain(cls, plain: dict) -> ProjectionRequest:
        known = {field.name for field in fields(cls)}
        values = {name: value for name, value in plain.items() if name in known}
        return cls(**values | {"policies": tuple(values["policies"])})

    @property
    def series(self) -> list[tuple[str, bool]]:
        """Each rule, and whether it is tried without the boar."""
        without = (False,) if self.lost_boar is None else (False, True)
        return [(policy, lost) for policy in self.policies for lost in without]


@dataclass(frozen=True)
class Stock:
    """Who of a herd can be bred from, and who is left out and why.

    `late`: sows past the age for a first litter, or of unknown age, with no litter in the book;
    `unsexed`: how many have no sex written.
    """

    boars: tuple[Animal, ...]
    sows: tuple[Animal, ...]
    late: tuple[Animal, ...]
    unsexed: int


def stock_of(herd: Herd, today: date) -> Stock:
    """The boars and sows in the herd, the youngest too: they come of age within the season."""
    animals = list(
        Animal.objects.filter(herd=herd, state=State.IN_HERD)
        .select_related("litter")
        .prefetch_related("litters")
        .order_by("pk")
    )
    latest = Limits.of(herd).first_conception_latest_days
    sows = [animal for animal in animals if animal.sex == Sex.SOW]
    late = [sow for sow in sows if _is_late(sow, today, latest)]
    return Stock(
        boars=tuple(animal for animal in animals if animal.sex == Sex.BOAR),
        sows=tuple(sow for sow in sows if sow not in late),
        late=tuple(late),
        unsexed=sum(not animal.sex for animal in animals),
    )


@transaction.atomic
def start_look_ahead(herd: Herd, user, asked: ProjectionRequest, today: date) -> LookAhead:
    """Begin to breed on as a job, and keep what was asked; the oldest looks ahead go.

    A second tap, while the same is being worked out, gives the look ahead of the first.
    """
    Herd.objects.select_for_update().get(pk=herd.pk)  # one tap after the other
    before = LookAhead.objects.filter(herd=herd)
    same = before.filter(asked=asdict(asked), revision=book_revision())
    under_way = same.filter(job__state__in=jobs.UNDER_WAY).first()
    if under_way is not None:
        return under_way
    row = LookAhead.objects.create(herd=herd, revision=book_revision(), asked=asdict(asked))
    row.job = jobs.start(JOB, lambda job: _work(row.pk, today, job), user=user)
    row.save(update_fields=["job"])
    jobs.keep_last(before, KEPT)
    return row


def _work(key: int, today: date, job: Job) -> None:
    row = LookAhead.objects.select_related("herd").get(pk=key)
    found = breed_on(row.herd, ProjectionRequest.from_plain(row.asked), today, job)
    LookAhead.objects.filter(pk=key).update(found=found)


def breed_on(herd: Herd, asked: ProjectionRequest, today: date, job: Job | None = None) -> dict:
    """Try each rule, and give what came of it as plain data.

    `series`: for each rule (`policy`, `without`) its `measures`, and for each of these one row a
    season of low, median, high and mean, None where no pup lived. `lines`: the same of the founders
    that the stock starts with. `together`: whether all doses were drawn with their families;
    `by_records`: whether possible sires were taken by their shares, for which a large register's
    figures may have been behind;
    `disregarded`: how many animals' records cannot all be true, and were left out; `own_litters`:
    how many litters of the herd the sizes rest on, 0 for usual ones. `trouble` alone where the
    book's pedigree contradicts itself, or where a sex is missing.
    """
    try:
        fresh = ensure_current().fresh
        reading = read_book()
    except PedigreeError:
        return {"trouble": "pedigree"}
    stock = stock_of(herd, today)
    left = [boar for boar in stock.boars if boar.pk != asked.lost_boar]
    if not left or not stock.sows:
        return {"trouble": "stock"}
    sizes, own_litters = litter_sizes(herd)
    herd_now = _Stock.of(reading, stock, today)
    series = [
        {"policy": policy, "without": without, "measures": {}} for policy, without in asked.series
    ]
    parts: list[list[Outlook]] = [[] for _ in series]
    lines = []
    batches = list(_batches(asked))
    for number, (first, last) in enumerate(batches):
        start = herd_now.start(first, last, np.random.default_rng([SEED, number]))
        lines.append(lines_left(start.genes))
        for place, (policy, without) in enumerate(asked.series):
            start_of_one = herd_now.without(start, asked.lost_boar) if without else start
            random = np.random.default_rng([SEED, number, 1])
            plan = _plan(asked, sizes)
            parts[place].append(
                look_ahead(start_of_one, plan, POLICIES[policy], asked.seasons, random)
            )
            done = (number * len(series) + place + 1) / (len(batches) * len(series))
            jobs.tell(job, 0.1 + 0.9 * done)
    for one, outlooks in zip(series, parts, strict=True):
        whole = joined(outlooks)
        one["measures"] = {name: _plain(spread(getattr(whole, name))) for name in MEASURES}
    return {
        "series": series,
        "lines": _plain(spread(np.concatenate(lines)[:, None]))[0],
        "together": herd_now.together,
        "by_records": fresh,
        "disregarded": herd_now.disregarded,
        "own_litters": own_litters,
        "boars": len(stock.boars),
        "sows": len(stock.sows),
        "late": len(stock.late),
        "unsexed": stock.unsexed,
    }


def litter_sizes(herd: Herd) -> tuple[tuple[float, ...], int]:
    """Chances of so many pups born in a litter, and how many of the herd's own that rests on."""
    born = [
        alive + (dead or 0)
        for alive, dead in Litter.objects.filter(herd=herd, source=Source.HOME).values_list(
            "born_alive", "born_dead"
        )
        if alive is not None
    ]
    if len(born) < OWN_LITTERS:
        return USUAL_SIZES, 0
    return tuple((np.bincount(born) / len(born)).tolist()), len(born)


@dataclass(frozen=True)
class Losses:
    """Pups lost by 28 days: of all born those ``born_dead``, of those born alive those ``lost``."""

    born_dead: Share
    lost: Share

    @property
    def value(self) -> float:
        """The share of all born."""
        return 1 - (1 - self.born_dead.value) * (1 - self.lost.value)


def losses_of(herd: Herd, outlook: Expected) -> Losses:
    """A herd's own, drawn towards a study's: litters that were counted, with their dead, tell."""
    dead, alive = 0, 0
    at_home = Litter.objects.filter(herd=herd, source=Source.HOME)
    for born_alive, born_dead in at_home.values_list("born_alive", "born_dead"):
        if born_alive is not None and born_dead is not None:
            dead, alive = dead + born_dead, alive + born_alive
    return Losses(Share.drawn(dead, dead + alive, prior=STILLBORN, worth=LOST_WORTH), outlook.lost)


@dataclass(frozen=True)
class _Stock:
    """The stock as arrays: rows in the book, boars first, and all that does not change by batch."""

    keys: tuple[int, ...]
    boars: int
    pedigree: Pedigree
    rows: np.ndarray
    doses: np.ndarray
    kinship: np.ndarray
    age_days: np.ndarray
    together: bool
    disregarded: int

    @classmethod
    def of(cls, reading: Reading, stock: Stock, today: date) -> _Stock:
        animals = [*stock.boars, *stock.sows]
        rows = np.array([reading.place[animal.pk] for animal in animals])
        draws, disregarded = _drawn(reading, frozenset(rows.tolist()))
        # One of unknown age is taken for old: it makes room first.
        ages = [animal.age_days(today) for animal in animals]
        pedigree = weigh(reading, standing_shares(reading)).pedigree
        oldest = max((age for age in ages if age is not None), default=0)
        return cls(
            keys=tuple(animal.pk for animal in animals),
            boars=len(stock.boars),
            pedigree=pedigree,
            rows=rows,
            doses=draws.doses[:, rows],
            kinship=kinship(pedigree, rows),
            age_days=np.array([oldest if age is None else age for age in ages], dtype=float),
            together=bool(draws.together[rows].all()),
            disregarded=disregarded,
        )

    def start(self, first: int, last: int, random: np.random.Generator) -> Start:
        """The runs from `first` up to `last`, each with genes handed down again."""
        drop = drop_genes(self.pedigree, self.rows, last - first, random, loci=LOCI)
        count = len(self.rows)
        return Start(
            np.arange(self.boars),
            np.arange(self.boars, count),
            self.doses[first:last],
            self.kinship,
            drop.genes,
            self.age_days,
        )

    def without(self, start: Start, key: int | None) -> Start:
        """The same start without one boar."""
        boars = np.array([row for row in start.boars if self.keys[row] != key], dtype=np.int64)
        return Start(boars, start.sows, start.doses, start.kinship, start.genes, start.age_days)


def _drawn(reading: Reading, rows: frozenset[int]) -> tuple[Draws, int]:
    """Doses of the stock in every run, and how many animals' records had to be left out.

    A family whose records cannot all be true is drawn as if none were written.
    """
    frequency = reading.parameters.frequency
    case = PosteriorProblem.of(
        reading.assumed, reading.likelihood, frequency, ERRORS, reading.founder_prior, BUDGET
    )
    disregarded: set[int] = set()
    for _ in range(len(reading) + 1):
        try:
            draws = draw_doses(case, RUNS, np.random.default_rng(SEED), rows)
        except InconsistentEvidenceError as error:
            families = [set(family) for family in reading.assumed.families()]
            lost = set().union(*(one for one in families if one & set(error.animals)))
            tallies = [
                number
                for number, litter in enumerate(reading.assumed.litters)
                if lost.intersection(litter.pups + litter.candidates)
            ]
            case = case.without_evidence_of(sorted(lost), tallies)
            disregarded |= lost
        else:
            return draws, len(disregarded)
    raise AssertionError("a family without evidence has no contradiction")


def _batches(asked: ProjectionRequest) -> Iterator[tuple[int, int]]:
    """Runs that go side by side: as many as kinship has room for, and at most a tenth of all."""
    count = asked.boars + asked.sows + asked.young_boars + asked.young_sows
    size = max(10, min(RUNS // 10, _CELLS // count**2))
    for first in range(0, RUNS, size):
        yield first, min(first + size, RUNS)


def _plan(asked: ProjectionRequest, sizes: tuple[float, ...]) -> Plan:
    return Plan(
        asked.boars,
        asked.sows,
        asked.young_boars,
        asked.young_sows,
        np.array(sizes),
        asked.losses,
        1.0 if asked.showable is None else asked.showable,
    )


def _plain(rows: tuple[Spread, ...]) -> list[list[float | None]]:
    return [
        [None if np.isnan(value) else value for value in (row.low, row.median, row.high, row.mean)]
        for row in rows
    ]


def _is_late(sow: Animal, today: date, latest: int) -> bool:
    """Whether a sow without a litter is, or may be, past the age for a first one."""
    if sow.litters.all():
        return False
    age = sow.age_days(today)
    return age is None or age > latest
