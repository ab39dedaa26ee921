"""Cautions about mating a sow, or using a boar, at this time, with any mate."""

from collections.abc import Iterator
from datetime import timedelta

from django.utils.dates import MONTHS
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from .. import limits as figures
from ..formatting import span
from ..models import Animal, Limits, Weighing
from ..models.animal import State
from .mating_cautions import BOAR, SOW, Caution, Lightest, TimeTogether, vet_decides


def sow_cautions(
    sow: Animal, together: TimeTogether, limits: Limits, *, lightest: Lightest | None = None
) -> Iterator[Caution]:
    """All cautions about mating this sow now; ``lightest`` is by the herd's own growth."""
    yield from _gone(sow, SOW)
    yield from _sow_age(sow, together, limits)
    yield from _sow_weight(sow, together, limits, lightest)
    yield from _rest(sow, together, limits)
    yield from _stays_on(together)
    yield from _season(together, limits)


def boar_cautions(boar: Animal, together: TimeTogether, limits: Limits) -> Iterator[Caution]:
    """All cautions about using this boar now."""
    yield from _gone(boar, BOAR)
    sources = _(
        "Boars are first used at 3 to 4 months and 600 to 700 g (researchanimaltraining.com 2021); "
        "your limits are %(days)d days and %(grams)d g. That an "
        "adult sow may attack him is common practice, no source."
    ) % {"days": limits.boar_mated_from_days, "grams": limits.boar_mated_from_g}
    yield from _boar_age(boar, together, limits, sources)
    last = _last_weighing(boar, together)
    if last and last.weight_g < limits.boar_mated_from_g:
        yield Caution(
            "boar-light",
            BOAR,
            _(
                "%(boar)s weighed only %(grams)d g on %(date)s: he is not fully grown, or not "
                "well, and an adult sow may attack him."
            )
            % {"boar": boar.full_name, "grams": last.weight_g, "date": _day(last)},
            sources,
            vet_decides(),
        )


def _boar_age(
    boar: Animal, together: TimeTogether, limits: Limits, sources: str
) -> Iterator[Caution]:
    born, age = boar.born, boar.age_days(together.first)
    if born is not None and age is not None and age < limits.boar_mated_from_days:
        yield Caution(
            "boar-young",
            BOAR,
            _(
                "%(boar)s will be only %(age)s old when he goes in: he is still growing, may not "
                "get her in pig, and an adult sow may attack him."
            )
            % {"boar": boar.full_name, "age": span(born.middle, together.first)},
            sources,
            vet_decides(),
        )
    if age is None and not boar.sired.all():
        yield Caution(
            "boar-age-unknown",
            BOAR,
            _("%(boar)s has no birth date and no litter on record, so he may be too young.")
            % {"boar": boar.full_name},
            sources,
            vet_decides(),
        )


def _sow_age(sow: Animal, together: TimeTogether, limits: Limits) -> Iterator[Caution]:
    born = sow.born
    youngest, oldest = sow.age_days(together.first), sow.age_days(together.last)
    is_first = not sow.litters.all()
    range_of_ages = _(
        "Sources put the last age for a first conception at 6 months (veterinary and university "
        "fact sheets), 7 months (vetpedia.it) and 7 to 8 months (veterinary articles); your "
        "limit is %(days)d days."
    ) % {"days": limits.first_conception_latest_days}
    if born is not None and youngest is not None and youngest < limits.sow_mated_from_days:
        yield Caution(
            "sow-young",
            SOW,
            _("%(sow)s will be only %(age)s old when the boar goes in: she is still growing.")
            % {"sow": sow.full_name, "age": span(born.middle, together.first)},
            _(
                "First mated at 2 to 3 months in stock kept for meat (researchanimaltraining.com "
                "2021), not before 3 months by fact sheets for vets; your limit is "
                "%(days)d days."
            )
            % {"days": limits.sow_mated_from_days},
            vet_decides(),
        )
    latest = limits.first_conception_latest_days
    if is_first and born is not None and oldest is not None and oldest > latest:
        yield Caution(
            "sow-late-first-litter",
            SOW,
            _(
                "%(sow)s may be %(age)s old at conception, with no litter on record. Her pelvis "
                "may have stiffened by then, and she can die in labour."
            )
            % {"sow": sow.full_name, "age": span(born.middle, together.last)},
            range_of_ages,
            vet_decides(),
        )
    if is_first and oldest is None:
        yield Caution(
            "sow-age-unknown",
            SOW,
            _(
                "%(sow)s has no birth date and no litter on record, so she may be too old for a "
                "first litter."
            )
            % {"sow": sow.full_name},
            range_of_ages,
            vet_decides(),
        )


