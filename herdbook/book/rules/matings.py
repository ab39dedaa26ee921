"""What speaks against a mating: each caution with what sources hold and who decides.

Nothing here refuses. The book knows no roan and no satin: it reads the keeper's own notes for
those words, and says that they must be looked for.
"""

import re
from collections.abc import Iterator
from datetime import timedelta

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from ..cautions import BOAR, PAIR, SOW, Caution, TimeTogether
from ..models import Animal
from ..models.animal import State
from ..models.base import Sureness
from . import limits

_ROAN = re.compile(r"\b(roan|dalmatian)s?\b", re.IGNORECASE)
_SATIN = re.compile(r"\bsatins?\b", re.IGNORECASE)
_DAYS_A_MONTH = 30.44
_WEEKS_TO_DAYS = 91
_TINY = 1e-9


def with_mating_records(animals):
    """Fetch all that the cautions look at, in a few queries for any number of animals."""
    return animals.select_related("litter__dam").prefetch_related(
        "litter__sires", "weighings", "litters"
    )


def mating_cautions(
    sow: Animal, boar: Animal, together: TimeTogether, *, inbreeding: float | None
) -> tuple[Caution, ...]:
    """Everything that speaks against this mating at this time, the sow's first.

    ``inbreeding`` is that of the litter, None where it could not be reckoned.
    """
    found = [*_of_sow(sow, together), *_season(together), *_of_boar(boar, together)]
    found += _notes(sow, boar)
    found += _related(sow, boar, inbreeding)
    found += [*_papers(sow, SOW), *_papers(boar, BOAR)]
    return tuple(found)


def _of_sow(sow: Animal, together: TimeTogether) -> Iterator[Caution]:
    yield from _gone(sow, SOW)
    yield from _sow_age(sow, together)
    yield from _sow_weight(sow, together)
    born = next((litter.born for litter in sow.litters.all() if litter.born), None)
    days = None if born is None else (together.first - born.latest).days
    if days is not None and 0 <= days < limits.SOW_RESTS_DAYS:
        yield Caution(
            "sow-lately-littered",
            SOW,
            ngettext(
                "%(sow)s littered on %(date)s, %(days)d day before the boar goes in: she has "
                "hardly rested.",
                "%(sow)s littered on %(date)s, %(days)d days before the boar goes in: she has "
                "hardly rested.",
                days,
            )
            % {"sow": sow.full_name, "date": born.words(), "days": days},
            _(
                "She can conceive within hours of littering, and 60 to 80%% of such matings took "
                "(researchanimaltraining.com 2021). How long to rest her: no source; the book says "
                "so under %(days)d days."
            )
            % {"days": limits.SOW_RESTS_DAYS},
            _vet(),
        )


def _sow_age(sow: Animal, together: TimeTogether) -> Iterator[Caution]:
    youngest, oldest = sow.age_days(together.first), sow.age_days(together.last)
    is_first = not sow.litters.all()
    range_of_ages = _(
        "Sources put the last age for a first conception at 6 months (veterinary and university "
        "fact sheets), 7 months (vetpedia.it) and 7 to 8 months (veterinary articles); the book "
        "goes by %(days)d days."
    ) % {"days": limits.FIRST_CONCEPTION_LATEST_DAYS}
    if youngest is not None and youngest < limits.SOW_MATED_FROM_DAYS:
        yield Caution(
            "sow-young",
            SOW,
            _("%(sow)s is only %(age)s old when the boar goes in: she is still growing herself.")
            % {"sow": sow.full_name, "age": _age(youngest)},
            _(
                "First mated at 2 to 3 months in stock kept for meat (researchanimaltraining.com "
                "2021), not before 3 months by fact sheets for vets; the book goes by %(days)d "
                "days."
            )
            % {"days": limits.SOW_MATED_FROM_DAYS},
            _vet(),
        )
    if is_first and oldest is not None and oldest > limits.FIRST_CONCEPTION_LATEST_DAYS:
        yield Caution(
            "sow-late-first-litter",
            SOW,
            _(
                "%(sow)s may be %(age)s old at conception, and no litter of hers is in the book. "
                "In a sow that has never littered the pelvis may have stiffened by then, and she "
                "can die in labour."
            )
            % {"sow": sow.full_name, "age": _age(oldest)},
            range_of_ages,
            _vet(),
        )
    if is_first and oldest is None:
        yield Caution(
            "sow-age-unknown",
            SOW,
            _(
                "%(sow)s has no birth date and no litter in the book: whether she is past the age "
                "for a first litter cannot be told."
            )
            % {"sow": sow.full_name},
            range_of_ages,
            _vet(),
        )


def _sow_weight(sow: Animal, together: TimeTogether) -> Iterator[Caution]:
    weighed = [one for one in sow.weighings.all() if one.on <= together.last]
    sources = _(
        "First mated from 350 to 450 g in stock kept for meat (researchanimaltraining.com 2021); "
        "the book goes by %(grams)d g. It is a floor, and not a weight to aim at."
    ) % {"grams": limits.SOW_MATED_FROM_G}
    if weighed and weighed[-1].weight_g < limits.SOW_MATED_FROM_G:
        yield Caution(
            "sow-light",
            SOW,
            _("%(sow)s weighed %(grams)d g on %(date)s: too light to carry a litter.")
            % {
                "sow": sow.full_name,
                "grams": weighed[-1].weight_g,
                "date": date_format(weighed[-1].on, "j F Y"),
            },
            sources,
            _vet(),
        )
    age = sow.age_days(together.first)
    if not weighed and age is not None and age < limits.FIRST_CONCEPTION_LATEST_DAYS:
        yield Caution(
            "sow-not-weighed",
            SOW,
            _("%(sow)s is young and no weighing of hers is in the book. Weigh her first.")
            % {"sow": sow.full_name},
            sources,
            _vet(),
        )


