"""Does it breed as expected? The herd's own litters beside Mendel, cross by cross."""

import math
from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from genetics.core.segregation import Fit
from genetics.segregation import CARRIER, POINTS, SHOWS, Cross, crosses_of

from .gene_words import CARRIED
from .who import herd_of
from .wording import chance, rounded

# Below so many pups nothing is said; one in twenty is called unlikely (both common practice).
FEWEST_PUPS = 5
UNLIKELY = 0.05

_GENES = {**CARRIED, "points": gettext_lazy("points"), "extension": gettext_lazy("red series")}
_CLASSES = {
    "self": gettext_lazy("self"),
    "marked": gettext_lazy("marked"),
    "overmarked": gettext_lazy("overmarked"),
    "no red series": gettext_lazy("dark"),
    "red series": gettext_lazy("red series"),
    "no roan": gettext_lazy("not roan"),
    "roan": gettext_lazy("roan"),
}


@dataclass(frozen=True)
class Count:
    """'marked', 12, '6.5': how many of a class, and how many were expected."""

    what: str
    seen: int
    expected: str


@dataclass(frozen=True)
class CrossRow:
    """One kind of mating in words."""

    gene: str
    parents: str
    matings: int
    counts: list[Count]
    chance: str
    chi_square: str
    missing_young: bool
    picked: bool
    share: str
    verdict: str
    doubtful: bool


@require_safe
@login_required
def show_as_expected(request: HttpRequest) -> HttpResponse:
    """Each kind of mating of the herd with its counts, what was expected, and a sentence."""
    crosses = crosses_of(herd_of(request))
    rows = None if crosses is None else [_row(cross) for cross in crosses]
    return render(request, "as_expected.html", {"rows": rows, "fewest": FEWEST_PUPS})


def _row(cross: Cross) -> CrossRow:
    found = cross.fit
    said = zip(cross.classes, found.counts, found.expected, strict=True)
    shown = [one for one in said if one[1] or one[2]]
    return CrossRow(
        gene=str(_GENES[cross.gene]),
        parents=_parents(cross),
        matings=cross.matings,
        counts=[Count(_class(cross, name), seen, rounded(due, 1)) for name, seen, due in shown],
        chance="" if math.isnan(found.p) else chance(found.p),
        chi_square=_chi_square(found),
        missing_young=cross.gene == POINTS,
        picked=cross.picked,
        share="" if math.isnan(found.share) else chance(found.share),
        verdict=_verdict(found),
        doubtful=found.cannot_be or (sum(found.counts) >= FEWEST_PUPS and found.p < UNLIKELY),
    )


def _parents(cross: Cross) -> str:
    words = {SHOWS: _("shows it"), CARRIER: _("carries it")}
    first, second = (
        str(words.get(parent) or _CLASSES.get(parent, parent)) for parent in cross.parents
    )
    return _("%(first)s to %(second)s") % {"first": first, "second": second}


def _class(cross: Cross, name: str) -> str:
    if name in _CLASSES:
        return str(_CLASSES[name])
    what = str(CARRIED[cross.gene])
    return _("not %(what)s") % {"what": what} if name == cross.classes[0] else what


def _chi_square(found: Fit) -> str:
    """'chi-square 1.13, 2 free, 57%'; '' where nothing is free to differ."""
    if found.cannot_be or math.isnan(found.p_chi_square):
        return ""
    return _("chi-square %(value)s, %(degrees)d free, %(chance)s") % {
        "value": rounded(found.chi_square, 2),
        "degrees": found.degrees,
        "chance": chance(found.p_chi_square),
    }


def _verdict(found: Fit) -> str:
    if found.cannot_be:
        return _("This cannot be, if every record is right: look at them again.")
    if sum(found.counts) < FEWEST_PUPS:
        return _("Too few pups to say.")
    if math.isnan(found.p):
        return _("Nothing in it could have come out otherwise.")
    if found.p < UNLIKELY:
        return _("Not as expected: by chance alone it comes out so far off in %(chance)s.") % {
            "chance": chance(found.p)
        }
    return _("As expected, as far as so many pups can tell.")


urls = [path("as-expected/", show_as_expected, name="as-expected")]
