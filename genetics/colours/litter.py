"""What colours and coats a litter to be will show, and what its pups will carry.

Each gene by itself, from both parents together. Genes that nobody in the book shows a sign of are
left out, except those that make the body colour.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from genetics.colours.carriers import Looks, read_looks
from genetics.core.exceptions import PedigreeError
from genetics.core.inheritance.loci import genes, merged
from genetics.core.posterior.genotypes import among_the_weaned, litter_to_be
from genetics.figures.refresh import ERRORS
from herdbook.book.models import Animal

# Classes less likely than this in a pup are left out of what is shown.
WORTH_SHOWING = 0.005

# In a larger book the genes of a litter are not worked out while a page waits: 300 animals of one
# family took 2.6 s for three genes.
AT_ONCE = 400

BODY, RED, DARK = "extension", "albino", "chocolate"
COATS = ("pink eye", "spotting", "roan", "satin", "rex", "long coat")


@dataclass(frozen=True)
class Share:
    """The chance that a pup is of a class, or carries what a gene shows when doubled."""

    gene: str
    name: str
    chance: float


@dataclass(frozen=True)
class LitterColours:
    """Chances for each pup at birth, the likeliest first.

    ``bodies`` and ``points`` (where points come) sum to one, but for what is too unlikely to be
    shown; ``coats`` holds what is out of the common, each by itself; ``carriers`` what is carried
    unseen. ``error`` is an estimate of how far any of them may be off, 0 where all are exact.
    ``tangled`` names the genes that could not be worked out. ``roan_weaned`` is the share of roan
    among pups that live to be weaned, None where no lethal white is to be expected.
    """

    bodies: tuple[Share, ...] = ()
    points: tuple[Share, ...] = ()
    coats: tuple[Share, ...] = ()
    carriers: tuple[Share, ...] = ()
    error: float = 0.0
    tangled: tuple[str, ...] = ()
    roan_weaned: float | None = None

    def chance(self, gene: str, name: str) -> float:
        """The chance of a coat class in each pup; 0 where it is not to be expected."""
        return sum(one.chance for one in self.coats if (one.gene, one.name) == (gene, name))


def litter_colours(sow: Animal, boar: Animal) -> LitterColours | None:
    """What a mating would give; None where the pedigree in the book contradicts itself, or holds
    too many animals to be worked out while a page waits."""
    if Animal.objects.count() > AT_ONCE:
        return None
    try:
        looks = read_looks()
    except PedigreeError:
        return None
    return _Computed(looks, boar, sow).litter()


class _Computed:
    """A pup's classes by gene, as far as they could be worked out."""

    def __init__(self, looks: Looks, boar: Animal, sow: Animal) -> None:
        self.classes: dict[str, dict[str, float]] = {}
        self.carries: dict[str, float] = {}
        self.error, self.tangled, self.roan_weaned = 0.0, [], None
        sire, dam = looks.reading.place[boar.pk], looks.reading.place[sow.pk]
        for key, gene in genes().items():
            if key not in (BODY, RED, DARK) and not looks.in_question(gene).any():
                continue
            fewer = merged(gene)
            chances, error = litter_to_be(
                looks.reading.assumed, fewer, looks.likelihood(fewer), sire, dam, errors=ERRORS
            )
            if np.isnan(chances).any():
                self.tangled.append(key)
                continue
            self.error = max(self.error, error)
            by_class = fewer.phenotypes(chances).tolist()
            self.classes[key] = dict(zip(gene.classes, by_class, strict=True))
            if looks.in_question(gene).any() and not gene.carried_shows:
                self.carries[key] = float(fewer.carries(chances))
            if key == "roan" and self.classes[key]["lethal white"] >= WORTH_SHOWING:
                weaned = fewer.phenotypes(among_the_weaned(fewer, chances))
                self.roan_weaned = float(weaned[gene.classes.index("roan")])

    def litter(self) -> LitterColours:
        rare = [
            Share(key, name, share)
            for key in COATS
            for name, share in list(self.classes.get(key, {}).items())[1:]
        ]
        carriers = [
            Share(key, str(genes()[key].shown), share) for key, share in self.carries.items()
        ]
        return LitterColours(
            bodies=_worth_showing(self._bodies()),
            points=_worth_showing(
                [Share(DARK, name, share) for name, share in self.classes.get(DARK, {}).items()]
            ),
            coats=_worth_showing(rare),
            carriers=_worth_showing(carriers),
            error=self.error,
            tangled=tuple(self.tangled),
            roan_weaned=self.roan_weaned,
        )

    def _bodies(self) -> list[Share]:
        """The body colours, where all three genes of them could be worked out."""
        if not {BODY, RED, DARK} <= self.classes.keys():
            return []
        body, red, dark = (self.classes[key] for key in (BODY, RED, DARK))
        return [
            *(Share(RED, name, body["red series"] * share) for name, share in red.items()),
            *(Share(DARK, name, body["dark"] * share) for name, share in dark.items()),
            Share(BODY, "part red", body["part red"]),
        ]


def _worth_showing(shares: list[Share]) -> tuple[Share, ...]:
    told = [one for one in shares if one.chance >= WORTH_SHOWING]
    return tuple(sorted(told, key=lambda one: -one.chance))
