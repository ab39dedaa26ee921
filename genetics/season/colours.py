"""How likely a pup of each pair of a season's plan is of the colour wanted, and what that rests on.

Gene by gene from the chances of each parent, the two taken as no kin: no two of these genes are
known to be linked, so what each gives multiplies.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.colours.carriers import read_looks
from genetics.colours.litter import BODY, DARK, RED
from genetics.core.inheritance.loci import genes, merged
from genetics.core.posterior.genotypes import pairs_of_class
from genetics.season.request import Wishes
from herdbook.book.models import Animal

Table = NDArray[np.float64]


@dataclass(frozen=True)
class Coloured:
    """The chance (sows, boars) that a pup of each pair is of the colour wanted.

    ``error`` is an estimate of how far a chance may be off for want of exact figures, 0 where all
    are exact. ``noted``: by gene, of how many of the parents the words say anything of it.
    ``tangled``: parents without a figure for one of the genes.
    """

    chances: Table
    error: float
    noted: dict[str, int]
    tangled: int


def colour_of_pairs(
    sows: Sequence[Animal],
    boars: Sequence[Animal],
    wishes: Wishes,
    tell: Callable[[float], object] | None = None,
) -> Coloured | None:
    """Worked out once for each gene of the colour, for all pairs; None where no colour is wanted.

    `tell` hears of the share of the genes that are done.

    Raises PedigreeError where the book contradicts itself.
    """
    if not wishes.wants_colour:
        return None
    looks = read_looks()
    hers, his = ([looks.reading.place[one.pk] for one in of] for of in (sows, boars))
    chances, errors = np.ones((len(hers), len(his))), np.zeros(len(looks.reading))
    tangled = np.zeros(len(looks.reading), dtype=bool)
    noted, classes = {}, _classes(wishes)
    for number, (key, name) in enumerate(classes.items()):
        if tell is not None:
            tell(number / len(classes))
        gene, dose = genes()[key], looks.reckon(genes()[key], asked=[*hers, *his])
        chances *= pairs_of_class(merged(gene), dose.chances[hers], dose.chances[his], name)
        errors += dose.error
        tangled |= np.isnan(dose.chances).any(axis=1)
        noted[key] = int(looks.noted(gene)[[*hers, *his]].sum())
    off = errors[hers][:, None] + errors[his][None, :]
    return Coloured(
        chances, float(np.nanmax(off, initial=0.0)), noted, int(tangled[[*hers, *his]].sum())
    )


def _classes(wishes: Wishes) -> dict[str, str]:
    """The class of each gene that makes the colour. Points show on a red-series body alone."""
    classes = {BODY: "red series"}
    if wishes.body:
        classes[RED] = wishes.body
    if wishes.points:
        classes[DARK] = wishes.points
    return classes
