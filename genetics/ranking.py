"""Matings set beside each other: what each is worth by the breeder's own weights, and why."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from genetics.expecting import Outlook, outlook_of
from genetics.growing import growth_of_sows
from genetics.mating import Mating, pair_all
from herdbook.book.cautions import Caution, TimeTogether
from herdbook.book.models import Animal, Herd, Limits, RankingWeights
from herdbook.book.rules.matings import cautions_of_boar, cautions_of_pair, cautions_of_sow

_TENTH = 0.1


@dataclass(frozen=True)
class Prospect:
    """One mating with the showable pups to expect of it, None without a figure, and what speaks
    against the sow, the boar and the two together."""

    mating: Mating
    showable: float | None
    of_sow: tuple[Caution, ...]
    of_boar: tuple[Caution, ...]
    of_pair: tuple[Caution, ...]

    @property
    def cautions(self) -> tuple[Caution, ...]:
        return (*self.of_sow, *self.of_boar, *self.of_pair)

    def points(self, weights: RankingWeights) -> float:
        """Showable pups less what the breeder takes off; lowest of all without a figure."""
        if self.showable is None:
            return -math.inf
        return (
            self.showable
            - float(weights.per_inbreeding) * self.mating.inbreeding / _TENTH
            - float(weights.per_kinship) * self.mating.kinship / _TENTH
            - float(weights.per_caution) * len(self.cautions)
        )


@dataclass(frozen=True)
class Prospects:
    """Each of some sows with each of some boars, a row a sow; the herd's shares behind them."""

    rows: tuple[tuple[Prospect, ...], ...]
    outlook: Outlook

    def ranked(self, weights: RankingWeights) -> list[Prospect]:
        """All of them from the best; of equals the less inbred first, then as they were written."""
        flat = [prospect for row in self.rows for prospect in row]
        return sorted(
            flat,
            key=lambda one: (
                -round(one.points(weights), 6),
                one.mating.inbreeding,
                one.mating.sow.pk,
                one.mating.boar.pk,
            ),
        )


def prospects(
    herd: Herd,
    sows: Sequence[Animal],
    boars: Sequence[Animal],
    together: TimeTogether,
    limits: Limits,
    *,
    on: date,
    besides: Callable[[Animal, Animal], Iterable[Caution]] | None = None,
) -> Prospects | None:
    """Each sow with each boar; None where the pedigree in the book contradicts itself.

    The animals come with their mating records fetched. ``besides`` gives more that speaks against
    a sow and a boar together.
    """
    found = pair_all(sows, boars)
    if found is None:
        return None
    outlook, growth = outlook_of(herd, on=on), growth_of_sows(herd)
    of_sows = [
        cautions_of_sow(
            sow,
            together,
            limits,
            lightest=growth and growth.lightest(sow, together),
            doubted=found.doubted.get(sow.pk),
        )
        for sow in sows
    ]
    of_boars = [
        cautions_of_boar(boar, together, limits, doubted=found.doubted.get(boar.pk))
        for boar in boars
    ]
    rows = tuple(
        tuple(
            Prospect(
                mating,
                showable_pups(mating, outlook),
                of_sow,
                of_boar,
                (
                    *cautions_of_pair(
                        mating.sow, mating.boar, limits, inbreeding=mating.inbreeding
                    ),
                    *(besides(mating.sow, mating.boar) if besides else ()),
                ),
            )
            for mating, of_boar in zip(row, of_boars, strict=True)
        )
        for row, of_sow in zip(found.rows, of_sows, strict=True)
    )
    return Prospects(rows, outlook)


def showable_pups(mating: Mating, outlook: Outlook) -> float | None:
    """Of the litter's one-dose pups, those to expect alive at 28 days and good enough to show."""
    pups = mating.one_dose_pups
    if pups is None:
        return None
    return outlook.showable(pups)
