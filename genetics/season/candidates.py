"""Which animals may be mated in a season and what to expect of each pair, as the core's tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cached_property

import numpy as np
from django.utils import timezone
from numpy.typing import NDArray

from genetics.colours.lethal_risks import Risks, risks_of_pairs
from genetics.core.mate_allocation.planner import Constraints, MatingProblem
from genetics.core.posterior.pair_forecast import forecast_pairs
from genetics.core.relatedness.kinship import kinship
from genetics.matings.litter_size import litter_sizes
from genetics.matings.parents import Parents, doubted, read_parents
from genetics.matings.showable_rate import Outlook, outlook_of
from genetics.matings.sow_growth import growth_of_sows
from genetics.season.colours import Coloured, colour_of_pairs
from genetics.season.request import Wishes
from herdbook.book import limits
from herdbook.book.models import Animal, Herd, Limits
from herdbook.book.models.animal import Sex, State
from herdbook.book.rules.mating_cautions import Caution, Doubted, TimeTogether
from herdbook.book.rules.matings import (
    cautions_of_boar,
    cautions_of_pair,
    cautions_of_sow,
    with_mating_records,
)

Table = NDArray[np.float64]
Codes = tuple[str, ...]

# Animals held at each of their doses to learn what their pairs share; past so many the rest rest
# on each parent's own dose, and the plan says how far a chance may be off. Each is two calculations
# of its family, dearer in a large book, so the more animals the fewer are held; none in one that is
# not worked out again.
MOST_HELD = 60
ROWS_HELD = 9_000


@dataclass(frozen=True)
class Stock:
    """Sows and boars with the core's tables in their order.

    ``chances`` (sows, boars, 3): of no, one and two doses, of each pup; ``off`` (sows, boars): what
    the chance of one dose may be off by, beside the doses' own error; ``pups`` (sows,): born
    alive in a litter; ``outlook``: the shares of them to expect at 28 days and good enough to show.
    ``barred``: by the key of an animal, the codes of the cautions that leave it out, the first of
    which is told; ``pairs_barred``: of a pair's places, likewise. ``in_doubt``: by key, what other
    records say against the papers.
    ``risks``: of lethal whites and satins, by the genes. ``coloured``: of the colour wanted, None
    for none.
    """

    sows: tuple[Animal, ...]
    boars: tuple[Animal, ...]
    chances: Table
    off: Table
    pups: Table
    outlook: Outlook
    inbreeding: Table
    kinship: Table
    barred: dict[int, Codes]
    pairs_barred: dict[tuple[int, int], Codes]
    in_doubt: dict[int, Doubted]
    risks: Risks
    coloured: Coloured | None = None

    @cached_property
    def why_not(self) -> dict[int, str]:
        """By the key of an animal that is left out, the caution to tell."""
        return {key: codes[0] for key, codes in self.barred.items()}

    @cached_property
    def pairs_out(self) -> dict[tuple[int, int], str]:
        """By the places of a pair that is left out, the caution to tell."""
        return {pair: codes[0] for pair, codes in self.pairs_barred.items()}

    def expected(self, dose: int) -> Table:
        """Pups of a dose to expect alive at 28 days of each pair (sows, boars)."""
        born = self.pups[:, None] * self.chances[:, :, dose]
        expected: Table = self.outlook.alive(born, self.risks.lethal)
        return expected

    def showable(self) -> Table:
        """Those of one dose that are good enough to show (sows, boars)."""
        born = self.pups[:, None] * self.chances[:, :, 1]
        showable: Table = self.outlook.showable(born, self.risks.lethal)
        return showable

    def in_colour(self) -> Table:
        """Showable pups of the colour wanted to expect of each pair (sows, boars); the genes are
        not known to be linked. Noughts where no colour is wanted."""
        if self.coloured is None:
            return np.zeros_like(self.inbreeding)
        return self.showable() * self.coloured.chances

    def counts(self, wishes: Wishes) -> Table:
        """What each pair's litter counts (sows, boars), those that are left out too."""
        counts = wishes.one * self.showable() + wishes.two * self.expected(2)
        return counts + wishes.colour_more * self.in_colour()

    def worth(self, wishes: Wishes, *, without: Codes = ()) -> Table:
        """What each pair's litter counts (sows, boars); NaN where it is left out. ``without``:
        cautions that are taken as if none of them left anybody out."""
        worth = self.counts(wishes)

        def stays_out(codes: Codes) -> bool:
            return not set(codes) <= set(without)

        for row, sow in enumerate(self.sows):
            if stays_out(self.barred.get(sow.pk, ())):
                worth[row] = np.nan
        for column, boar in enumerate(self.boars):
            if stays_out(self.barred.get(boar.pk, ())):
                worth[:, column] = np.nan
        for pair, codes in self.pairs_barred.items():
            if stays_out(codes):
                worth[pair] = np.nan
        return worth

    def for_core(self, wishes: Wishes) -> tuple[MatingProblem, Constraints]:
        """The core's problem. Pairs of animals that are gone are dropped."""
        herd = MatingProblem(
            self.worth(wishes), self.inbreeding, self.kinship, (self.expected(1), self.expected(2))
        )
        hers = {sow.pk: row for row, sow in enumerate(self.sows)}
        his = {boar.pk: column for column, boar in enumerate(self.boars)}

        def placed(pairs):
            return tuple((hers[s], his[b]) for s, b in pairs if s in hers and b in his)

        return herd, Constraints(
            pens=wishes.pens,
            capacity=(wishes.sows_a_boar,) * len(self.boars),
            inbreeding=wishes.inbreeding,
            coancestry=wishes.coancestry,
            resting=frozenset(hers[key] for key in wishes.resting if key in hers),
            held=placed(wishes.held),
            forbidden=placed(wishes.forbidden),
            least=(wishes.least_one, wishes.least_two),
        )


