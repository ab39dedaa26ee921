"""What genes say against pairs for the pups' sake where words are silent: lethal whites, satins.

Roan hides under white, and satin is carried unseen. Each parent is worked out from all that is
written of its kin, and the two are taken as no kin; what one pair would give is worked out from
both together, by `genetics.colours.litter`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from django.db.models import Q
from numpy.typing import NDArray

from genetics.colours.carriers import AT_ONCE, Looks, hands_on, may_carry, read_looks
from genetics.colours.litter import LitterColours
from genetics.core.inheritance.loci import Gene, genes, merged
from genetics.core.posterior.genotypes import pairs_of_class
from genetics.snapshot.appearance import words_of
from herdbook.book.models import Animal
from herdbook.book.models.animal import Coat

Table = NDArray[np.float64]

LETHAL, SATIN = ("roan", "lethal white"), ("satin", "satin")


@dataclass(frozen=True)
class Risks:
    """Chances (sows, boars) that a pup of each pair is a lethal white, and that it is satin.

    ``tangled``: of how many parents one or the other could not be worked out; theirs are noughts.
    """

    lethal: Table
    satin: Table
    tangled: int


def risks_of_pairs(sows: Sequence[Animal], boars: Sequence[Animal]) -> Risks:
    """A rough look at many pairs: no pains are taken over parents whose families are too large or
    too tangled to be exact.

    Noughts for a book in which nobody bears a sign of either gene, and for a parent in a family
    without a sign, since that would be the founders' frequency and nothing else.

    Raises PedigreeError where the book contradicts itself.
    """
    written = Animal.objects.exclude(~Q(coat=Coat.LETHAL), coat_type="")
    noted = [words_of(one) for one in written]
    looks: Looks | None = None
    tables: list[Table] = []
    tangled: set[int] = set()
    for key, name in (LETHAL, SATIN):
        gene, table = genes()[key], np.zeros((len(sows), len(boars)))
        if any(gene.bears_sign(words) for words in noted):
            looks = looks or read_looks()
            table, lost = _of_gene(looks, gene, name, sows, boars)
            tangled |= lost
        tables.append(table)
    lethal, satin = tables
    return Risks(lethal, satin, len(tangled))


def risks_at_once(sows: Sequence[Animal], boars: Sequence[Animal]) -> Risks:
    """The same while a page waits: of a large book by what is kept of each animal, as far as that
    was worked out. Raises PedigreeError as above."""
    if not sows or not boars or Animal.objects.count() <= AT_ONCE:
        return risks_of_pairs(sows, boars)
    may_carry(sows[0])  # which has what is kept brought up to date beside the page
    lethal, satin = (_of_kept(key, sows, boars) for key, _name in (LETHAL, SATIN))
    return Risks(lethal, satin, tangled=0)


def risks_of_pair(sow: Animal, boar: Animal, colours: LitterColours | None) -> tuple[float, float]:
    """The chances of one pair, of a lethal white and of a satin pup: by their litter's colours
    where those were worked out, else as of many pairs. Raises PedigreeError as above."""
    if colours is not None:
        return colours.chance(*LETHAL), colours.chance(*SATIN)
    risks = risks_at_once([sow], [boar])
    return float(risks.lethal[0, 0]), float(risks.satin[0, 0])


def _of_kept(key: str, sows: Sequence[Animal], boars: Sequence[Animal]) -> Table:
    handed = hands_on([*sows, *boars], key)
    hers, his = ([handed[one.pk] for one in of] for of in (sows, boars))
    return np.outer(hers, his)


def _of_gene(
    looks: Looks, gene: Gene, name: str, sows: Sequence[Animal], boars: Sequence[Animal]
) -> tuple[Table, set[int]]:
    """The chances of a class, and the rows of parents that could not be worked out."""
    hers, his = ([looks.reading.place[one.pk] for one in of] for of in (sows, boars))
    dose = looks.reckon(gene, asked=())
    known = np.nan_to_num(dose.chances) * looks.in_question(gene)[:, None]
    lost = {row for row in (*hers, *his) if np.isnan(dose.chances[row]).any()}
    return pairs_of_class(merged(gene), known[hers], known[his], name), lost
