"""Which words for colours and coats to doubt, and how they speak against a written sire.

Each gene of `loci.toml` is worked out by itself from what is written of looks; no two are linked,
so what they say of a sire multiplies with what the points say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.explanation.conflicting_relatives import kin_against
from genetics.core.inheritance.loci import Gene, genes, merged
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import Dose, solve_problem
from genetics.core.record_errors.error_posterior import Doubt
from genetics.record_errors.results import Speaking, WrongColour
from genetics.snapshot.appearance import appearance_likelihood, appearances
from genetics.snapshot.reading import Reading
from herdbook.book.models import Animal


@dataclass(frozen=True)
class Shown:
    """A gene that some animal of the book shows a sign of, worked out for all of them.

    ``likelihood`` (n, g) is of all their looks; ``noted`` (n,): of which animals the words say
    anything of it; ``said``: the classes that these words leave open.
    """

    gene: Gene
    case: PosteriorProblem
    dose: Dose
    likelihood: NDArray[np.float64]
    said: tuple[tuple[int, ...] | None, ...]
    noted: NDArray[np.bool_]


def compute_shown(reading: Reading, *, errors: float) -> list[Shown]:
    """Every gene whose sign stands in the book; `errors` as for doses."""
    words, lived = appearances(reading)
    found = []
    for gene in genes().values():
        if any(gene.bears_sign(one) for one in words):
            fewer = merged(gene)
            likelihood = appearance_likelihood(fewer, words, lived)
            case = PosteriorProblem.of_locus(
                reading.assumed, likelihood, fewer.frequencies, errors, None, BUDGET
            )
            said = tuple(gene.said(one) for one in words)
            noted = np.array([one is not None for one in said], dtype=bool)
            dose = solve_problem(case, asked=())
            found.append(Shown(fewer, case, dose, likelihood, said, noted))
    return found


def by_colours_too(
    chances: Sequence[Doubt], shown: Sequence[Shown], *, errors: float
) -> list[Doubt]:
    """The doubts, those of a sire with what each gene says of the sire written; sorted again.

    Both start from the same prior `errors`: the odds against him multiply.
    """
    prior = errors / (1 - errors)

    def weighed(doubt: Doubt) -> Doubt:
        odds = _odds(doubt.chance)
        for one in shown:
            shares = one.dose.sire_shares.get(doubt.number)
            if shares is not None:
                odds *= _odds(float(shares[-1])) / prior
        return doubt._replace(chance=1.0 if np.isinf(odds) else odds / (1 + odds))

    found = [weighed(doubt) if doubt.kind == "sire" else doubt for doubt in chances]
    return sorted(found, key=lambda doubt: (-doubt.chance, doubt[:3]))


def wrong_colours(
    shown: Sequence[Shown], animals: Sequence[Animal], own: NDArray[np.bool_], worth: float
) -> Iterator[WrongColour]:
    """The animals whose words for a gene are wrong by a chance of at least `worth`, the most
    doubtful first: that of a genotype whose class these words leave out."""
    found = [
        WrongColour(animals[row], one.gene.key, chance, tuple(_against(one, row, animals)))
        for one in shown
        for row in np.flatnonzero(own & one.noted).tolist()
        if (chance := _left_out(one, row)) >= worth
    ]
    yield from sorted(found, key=lambda doubt: -doubt.chance)


def _against(one: Shown, row: int, animals: Sequence[Animal]) -> Iterator[Speaking]:
    """The kin nearby that speak against what is written."""
    pedigree, said = one.case.pedigree, one.said[row] or ()
    for group in kin_against(pedigree, one.gene, one.likelihood, row, said):
        yield Speaking(group.kind, tuple(animals[kin] for kin in group.kin))


def _left_out(one: Shown, row: int) -> float:
    """The chance of the classes that an animal's words leave out; 0 where nothing was worked
    out."""
    by_class = one.gene.phenotypes(one.dose.chances[row])
    return 0.0 if np.isnan(by_class).any() else 1 - float(by_class[list(one.said[row] or ())].sum())


def _odds(chance: float) -> float:
    return np.inf if chance >= 1 else chance / (1 - chance)
