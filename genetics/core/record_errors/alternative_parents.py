"""Who else may be a litter's parent, where the written one is in doubt.

The litter is worked out once more with all that might have been there as candidates, and what comes
out is weighed by a fair prior: the chance that the written parent is wrong is an average over all
of the others, never the fit of the best of many. Bayes' rule: whatever prior w the calculation was
made with, a share s says that the records are in proportion to s / w likely.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from genetics.core.inference.factor_graph import Table
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import PosteriorProblem
from genetics.core.posterior.dose import solve_problem

# Of wrong sires, the part that were in the herd; the rest came from elsewhere (common practice,
# no source).
FROM_THE_HERD = 0.5


@dataclass(frozen=True)
class AlternativeParents:
    """The chance that a written parent is `wrong`, and who it was instead.

    `others` (k,): the posterior share of each that was asked about, in order; `unknown`: of an
    unrelated parent from elsewhere. All of these sum to `wrong`. `weights` are what the doses weigh
    those written, the others and the unknown with: the fair prior times what other genes say.
    """

    wrong: float
    others: tuple[float, ...]
    unknown: float
    weights: tuple[float, ...] = ()


def sire_suspects(
    cases: Sequence[PosteriorProblem], litter: int, others: Sequence[int], rate: float
) -> AlternativeParents | None:
    """Weigh a litter's written sire, or all of several, against other boars.

    `cases`: of one pedigree, with the evidence of one gene each, the doses first; genes are not
    linked, so what each says multiplies. One that is too tangled says nothing, the first excepted:
    then None. `rate`: the chance, before any record, that the written sire is wrong;
    `FROM_THE_HERD` of it is shared evenly by `others`, the rest falls to a boar from elsewhere, who
    has all of it where there are no others. Raises ValueError for a litter without a written sire
    or a case without errors.
    """
    written = cases[0].pedigree.litters[litter]
    if not written.sires or any(case.locus.errors <= 0 for case in cases):
        raise ValueError("a written sire and a chance of errors are wanted")
    others = tuple(others)
    wide = replace(written, sires=written.sires + others, sire_weights=())
    at_home = FROM_THE_HERD * rate if others else 0.0
    fair = [
        *((1 - rate) * weight for weight in written.sire_weights),
        *(at_home / len(others) for _ in others),
        rate - at_home,
    ]
    found = _weighed(_heard(_fits(case, litter, wide, "sire_shares") for case in cases), fair)
    if found is None:
        return None
    *named, unknown = found[len(written.sires) :]
    return AlternativeParents(sum(named) + unknown, tuple(named), unknown)


def dam_suspects(
    cases: Sequence[PosteriorProblem], litter: int, others: Sequence[int], rate: float
) -> AlternativeParents | None:
    """Weigh a litter's written dam against other sows, whose pups it may be.

    `cases` and `rate` as for `sire_suspects`: `FROM_THE_HERD` of the rate is shared evenly by
    `others`, the rest falls to a sow altogether else, an unrelated founder, who has all of it where
    there are no others. None where the family is too tangled. Raises ValueError for a litter
    without a written dam.
    """
    written = cases[0].pedigree.litters[litter]
    if not written.dams:
        raise ValueError("a written dam is wanted")
    at_home = FROM_THE_HERD * rate if others else 0.0
    fair = [
        *((1 - rate) * weight for weight in written.dam_weights),
        *(at_home / len(others) for _ in others),
        rate - at_home,
    ]
    doubted = {litter: (tuple(others), ())}
    wider = (with_other_dams(case, doubted) for case in cases)
    fits = _heard(_fits(one, litter, one.pedigree.litters[litter], "dam_shares") for one in wider)
    found = _weighed(fits, fair)
    if found is None:
        return None
    *named, unknown = found[len(written.dams) :]
    weights = _weighed([np.ones(len(fair)), *fits[1:]], fair)
    return AlternativeParents(sum(named) + unknown, tuple(named), unknown, tuple(weights or ()))


def with_other_dams(
    case: PosteriorProblem, doubted: Mapping[int, tuple[Sequence[int], Sequence[float]]]
) -> PosteriorProblem:
    """The case with more possible dams for some litters, by number: other sows, and one that is
    not in the pedigree, with the weights of all of them, those written first; even where none are
    given. The sow that is not in it stands behind the animals, one a litter."""
    pedigree, size = case.pedigree, len(case.pedigree)
    litters = list(pedigree.litters)
    for place, (number, (others, weights)) in enumerate(doubted.items()):
        dams = (*litters[number].dams, *others, size + place)
        litters[number] = replace(litters[number], dams=dams, dam_weights=tuple(weights))
    strangers = tuple(f"another dam of litter {number}" for number in doubted)
    more, states = len(doubted), case.genotypes
    evidence = replace(
        case.evidence,
        records=np.vstack([case.evidence.records, np.ones((more, states))]),
        own=np.vstack([case.evidence.own, np.ones((more, states))]),
    )
    shares = np.vstack([case.founder_shares, np.tile(case.locus.pool, (more, 1))])
    wider = Pedigree((*pedigree.ids, *strangers), tuple(litters))
    return replace(case, pedigree=wider, evidence=evidence, founder_shares=shares)


def _fits(case: PosteriorProblem, litter: int, wide: Litter, side: str) -> Table | None:
    """How likely the records are with each candidate of a litter, and for sires with another, on
    some scale; None where tangled."""
    litters = list(case.pedigree.litters)
    litters[litter] = wide
    wider = replace(case, pedigree=Pedigree(case.pedigree.ids, tuple(litters)))
    reckoned = solve_problem(wider, wide.candidates[0])
    shares: Table | None = getattr(reckoned, side).get(litter)
    if shares is None:
        return None
    errors = case.locus.errors
    weights = [*wide.dam_weights]
    if side == "sire_shares":
        weights = [*((1 - errors) * one for one in wide.sire_weights), errors]
    fits: Table = shares / np.array(weights)
    return fits


def _heard(fits: Iterable[Table | None]) -> list[Table | None]:
    """What each case says; none is asked after the doses, the first, where those say nothing."""
    heard: list[Table | None] = []
    for one in fits:
        heard.append(one)
        if heard[0] is None:
            break
    return heard


def _weighed(fits: Sequence[Table | None], fair: Sequence[float]) -> list[float] | None:
    """Posterior chances by a fair prior and what each gene says; None where the first is silent."""
    if fits[0] is None:
        return None
    odds = np.array(fair)
    for one in fits:
        if one is not None:
            odds = odds * one / one.max()
    chances: list[float] = (odds / odds.sum()).tolist()
    return chances
