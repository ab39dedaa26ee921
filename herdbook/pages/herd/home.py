"""The first page: what a breeder needs in the morning."""

from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from itertools import groupby
from operator import attrgetter

from django.contrib.auth.decorators import login_required
from django.db.models import Max, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from genetics.figures.refresh import ensure_current
from genetics.models import Figure
from herdbook.book.models import Animal, Herd, Litter
from herdbook.book.models.animal import RED_SERIES, Sex, State

from ..animals.filters import settled, with_birth_day
from ..common.access import herd_of

NEWEST = 5

# Points come in from about three weeks on and are full at five months at the latest; a check every
# fortnight follows them closely enough (common practice, no source).
CHECK_FROM_DAYS = 21
CHECK_TO_DAYS = 152
CHECK_EVERY_DAYS = 14


@require_safe
@login_required
def home(request: HttpRequest) -> HttpResponse:
    """The herd in numbers, its newest litters, and the pups to check this week."""
    herd = herd_of(request)
    standing = ensure_current()
    context = {
        "herd": herd,
        "standing": standing,
        "contradicting": Figure.objects.filter(
            animal__herd=herd, method=Figure.Method.IMPOSSIBLE
        ).count(),
        "no_pedigree": any(trouble["kind"] == "pedigree" for trouble in standing.troubles),
        "is_empty": not Animal.objects.filter(herd=herd).exists(),
        "litters": newest_litters(herd),
        "to_check": by_litter(pups_to_check(herd, timezone.localdate())),
        **counts(herd),
    }
    return render(request, "home.html", context)


def counts(herd: Herd) -> dict[str, int]:
    """How many boars, sows and unsexed pups are in the herd."""
    sexes = Animal.objects.filter(herd=herd, state=State.IN_HERD).values_list("sex", flat=True)
    count = Counter(sexes)
    return {"boars": count[Sex.BOAR], "sows": count[Sex.SOW], "unsexed": count[Sex.UNKNOWN]}


def newest_litters(herd: Herd) -> QuerySet:
    """The litters born last."""
    known = Litter.objects.filter(herd=herd).of_known_parents().exclude(born=None)
    return known.with_family()[:NEWEST]


def pups_to_check(herd: Herd, today: date) -> QuerySet:
    """Pups in the herd whose points are coming in, unproved, with no check in two weeks."""
    born_after = (today - timedelta(days=CHECK_TO_DAYS)).isoformat()
    born_by = (today - timedelta(days=CHECK_FROM_DAYS)).isoformat()
    checked_before = today - timedelta(days=CHECK_EVERY_DAYS)
    pups = with_birth_day(
        Animal.objects.filter(herd=herd, state=State.IN_HERD, coat__in=RED_SERIES)
    ).filter(born_about__gte=born_after, born_about__lte=born_by)
    return (
        pups.exclude(settled())
        .annotate(last_look=Max("looks__on"))
        .filter(Q(last_look=None) | Q(last_look__lt=checked_before))
        .select_related("litter__dam")
        .order_by("litter__born", "litter", "pk")
    )


def by_litter(pups: Iterable[Animal]) -> list[tuple[Litter, list[Animal]]]:
    """Pups with their litter, as a breeder goes from pen to pen."""
    return [(litter, list(own)) for litter, own in groupby(pups, key=attrgetter("litter"))]


urls = [path("", home, name="home")]
