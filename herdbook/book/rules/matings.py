"""What speaks against a mating: each caution with what sources hold and who decides.

Nothing here refuses. Roan and satin are read from the column for coat and marks and from the
keeper's own notes, and must be looked for besides: both hide.
"""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal

from django.utils.translation import gettext as _

from ..formatting import chance, coefficient
from ..models import Animal, Limits
from ..models.base import Sureness
from .mating_cautions import BOAR, PAIR, SOW, Caution, Doubted, Lightest, TimeTogether, vet_decides
from .mating_readiness import boar_cautions, sow_cautions

_ROAN = re.compile(r"\b(roan|dalmatian)s?\b", re.IGNORECASE)
_SATIN = re.compile(r"\bsatins?\b", re.IGNORECASE)
_TINY = 1e-9


def with_mating_records(animals):
    """Fetch all that the cautions look at, in a few queries for any number of animals."""
    return animals.select_related("litter__dam").prefetch_related(
        "litter__sires", "weighings", "litters", "sired"
    )


def mating_cautions(
    sow: Animal,
    boar: Animal,
    together: TimeTogether,
    limits: Limits,
    *,
    inbreeding: float | None,
    lightest: Lightest | None = None,
    doubted: Mapping[int, Doubted] | None = None,
) -> tuple[Caution, ...]:
    """Everything that speaks against this mating at this time, the sow's first.

    ``inbreeding`` is that of the litter, None where it could not be reckoned. ``lightest`` is the
    least that the sow should have weighed by the herd's own growth; ``doubted`` says by key what
    the reckoning finds doubtful of either.
    """
    doubted = doubted or {}
    return (
        *cautions_of_sow(sow, together, limits, lightest=lightest, doubted=doubted.get(sow.pk)),
        *cautions_of_boar(boar, together, limits, doubted=doubted.get(boar.pk)),
        *cautions_of_pair(sow, boar, limits, inbreeding=inbreeding),
    )


def cautions_of_sow(
    sow: Animal,
    together: TimeTogether,
    limits: Limits,
    *,
    lightest: Lightest | None = None,
    doubted: Doubted | None = None,
) -> tuple[Caution, ...]:
    """What speaks against the sow whichever boar she is put to."""
    own = sow_cautions(sow, together, limits, lightest=lightest)
    return (*own, *_papers(sow, SOW, doubted))


def cautions_of_boar(
    boar: Animal, together: TimeTogether, limits: Limits, *, doubted: Doubted | None = None
) -> tuple[Caution, ...]:
    """What speaks against the boar whichever sow he is put to."""
    return (*boar_cautions(boar, together, limits), *_papers(boar, BOAR, doubted))


def cautions_of_pair(
    sow: Animal, boar: Animal, limits: Limits, *, inbreeding: float | None
) -> tuple[Caution, ...]:
    """What speaks against these two together, and against neither alone."""
    return (*_notes(sow, boar), *_related(sow, boar, limits, inbreeding))


def _notes(sow: Animal, boar: Animal) -> Iterator[Caution]:
    """What the column for coat and marks, or the keeper's notes, say of roan and satin."""
    roans = [animal for animal in (sow, boar) if _ROAN.search(_written(animal))]
    if roans:
        both = len(roans) == 2
        yield Caution(
            "roan-to-roan" if both else "roan",
            PAIR,
            (
                _("The records of both speak of roan. Roan to roan is not to be mated.")
                if both
                else _(
                    "The records of %(animal)s speak of roan. Look for roan in the other yourself: "
                    "it can hide under white."
                )
                % {"animal": roans[0].full_name}
            ),
            _(
                "About a quarter of the pups of roan to roan are lethal whites, born without eyes "
                "or teeth, dalmatian too (secondary sources only)."
            ),
            vet_decides(),
        )
    satins = [animal for animal in (sow, boar) if _SATIN.search(_written(animal))]
    if satins:
        yield Caution(
            "satin",
            PAIR,
            _(
                "The records of %(animals)s speak of satin. Look for satin yourself, and do not "
                "breed from stock with bone trouble."
            )
            % {"animals": _(" and ").join(animal.full_name for animal in satins)},
            _(
                "38% of satins had a bone disease (Jordan and others 2009, as cited in a case "
                "report, Case Rep Vet Med 2017:1321656)."
            ),
            vet_decides(),
        )


def _written(animal: Animal) -> str:
    return f"{animal.coat_type}\n{animal.type_notes}\n{animal.remarks}"