def in_the_pens(herd: Herd, together: TimeTogether) -> tuple[list[Animal], list[Animal]]:
    """The sows and the boars of a herd that are old enough by the last day together."""
    animals = with_mating_records(Animal.objects.filter(herd=herd, state=State.IN_HERD))
    least = {
        Sex.SOW: limits.SOW_CONCEIVES_FROM_DAYS,
        Sex.BOAR: limits.BOAR_SIRES_FROM_DAYS,
    }
    found: dict[str, list[Animal]] = {Sex.SOW: [], Sex.BOAR: []}
    for animal in animals.filter(sex__in=least).select_related("figure"):
        grown_by = together.last - timedelta(days=least[animal.sex])
        if animal.born is None or animal.born.earliest <= grown_by:
            found[animal.sex].append(animal)
    return found[Sex.SOW], found[Sex.BOAR]


def stock_of(
    herd: Herd, wishes: Wishes, tell: Callable[[float], object] | None = None
) -> Stock | None:
    """All that a plan needs; None where the recorded pedigree contradicts itself. `tell`
    hears how far the colours have come."""
    sows, boars = in_the_pens(herd, wishes.together)
    parents = read_parents()
    if parents is None:
        return None
    reading = parents.reading
    hers = [reading.place[sow.pk] for sow in sows]
    his = [reading.place[boar.pk] for boar in boars]
    table = kinship(parents.weighed.pedigree, [*his, *hers])
    inbreeding = table[len(his) :, : len(his)].copy()
    chances, off = _forecast(parents, hers, his)
    sizes = litter_sizes(sows)
    outlook = outlook_of(herd, on=timezone.localdate())
    going_by = Limits.of(herd)
    in_doubt = doubted(parents, (*sows, *boars))
    risks = risks_of_pairs(sows, boars)
    return Stock(
        tuple(sows),
        tuple(boars),
        chances,
        off,
        np.array([sizes[sow.pk].expected for sow in sows], dtype=float),
        outlook,
        inbreeding,
        table,
        _barred_alone(sows, boars, wishes, going_by, in_doubt),
        _barred_together(sows, boars, inbreeding, wishes, going_by, risks),
        in_doubt,
        risks,
        colour_of_pairs(sows, boars, wishes, tell),
    )


def _forecast(parents: Parents, hers: Sequence[int], his: Sequence[int]) -> tuple[Table, Table]:
    """Chances of each pair's pups, and how far off they may be where parents are taken alone."""
    if not hers or not his:
        shape = (len(hers), len(his))
        return np.zeros((*shape, 3)), np.zeros(shape)
    found = forecast_pairs(
        **parents.arguments,
        first=hers,
        second=his,
        most_held=min(MOST_HELD, ROWS_HELD // len(parents.reading)) if parents.dose else 0,
    )
    return found.forecast, found.bound


def _barred_alone(
    sows: Sequence[Animal],
    boars: Sequence[Animal],
    wishes: Wishes,
    going_by: Limits,
    in_doubt: dict[int, Doubted],
) -> dict[int, Codes]:
    growth = growth_of_sows(sows[0].herd) if sows else None
    together = wishes.together
    found = {}
    for sow in sows:
        lightest = growth.lightest(sow, together) if growth else None
        own = cautions_of_sow(
            sow, together, going_by, lightest=lightest, doubted=in_doubt.get(sow.pk)
        )
        found[sow.pk] = _barred(own, wishes)
    for boar in boars:
        own = cautions_of_boar(boar, together, going_by, doubted=in_doubt.get(boar.pk))
        found[boar.pk] = _barred(own, wishes)
    return {key: codes for key, codes in found.items() if codes}


def _barred_together(
    sows: Sequence[Animal],
    boars: Sequence[Animal],
    inbreeding: Table,
    wishes: Wishes,
    going_by: Limits,
    risks: Risks,
) -> dict[tuple[int, int], Codes]:
    by_genes = (
        ("lethal-white", risks.lethal >= limits.LETHAL_WHITES_FROM),
        ("satin-pups", risks.satin >= limits.SATIN_PUPS_GRAVE_FROM),
    )
    found = {}
    for row, sow in enumerate(sows):
        for column, boar in enumerate(boars):
            own = cautions_of_pair(sow, boar, going_by, inbreeding=inbreeding[row, column])
            more = (code for code, bars in by_genes if bars[row, column])
            if codes := _barred(own, wishes, *more):
                found[row, column] = codes
    return found


def _barred(cautions: Sequence[Caution], wishes: Wishes, *more: str) -> Codes:
    """The codes of the cautions that the breeder wants left out, in order."""
    codes = (*(caution.kind for caution in cautions), *more)
    return tuple(code for code in codes if code in wishes.left_out)
