"""Who else may be a litter's parent, where the written one is in doubt.

The litter is reckoned once more with all that might have been there as candidates, and what comes
out is weighed by a fair prior: the chance that the written parent is wrong is an average over all
of the others, never the fit of the best of many. Bayes' rule: whatever prior w the reckoning was
made with, a share s says that the records are in proportion to s / w likely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from genetics.core.case import Case
from genetics.core.dose import reckon_case
from genetics.core.factors import Table
from genetics.core.pedigree import Litter, Pedigree

# Of wrong sires, the part that were in the herd; the rest came from elsewhere (common practice,
# no source).
FROM_THE_HERD = 0.5


@dataclass(frozen=True)
class Suspects:
    """The chance that a written parent is `wrong`, and who it was instead.

    `others` (k,): the posterior share of each that was asked about, in order; `unknown`: of an
    unrelated parent from elsewhere. All of these sum to `wrong`.
    """

    wrong: float
    others: tuple[float, ...]
    unknown: float


def sire_suspects(case: Case, litter: int, others: Sequence[int], rate: float) -> Suspects | None:
    """Weigh a litter's written sire, or all of several, against other boars.

    `rate`: the chance, before any record, that the written sire is wrong; `FROM_THE_HERD` of it is
    shared evenly by `others`, the rest falls to a boar from elsewhere, who has all of it where
    there are no others. `case` is to allow for errors. None where the family is too tangled.
    Raises ValueError for a litter without a written sire or a case without errors.
    """
    written = case.pedigree.litters[litter]
    if not written.sires or case.locus.errors <= 0:
        raise ValueError("a written sire and a chance of errors are wanted")
    others = tuple(others)
    wide = replace(written, sires=written.sires + others, sire_weights=())
    shares = _shares(case, litter, wide, "sire_shares")
    if shares is None:
        return None
    errors, at_home = case.locus.errors, FROM_THE_HERD * rate if others else 0.0
    used = [(1 - errors) * weight for weight in wide.sire_weights] + [errors]
    fair = [
        *((1 - rate) * weight for weight in written.sire_weights),
        *(at_home / len(others) for _ in others),
        rate - at_home,
    ]
    return _weighed(shares, used, fair, len(written.sires), unknown=True)


def dam_suspects(case: Case, litter: int, others: Sequence[int], rate: float) -> Suspects | None:
    """Weigh a litter's written dam against other sows, whose pups it may be.

    `rate`: the chance, before any record, that the litter is one of the others', shared evenly;
    there is no dam from elsewhere. None where the family is too tangled. Raises ValueError for a
    litter without a written dam, and where there is nobody to weigh it against.
    """
    written = case.pedigree.litters[litter]
    others = tuple(others)
    if not written.dams or not others:
        raise ValueError("a written dam and at least one other sow are wanted")
    wide = replace(written, dams=written.dams + others, dam_weights=())
    shares = _shares(case, litter, wide, "dam_shares")
    if shares is None:
        return None
    fair = [
        *((1 - rate) * weight for weight in written.dam_weights),
        *(rate / len(others) for _ in others),
    ]
    return _weighed(shares, wide.dam_weights, fair, len(written.dams), unknown=False)


def _shares(case: Case, litter: int, wide: Litter, side: str) -> Table | None:
    litters = list(case.pedigree.litters)
    litters[litter] = wide
    wider = replace(case, pedigree=Pedigree(case.pedigree.ids, tuple(litters)))
    dose = reckon_case(wider, (wide.pups + wide.candidates)[0])
    shares: dict[int, Table] = getattr(dose, side)
    return shares.get(litter)


def _weighed(
    shares: Table, used: Sequence[float], fair: Sequence[float], written: int, *, unknown: bool
) -> Suspects:
    odds = shares / np.array(used) * np.array(fair)
    chances = (odds / odds.sum()).tolist()
    elsewhere = chances.pop() if unknown else 0.0
    others = chances[written:]
    return Suspects(sum(others) + elsewhere, tuple(others), elsewhere)
