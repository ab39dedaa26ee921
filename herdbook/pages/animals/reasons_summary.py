"""The reasons for a dose in one sentence, as a breeder would give them.

'Probably clean marked (one dose): her sire throws half and a littermate shows points, although she
shows no points at 5 weeks.' The verdict follows the chance of the likeliest dose; the reasons are
those that move the odds most, for it and against it.
"""

from collections.abc import Collection, Sequence
from math import log, prod

from django.utils.translation import gettext as _

from genetics.doses.explanation import Reason, Why
from herdbook.book.models import Animal

from ..common.formatting import chance, full_dose_name, uncertain
from .evidence_words import KinSeen
from .reason_clauses import Clauses, Sign

# A reason that moves the odds by less than this factor is left out of the sentence, and so is one
# against a dose that is hardly in doubt by less than the second, or one that is slight beside the
# strongest (common practice, no source).
_WORTH_SAYING, _WORTH_SAYING_AGAINST = 1.25, 3
_SLIGHT_BESIDE = 0.15
_MOST_FOR, _MOST_AGAINST = 3, 2
# The verdict is worded so from these chances of the likeliest dose on (common practice, no source).
_ALMOST_CERTAIN, _VERY_PROBABLE, _PROBABLE, _EVEN = 0.99, 0.9, 2 / 3, 0.5


def summary(found: Why, animal: Animal, kin: KinSeen) -> str:
    """The sentence; the strongest reasons first."""
    signs = _signs(found.reasons, kin.possibly_sired)
    favour = [sign for sign in signs if sign.odds > 1]
    oppose = [sign for sign in signs if sign.odds <= 1]
    sure = found.posterior[found.dose] >= _VERY_PROBABLE
    worth = _WORTH_SAYING_AGAINST if sure else _WORTH_SAYING
    clauses = Clauses(animal, kin, found.dose)
    words = {
        "verdict": _verdict(found),
        "reasons": _and(clauses.of(_weighty(favour, _WORTH_SAYING))[:_MOST_FOR]),
        "against": _and(clauses.of(_weighty(oppose, worth))[:_MOST_AGAINST]),
    }
    words["reasons"] = words["reasons"] or _without_reasons(found)
    if words["against"]:
        return _("%(verdict)s: %(reasons)s, although %(against)s.") % words
    return _("%(verdict)s: %(reasons)s.") % words


def _weighty(signs: Sequence[Sign], least: float) -> list[Sign]:
    """Those worth a place in the sentence, the strongest of all first."""
    top = signs[0].strength if signs else 1
    return [
        sign
        for sign in signs
        if sign.strength >= least and log(sign.strength) >= _SLIGHT_BESIDE * log(min(top, 1e300))
    ]


def _verdict(found: Why) -> str:
    share = found.posterior[found.dose]
    shown = chance(uncertain(found.posterior)[found.dose])
    words = {"dose": full_dose_name(found.dose), "chance": shown}
    if share >= 1 and sum(other > 0 for other in found.posterior) == 1:
        return _("Certainly %(dose)s") % words
    if share >= _ALMOST_CERTAIN:
        return _("Almost certainly %(dose)s") % words
    if share >= _VERY_PROBABLE:
        return _("Very probably %(dose)s") % words
    if share >= _PROBABLE:
        return _("Probably %(dose)s") % words
    if share >= _EVEN:
        return _("More likely %(dose)s than not") % words
    return _("Not certain, most likely %(dose)s, %(chance)s") % words


def _without_reasons(found: Why) -> str:
    """What the verdict follows from where no reason speaks for it."""
    if max(range(3), key=lambda dose: found.prior[dose]) == found.dose:
        return _("it is the most common dose")
    return _("many small signs add up to it")


def _signs(reasons: Sequence[Reason], possibly_sired: Collection[int]) -> list[Sign]:
    """The reasons, the litters of its young made one, the strongest first; those that it only may
    have sired apart."""
    signs = [
        Sign(one.kind, one.odds, one.ratios, (one,)) for one in reasons if one.kind != "litter"
    ]
    young = [one for one in reasons if one.kind == "litter"]
    sure = tuple(one for one in young if one.litter_key not in possibly_sired)
    possible = tuple(one for one in young if one.litter_key in possibly_sired)
    for kind, litters in (("litter", sure), ("possible litter", possible)):
        if litters:
            odds = prod(one.odds for one in litters)
            ratios = [prod(one.ratios[dose] for one in litters) for dose in range(3)]
            signs.append(Sign(kind, odds, ratios, litters))
    return sorted(signs, key=lambda sign: sign.strength, reverse=True)


def _and(clauses: Sequence[str]) -> str:
    """'a, b and c'."""
    if len(clauses) < 2:
        return "".join(clauses)
    return _("%(first)s and %(last)s") % {"first": ", ".join(clauses[:-1]), "last": clauses[-1]}