def _season(together: TimeTogether) -> Iterator[Caution]:
    first, last = together.due
    months = {(first + timedelta(days=day)).month for day in range((last - first).days + 1)}
    if months & set(limits.HOTTEST_MONTHS):
        yield Caution(
            "due-in-heat",
            SOW,
            _(
                "She may be due in July or August, the hottest weeks north of the equator, and a "
                "sow heavy in pig bears heat badly. South of it, think of January and February."
            ),
            _(
                "Common practice, no source. In late pregnancy and the fortnight after, sows that "
                "are overweight, stressed or off their food risk toxaemia."
            ),
            _vet(),
        )


def _of_boar(boar: Animal, together: TimeTogether) -> Iterator[Caution]:
    yield from _gone(boar, BOAR)
    age = boar.age_days(together.first)
    if age is not None and age < limits.BOAR_MATED_FROM_DAYS:
        yield Caution(
            "boar-young",
            BOAR,
            _("%(boar)s is only %(age)s old when he goes in.")
            % {"boar": boar.full_name, "age": _age(age)},
            _(
                "Boars are first used at 3 to 4 months and 600 to 700 g "
                "(researchanimaltraining.com 2021); the book goes by %(days)d days."
            )
            % {"days": limits.BOAR_MATED_FROM_DAYS},
            _vet(),
        )


def _gone(animal: Animal, about: str) -> Iterator[Caution]:
    if animal.state in (State.SOLD, State.DIED, State.PAPER):
        yield Caution(
            f"not-here:{animal.pk}",
            about,
            _("%(animal)s is not here (%(state)s): this only shows what the litter would be.")
            % {"animal": animal.full_name, "state": animal.get_state_display()},
            _("The book, as it is written."),
            _("You decide."),
        )


def _notes(sow: Animal, boar: Animal) -> Iterator[Caution]:
    """What the keeper's own notes say of roan and satin."""
    roans = [animal for animal in (sow, boar) if _ROAN.search(_written(animal))]
    if roans:
        both = len(roans) == 2
        yield Caution(
            "roan-to-roan" if both else "roan",
            PAIR,
            (
                _("The notes of both speak of roan. Roan to roan is not to be mated.")
                if both
                else _(
                    "The notes of %(animal)s speak of roan. Look for roan in the other yourself: "
                    "it can hide under white."
                )
                % {"animal": roans[0].full_name}
            ),
            _(
                "About a quarter of the pups of roan to roan are lethal whites, born without eyes "
                "or teeth, dalmatian too (secondary sources only)."
            ),
            _vet(),
        )
    satins = [animal for animal in (sow, boar) if _SATIN.search(_written(animal))]
    if satins:
        yield Caution(
            "satin",
            PAIR,
            _(
                "The notes of %(animals)s speak of satin. Look for satin yourself, and do not "
                "breed from stock with bone trouble."
            )
            % {"animals": _(" and ").join(animal.full_name for animal in satins)},
            _(
                "38% of satins had a bone disease (Jordan and others 2009, as cited in a case "
                "report, Case Rep Vet Med 2017:1321656)."
            ),
            _vet(),
        )


def _written(animal: Animal) -> str:
    return f"{animal.type_notes}\n{animal.remarks}"


def _related(sow: Animal, boar: Animal, inbreeding: float | None) -> Iterator[Caution]:
    kin = _kin(sow, boar)
    inbred = inbreeding is not None and inbreeding >= limits.INBREEDING_DELIBERATE - _TINY
    if not kin and not inbred:
        return
    parts = [kin] if kin else []
    if inbreeding is not None:
        percent = number_format(round(inbreeding * 100, 1), 1)  # which would cut, not round
        parts.append(_("The litter's inbreeding would be %(percent)s%%.") % {"percent": percent})
    exceptional = inbred and inbreeding >= limits.INBREEDING_EXCEPTIONAL - _TINY
    yield Caution(
        "closest-kin" if exceptional else "close-kin",
        PAIR,
        " ".join(parts),
        _(
            "12.5% is bred on purpose and 25% is exceptional (from memory). What both parents "
            "carry unseen is doubled more often, and litters may be smaller and weaker."
        ),
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
        doubt = max(len(sow.litter.sires.all()), len(boar.litter.sires.all())) > 1
        words = (
            _("They may be half brother and sister, or more.")
            if doubt
            else _("They are half brother and sister.")
        )
    else:
        return ""
    return words % names


def _parents(animal: Animal) -> set[int]:
    sires = {candidate.boar_id for candidate in animal.litter.sires.all()}
    return sires | ({animal.litter.dam_id} if animal.litter.dam_id else set())


def _papers(animal: Animal, about: str) -> Iterator[Caution]:
    name = {"animal": animal.full_name}
    sires = len(animal.litter.sires.all())
    doubts = []
    if animal.sureness == Sureness.UNSURE:
        doubts.append(_("It is not sure which animal %(animal)s is.") % name)
    if sires > 1:
        doubts.append(
            _("One of %(count)d boars is the sire of %(animal)s.") % {"count": sires, **name}
        )
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


def _vet() -> str:
    return _("A vet decides.")


def _age(days: int) -> str:
    """An age in weeks, from three months on in months."""
    if days < _WEEKS_TO_DAYS:
        weeks = max(days, 0) // 7
        return ngettext("%(n)d week", "%(n)d weeks", weeks) % {"n": weeks}
    months = int(days / _DAYS_A_MONTH)
    return ngettext("%(n)d month", "%(n)d months", months) % {"n": months}
