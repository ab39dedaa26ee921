"""Which boars a litter's page offers as sires, the likeliest first."""

from datetime import date, timedelta

from django.db.models import Max

from herdbook.book import limits
from herdbook.book.models import Animal, Herd


def boars_there(herd: Herd, *, born: date, dam: Animal | None = None) -> list[Animal]:
    """Boars that were in the herd when a litter born on this day was conceived.

    The boars of the dam's last litters stand first, then those used most lately in the herd, then
    the older before the younger.
    """
    conception = born - timedelta(days=limits.GESTATION_USUAL_DAYS)
    there = (
        Animal.objects.filter(herd=herd)
        .boars()
        .in_herd(on=conception)
        .select_related("litter")
        .annotate(last_used=Max("sired__litter__born"))
    )
    grown = [boar for boar in there if _may_sire(boar, conception)]
    by_age = sorted(grown, key=lambda boar: str(boar.born or ""))
    by_use = sorted(by_age, key=lambda boar: str(boar.last_used or ""), reverse=True)
    hers = _last_with(dam)
    return sorted(by_use, key=lambda boar: hers.get(boar.pk, ""), reverse=True)


def _may_sire(boar: Animal, on: date) -> bool:
    age = boar.age_days(on)
    return age is None or age >= limits.BOAR_OFFERED_FROM_DAYS


def _last_with(dam: Animal | None) -> dict[int, str]:
    """The last birth of a litter of this dam that each boar may have sired."""
    if dam is None:
        return {}
    last = dam.litters.values_list("sires__boar").annotate(born=Max("born"))
    return {boar: str(born or "") for boar, born in last if boar}
