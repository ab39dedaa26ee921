"""Are litters coming out as expected? The herd's own litters against Mendel's law."""

import math
from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_safe

from genetics.calibration.segregation import CARRIER, POINTS, SHOWS, Cross, crosses_of
from genetics.core import Fit

from ..common.access import herd_of
from ..common.formatting import chance, rounded
from ..common.gene_names import CARRIED

# Below so many pups nothing is said; one in twenty is called unlikely (both common practice).
FEWEST_PUPS = 5
UNLIKELY = 0.05

_GENES = {**CARRIED, "points": gettext_lazy("points"), "extension": gettext_lazy("red series")}
_CLASSES = {
    "self": gettext_lazy("self"),
    "marked": gettext_lazy("clean marked"),
    "overmarked": gettext_lazy("overmarked"),
    "no red series": gettext_lazy("dark"),
    "red series": gettext_lazy("red series"),
    "no roan": gettext_lazy("not roan"),
    "roan": gettext_lazy("roan"),
}


@dataclass(frozen=True)
class Count:
    """'clean marked', 12, '6.5': how many of a class, and how many were expected."""

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
    verdict: str
    doubtful: bool
    #: The figures behind the verdict, as a sentence of their own.
    figures: str
    #: Why the counts are no fair sample, where they are not.
    sample: str


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
        verdict=_verdict(cross),
        doubtful=found.cannot_be or (_is_far_off(found) and cross.gene != POINTS),
        figures=_figures(found),
        sample=_sample(cross),
    )


def _is_far_off(found: Fit) -> bool:
    return sum(found.counts) >= FEWEST_PUPS and found.p < UNLIKELY


def _parents(cross: Cross) -> str:
    words = {SHOWS: _GENES[cross.gene], CARRIER: _("carrier")}
    first, second = (
        str(words.get(parent) or _CLASSES.get(parent, parent)) for parent in cross.parents
    )
    return _("%(first)s to %(second)s") % {"first": first, "second": second}


def _class(cross: Cross, name: str) -> str:
    if name in _CLASSES:
        return str(_CLASSES[name])
    what = str(CARRIED[cross.gene])
    return _("not %(what)s") % {"what": what} if name == cross.classes[0] else what


def _verdict(cross: Cross) -> str:
    found = cross.fit
    if found.cannot_be:
        return _("Impossible if every record is right. Check them.")
    if sum(found.counts) < FEWEST_PUPS:
        return _("Too few pups to tell.")
    if math.isnan(found.p) or not found.degrees:
        return _("As expected: these parents can give nothing else.")
    if not _is_far_off(found):
        return _("As expected.")
    if cross.gene == POINTS:
        return _(
            "More than chance would usually explain. Pups sold or lost before they were grown are "
            "not counted, which may be the whole reason."
        )
    return _("Not as expected: more than chance would usually explain.")


def _figures(found: Fit) -> str:
    """Such as 'Chance alone gives this or worse in 57%; chi-square 1.13, 2 degrees of freedom'."""
    if found.cannot_be or not found.degrees or sum(found.counts) < FEWEST_PUPS:
        return ""
    said = []
    if not math.isnan(found.p_exact):
        words = _("Chance alone gives this or worse in %(chance)s of such counts")
        said.append(words % {"chance": chance(found.p_exact)})
    if not math.isnan(found.p_chi_square):
        words = ngettext(
            "chi-square %(value)s, %(degrees)d degree of freedom, %(chance)s",
            "chi-square %(value)s, %(degrees)d degrees of freedom, %(chance)s",
            found.degrees,
        )
        told = {
            "value": rounded(found.chi_square, 2),
            "degrees": found.degrees,
            "chance": chance(found.p_chi_square),
        }
        said.append(words % told)
    return capfirst("; ".join(said)) + "." if said else ""


def _sample(cross: Cross) -> str:
    if cross.gene == POINTS and not _is_far_off(cross.fit):
        return _("Pups sold or lost before they were grown are not counted.")
    if not cross.picked:
        return ""
    if math.isnan(cross.fit.share):
        return _("These families are listed because a pup showed it; this is allowed for.")
    words = _(
        "These families are listed because a pup showed it; allowing for that, %(share)s of the "
        "pups show it."
    )
    return words % {"share": chance(cross.fit.share)}


urls = [path("as-expected/", show_as_expected, name="as-expected")]
