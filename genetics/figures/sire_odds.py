"""How colours and coats speak for one possible sire or another.

Each gene is worked out by itself with every possible sire as a candidate; a share s that came from
a weight w says that what was written of looks is in proportion to s / w likely, and since no two
genes are linked these multiply. Where several litters are uncertain at once, each is weighed over
the others by that gene alone: their choices are not followed from gene to gene.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from genetics.core.inheritance.loci import Gene, Words, genes, merged
from genetics.core.posterior.genotypes import genotype_posterior
from genetics.snapshot.appearance import appearance_likelihood, appearances
from genetics.snapshot.reading import ColourOdds, Reading


def colour_odds(reading: Reading, *, errors: float) -> ColourOdds:
    """How many times likelier colours make each possible sire than the likeliest of his litter.

    By keys of litter and boar, the largest of a litter 1; litters of which colours say nothing are
    left out. `errors` is the chance that all possible sires of a litter are wrong.
    """
    uncertain = [n for n, litter in enumerate(reading.assumed.litters) if len(litter.sires) > 1]
    if not uncertain:
        return {}
    words, lived = appearances(reading)
    odds: dict[int, np.ndarray] = {}
    for gene in genes().values():
        telling = {number for number in uncertain if _says_something(gene, reading, number, words)}
        if not telling:
            continue
        fewer = merged(gene)
        likelihood = appearance_likelihood(fewer, words, lived)
        dose = genotype_posterior(
            reading.assumed, fewer, likelihood, errors=errors, approximate=True, asked=()
        )
        for number in telling & dose.sire_shares.keys():
            litter = reading.assumed.litters[number]
            shares = dose.sire_shares[number][: len(litter.sires)]
            odds[number] = odds.get(number, 1.0) * shares / np.array(litter.sire_weights)
    return {
        reading.litter_keys[number]: {
            reading.keys[row]: float(one)
            for row, one in zip(reading.assumed.litters[number].sires, of / of.max(), strict=True)
        }
        for number, of in odds.items()
    }


def _says_something(gene: Gene, reading: Reading, number: int, words: Sequence[Words]) -> bool:
    """Whether the words for a litter's pups leave open less than all of a gene's classes."""
    return any(gene.said(words[pup]) is not None for pup in reading.assumed.litters[number].pups)
