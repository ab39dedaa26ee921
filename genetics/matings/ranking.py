"""Matings set beside each other: what each is worth by the breeder's own weights, and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from genetics.colours.lethal_risks import risks_at_once
from genetics.matings.lookup import Mating, pair_all
from genetics.matings.showable_rate import Outlook, outlook_of
from genetics.matings.sow_growth import growth_of_sows
from herdbook.book.models import Animal, Herd, Limits, RankingWeights
from herdbook.book.rules.genes import cautions_of_genes
from herdbook.book.rules.mating_cautions import Caution, TimeTogether
from herdbook.book.rules.matings import cautions_of_boar, cautions_of_pair, cautions_of_sow

_TENTH = 0.1


@dataclass(frozen=True)
class Prospect:
    """One mating with the showable pups to expect of it, None without a figure, and what speaks
    against the sow, the boar and the two together.

    ``grave`` are those of the cautions that keep it out of the best, whatever its score.
    """

    mating: Mating
    showable: float | None
    of_sow: tuple[Caution, ...]
    of_boar: tuple[Caution, ...]
    of_pair: tuple[Caution, ...]

    @cached_property
    def cautions(self) -> tuple[Caution, ...]:
        return (*self.of_sow, *self.of_boar, *self.of_pair)

    @cached_property
    def grave(self) -> tuple[Caution, ...]:
        return tuple(caution for caution in self.cautions if caution.is_grave)

    def score(self, weights: RankingWeights) -> float:
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
        """All of them from the best, those with a grave caution after all others, with two after
        one; of equals the less inbred first, then as they were written."""
        flat = [prospect for row in self.rows for prospect in row]
        return sorted(
            flat,
            key=lambda one: (
                len(one.grave),
                -round(one.score(weights), 6),
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
) -> Prospects | None:
    """Each sow with each boar; None where the pedigree in the book contradicts itself.

    The animals come with their mating records fetched.
    """
    found = pair_all(sows, boars)
    if found is None:
        return None
    outlook, growth = outlook_of(herd, on=on), growth_of_sows(herd)
    risks = risks_at_once(sows, boars)
    of_sows = [
        cautions_of_sow(
            sow,
            together,
            limits,
            lightest=growth.lightest(sow, together) if growth else None,
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
                showable_pups(mating, outlook, lethal=lethal),
                of_sow,
                of_boar,
                (
                    *cautions_of_pair(
                        mating.sow, mating.boar, limits, inbreeding=mating.inbreeding
                    ),
                    *cautions_of_genes(mating.sow, mating.boar, lethal=lethal, satin=satin),
                ),
            )
            for mating, of_boar, lethal, satin in zip(row, of_boars, *chances, strict=True)
        )
        for row, of_sow, *chances in zip(
            found.rows, of_sows, risks.lethal.tolist(), risks.satin.tolist(), strict=True
        )
    )
    return Prospects(rows, outlook)


def showable_pups(mating: Mating, outlook: Outlook, *, lethal: float) -> float | None:
    """Of the litter's one-dose pups, those to expect alive at 28 days and good enough to show.

    ``lethal`` is the chance that a pup is a lethal white.
    """
    pups = mating.one_dose_pups
    if pups is None:
        return None
    return outlook.showable(pups, lethal)