def _sow_weight(
    sow: Animal, together: TimeTogether, limits: Limits, lightest: Lightest | None
) -> Iterator[Caution]:
    last = _last_weighing(sow, together)
    sources = _(
        "First mated from 350 to 450 g in stock kept for meat (researchanimaltraining.com 2021); "
        "your limit is %(grams)d g. It is the least, not a weight to aim at."
    ) % {"grams": limits.sow_mated_from_g}
    if last and last.weight_g < limits.sow_mated_from_g:
        yield Caution(
            "sow-light",
            SOW,
            _("%(sow)s weighed %(grams)d g on %(date)s: too light to carry a litter.")
            % {"sow": sow.full_name, "grams": last.weight_g, "date": _day(last)},
            sources,
            vet_decides(),
        )
    elif last and lightest and last.weight_g < lightest.grams:
        yield _light_for_age(sow, last, lightest, sources)
    age = sow.age_days(together.first)
    if not last and age is not None and age < limits.first_conception_latest_days:
        yield Caution(
            "sow-not-weighed",
            SOW,
            _("%(sow)s is young and has no weight on record. Weigh her first.")
            % {"sow": sow.full_name},
            sources,
            vet_decides(),
        )


def _light_for_age(sow: Animal, last: Weighing, lightest: Lightest, sources: str) -> Caution:
    said = {
        "sow": sow.full_name,
        "grams": last.weight_g,
        "date": _day(last),
        "least": round(lightest.grams),
        "usual": round(lightest.usual_g),
    }
    rests_on = _(
        "95%% of the sows of this herd weighed more than %(least)d g at her age that day "
        "(%(weighings)d weighings of %(sows)d sows, not counting sows in pig)."
    ) % {"least": said["least"], "weighings": lightest.weighings, "sows": lightest.sows}
    return Caution(
        "sow-light-for-age",
        SOW,
        _(
            "%(sow)s weighed %(grams)d g on %(date)s. The usual weight at her age in this herd is "
            "%(usual)d g: something may be wrong with her."
        )
        % said,
        f"{rests_on} {sources}",
        vet_decides(),
    )


def _rest(sow: Animal, together: TimeTogether, limits: Limits) -> Iterator[Caution]:
    born = next((litter.born for litter in sow.litters.all() if litter.born), None)
    if born is None:
        return
    days = (together.first - born.latest).days
    if 0 <= days < limits.sow_rests_days:
        yield Caution(
            "sow-lately-littered",
            SOW,
            ngettext(
                "%(sow)s littered on %(date)s, only %(days)d day before the boar goes in: she "
                "has not recovered.",
                "%(sow)s littered on %(date)s, only %(days)d days before the boar goes in: she "
                "has not recovered.",
                days,
            )
            % {"sow": sow.full_name, "date": born.words(), "days": days},
            _(
                "She can conceive within hours of littering, and 60 to 80%% of such matings took "
                "(researchanimaltraining.com 2021). There is no source for how long to rest her; "
                "your limit is %(days)d days."
            )
            % {"days": limits.sow_rests_days},
            vet_decides(),
        )


def _stays_on(together: TimeTogether) -> Iterator[Caution]:
    first, _last = together.due
    if together.last >= first:
        yield Caution(
            "boar-stays-on",
            SOW,
            _(
                "He would be with her until %(last)s, and she may litter from %(first)s. She can "
                "conceive again within hours, and would carry the next litter while she nurses "
                "this one. Take him out before she litters."
            )
            % {
                "last": date_format(together.last, "j F Y"),
                "first": date_format(first, "j F Y"),
            },
            _(
                "60 to 80%% of matings within hours of littering took (researchanimaltraining.com "
                "2021); a sow carries for at least %(days)d days."
            )
            % {"days": figures.GESTATION_SHORTEST_DAYS},
            vet_decides(),
        )


def _season(together: TimeTogether, limits: Limits) -> Iterator[Caution]:
    first, last = together.due
    # After a year the months come round again.
    days = (first + timedelta(days=day) for day in range(min((last - first).days, 366) + 1))
    hot = dict.fromkeys(day.month for day in days if limits.is_hot(day))
    if hot:
        yield Caution(
            "due-in-heat",
            SOW,
            _(
                "She may be due in %(months)s, the hottest time: a heavily pregnant sow does not "
                "cope well with heat."
            )
            % {"months": _(" and ").join(str(MONTHS[month]) for month in hot)},
            _(
                "Common practice, no source; you set the hottest months. In late pregnancy and "
                "the two weeks after, sows that are overweight, stressed or not eating are at "
                "risk of toxaemia."
            ),
            vet_decides(),
        )


def _gone(animal: Animal, about: str) -> Iterator[Caution]:
    if animal.state in (State.SOLD, State.DIED, State.PAPER):
        yield Caution(
            f"not-here:{animal.pk}",
            about,
            _("%(animal)s is not in the herd (%(state)s). This shows what the litter would be.")
            % {"animal": animal.full_name, "state": animal.get_state_display()},
            _("Your own records."),
            _("You decide."),
        )


def _last_weighing(animal: Animal, together: TimeTogether) -> Weighing | None:
    weighed = [one for one in animal.weighings.all() if one.on <= together.last]
    return weighed[-1] if weighed else None


def _day(weighing: Weighing) -> str:
    return date_format(weighing.on, "j F Y")