def _related(
    sow: Animal, boar: Animal, limits: Limits, inbreeding: float | None
) -> Iterator[Caution]:
    kin = _kin(sow, boar)
    inbred = inbreeding is not None and inbreeding >= _share(limits.inbreeding_deliberate)
    if not kin and not inbred:
        return
    parts = [kin] if kin else []
    if inbreeding is not None:
        percent = {"percent": coefficient(inbreeding)}
        parts.append(_("The litter's inbreeding would be %(percent)s.") % percent)
    exceptional = inbred and inbreeding >= _share(limits.inbreeding_exceptional)
    yield Caution(
        "closest-kin" if exceptional else "close-kin",
        PAIR,
        " ".join(parts),
        _(
            "12.5%% is bred on purpose and 25%% is exceptional (from memory); your limits are "
            "%(deliberate)s%% and %(exceptional)s%%. What both parents carry unseen is doubled "
            "more often, and litters may be smaller and weaker."
        )
        % {
            "deliberate": f"{limits.inbreeding_deliberate.normalize():f}",
            "exceptional": f"{limits.inbreeding_exceptional.normalize():f}",
        },
        _("You decide; ask a vet where a fault runs in the line."),
    )


def _kin(sow: Animal, boar: Animal) -> str:
    """How near they are, as far as parents tell; empty for others."""
    names = {"boar": boar.full_name, "sow": sow.full_name}
    hers, his = _parents(sow), _parents(boar)
    sires_of_hers = [candidate.boar_id for candidate in sow.litter.sires.all()]
    if boar.pk in sires_of_hers:
        surely = len(sires_of_hers) == 1
        words = _("%(boar)s is her sire.") if surely else _("%(boar)s may be her sire.")
    elif boar.litter.dam_id == sow.pk:
        words = _("%(sow)s is his dam.")
    elif sow.litter_id == boar.litter_id:
        words = _("They are litter brother and sister.")
    elif len(hers & his) > 1 and len(hers) == len(his) == 2:
        words = _("They are full brother and sister.")
    elif hers & his:
        words = _half(sow, boar)
    else:
        return ""
    return words % names


def _half(sow: Animal, boar: Animal) -> str:
    """Of two that share a parent, or may: how near they are, as surely as parents are known."""
    hers, his = ({one.boar_id for one in animal.litter.sires.all()} for animal in (sow, boar))
    one_dam = sow.litter.dam_id is not None and sow.litter.dam_id == boar.litter.dam_id
    if one_dam and hers & his:
        return _("They are half brother and sister, or full.")
    if not one_dam and max(len(hers), len(his)) > 1:
        return _("They may be half brother and sister.")
    return _("They are half brother and sister.")


def _parents(animal: Animal) -> set[int]:
    sires = {candidate.boar_id for candidate in animal.litter.sires.all()}
    return sires | ({animal.litter.dam_id} if animal.litter.dam_id else set())


def _papers(animal: Animal, about: str, doubted: Doubted | None) -> Iterator[Caution]:
    name = {"animal": animal.full_name}
    sires = len(animal.litter.sires.all())
    doubts = []
    if animal.sureness == Sureness.UNSURE:
        doubts.append(_("It is not sure which animal %(animal)s is.") % name)
    if sires > 1:
        doubts.append(
            _("One of %(count)d boars is the sire of %(animal)s.") % {"count": sires, **name}
        )
    if doubted:
        doubts += _reckoned_doubts(name, doubted)
    if doubts:
        yield Caution(
            f"papers-in-doubt:{animal.pk}",
            about,
            " ".join(doubts),
            _(
                "Doses and inbreeding allow for every boar that is named, and not for an animal "
                "taken for another."
            ),
            _("You decide; a club may not take such papers."),
        )


def _reckoned_doubts(name: dict[str, str], doubted: Doubted) -> Iterator[str]:
    """What the other records say against the papers; those of whom ask for a look at them."""
    if doubted.sire is not None:
        yield _(
            "By all other records, the chance that another boar sired %(animal)s is %(chance)s."
        ) % {**name, "chance": chance(doubted.sire)}
    if doubted.look is not None:
        yield _(
            "A look at %(animal)s does not fit the other records: the chance that it was misread "
            "is %(chance)s."
        ) % {**name, "chance": chance(doubted.look)}


def _share(percent: Decimal) -> float:
    """A limit in per cent as a share, a hair lower, so that a sum of halves still meets it."""
    return float(percent) / 100 - _TINY
