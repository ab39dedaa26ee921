"""Cautions about a mating, each with its sources and who decides.

Nothing here refuses. Roan and satin are read from the column for coat and markings and from the
keeper's own notes; the animals must be looked at as well, since both can be hidden.
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
    """Fetch all that the cautions need, in a few queries for any number of animals."""
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
    """All cautions about this mating at this time, the sow's first.

    ``inbreeding`` is that of the litter, None where it could not be worked out. ``lightest`` is the
    least that the sow should have weighed by the herd's own growth; ``doubted`` holds by key how
    likely the records of either are wrong.
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
    """The cautions about the sow with any boar."""
    own = sow_cautions(sow, together, limits, lightest=lightest)
    return (*own, *_papers(sow, SOW, doubted))


def cautions_of_boar(
    boar: Animal, together: TimeTogether, limits: Limits, *, doubted: Doubted | None = None
) -> tuple[Caution, ...]:
    """The cautions about the boar with any sow."""
    return (*boar_cautions(boar, together, limits), *_papers(boar, BOAR, doubted))


def cautions_of_pair(
    sow: Animal, boar: Animal, limits: Limits, *, inbreeding: float | None
) -> tuple[Caution, ...]:
    """The cautions about these two together, and about neither alone."""
    return (*_notes(sow, boar), *_related(sow, boar, limits, inbreeding))


def _notes(sow: Animal, boar: Animal) -> Iterator[Caution]:
    """Roan and satin in the column for coat and markings or in the keeper's notes."""
    roans = [animal for animal in (sow, boar) if _ROAN.search(_written(animal))]
    if roans:
        both = len(roans) == 2
        yield Caution(
            "roan-to-roan" if both else "roan",
            PAIR,
            (
                _("Both are recorded as roan. Never mate roan to roan.")
                if both
                else _(
                    "%(animal)s is recorded as roan. Look for roan in the other yourself: it can "
                    "be hidden under white."
                )
                % {"animal": roans[0].full_name}
            ),
            _(
                "About a quarter of the pups of roan to roan, dalmatian too, are lethal whites, "
                "born without eyes or teeth (secondary sources only)."
            ),
            vet_decides(),
        )
    satins = [animal for animal in (sow, boar) if _SATIN.search(_written(animal))]
    if satins:
        yield Caution(
            "satin",
            PAIR,
            _(
                "Satin is recorded for %(animals)s. Look for satin yourself, and do not breed from "
                "stock with bone trouble."
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
    related = _relationship(sow, boar)
    inbred = inbreeding is not None and inbreeding >= _share(limits.inbreeding_deliberate)
    if not related and not inbred:
        return
    parts = [related] if related else []
    if inbreeding is not None:
        percent = {"percent": coefficient(inbreeding)}
        parts.append(_("The litter would have %(percent)s inbreeding.") % percent)
    exceptional = inbreeding is not None and inbreeding >= _share(limits.inbreeding_exceptional)
    yield Caution(
        "closest-kin" if exceptional else "close-kin",
        PAIR,
        " ".join(parts),
        _(
            "Above 12.5%% only if intended, and 25%% is exceptional (from memory); your limits are "
            "%(deliberate)s%% and %(exceptional)s%%. Hidden faults that both parents carry show up "
            "more often, and litters may be smaller and weaker."
        )
        % {
            "deliberate": f"{limits.inbreeding_deliberate.normalize():f}",
            "exceptional": f"{limits.inbreeding_exceptional.normalize():f}",
        },
        _("You decide. Ask a vet if a fault runs in the line."),
    )


def _relationship(sow: Animal, boar: Animal) -> str:
    """How they are related by their parents; empty where they share none."""
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
    """How two that share a parent, or may, are related, as certainly as parents are known."""
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
        doubts.append(_("It is not certain which animal %(animal)s is.") % name)
    if sires > 1:
        doubts.append(_("%(animal)s has %(count)d possible sires.") % {"count": sires, **name})
    if doubted:
        doubts += _doubts_of(name, doubted)
    if doubts:
        yield Caution(
            f"papers-in-doubt:{animal.pk}",
            about,
            " ".join(doubts),
            _(
                "Doses and inbreeding allow for every possible sire on record, but not for an "
                "animal mistaken for another."
            ),
            _("You decide. A club may not accept such a pedigree."),
        )


def _doubts_of(name: dict[str, str], doubted: Doubted) -> Iterator[str]:
    """How likely the recorded sire, or a check, is wrong by the other records."""
    if doubted.sire is not None:
        yield _(
            "The other records make it %(chance)s likely that another boar sired %(animal)s."
        ) % {**name, "chance": chance(doubted.sire)}
    if doubted.look is not None:
        yield _(
            "A check of %(animal)s does not fit the other records: %(chance)s likely misread."
        ) % {**name, "chance": chance(doubted.look)}


def _share(percent: Decimal) -> float:
    """A limit in per cent as a share, slightly lower, so that a sum of halves still meets it."""
    return float(percent) / 100 - _TINY
