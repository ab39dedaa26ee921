"""What was said of a herd's animals, and what came true."""

from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from genetics.calibration.scores import ENOUGH, score_of
from genetics.core import Band
from genetics.figures.refresh import ensure_current

from ..common.access import herd_of
from ..common.formatting import chance, rounded


@dataclass(frozen=True)
class BandRow:
    """Chances of one size, in words."""

    said: str
    times: int
    mean: str
    came_true: str


@require_safe
@login_required
def show_what_came_true(request: HttpRequest) -> HttpResponse:
    """Every figure that was ever said of the herd's own animals, against what is proved since."""
    standing = ensure_current()
    score = score_of(herd_of(request))
    context = {
        "standing": standing,
        "score": score,
        "enough": ENOUGH,
        "rows": [band_row(band) for band in score.bands],
    }
    if score.brier is not None and score.expected is not None and score.error is not None:
        context |= {
            "brier": rounded(score.brier, 3),
            "expected": rounded(score.expected, 3),
            "room": rounded(2 * score.error, 3),
        }
    return render(request, "came_true.html", context)


def band_row(band: Band) -> BandRow:
    """One row of the table; where it rests on too few chances it says so."""
    words = {"low": chance(band.low), "high": chance(band.high)}
    if band.said < ENOUGH:
        came_true = _("too few to tell")
    else:
        words_true = {"share": chance(band.came_true), "error": chance(2 * band.error)}
        came_true = _("%(share)s ± %(error)s") % words_true
    return BandRow(_("%(low)s to %(high)s") % words, band.said, chance(band.mean), came_true)


urls = [path("came-true/", show_what_came_true, name="came-true")]
