"""What your own records show: the gene's share and the ages of points, fitted to the book."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from genetics.calibration import parameter_fits
from genetics.core import Milestone, Parameters
from genetics.figures.refresh import engine_mark, ensure_current
from genetics.models import Fit, FitUse
from genetics.snapshot.kept import book_revision
from genetics.snapshot.parameters import CurrentParameters, current_parameters
from herdbook.book.models import Animal

from ..common.access import herd_of
from ..common.formatting import chance, rounded

MOST_USES = 20


@dataclass(frozen=True)
class Line:
    """One parameter in words: what it is, now, by the table, fitted, and what that rests on."""

    what: str
    now: str
    fitted: str
    error: str
    rests_on: str


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def show_what_was_taught(request: HttpRequest) -> HttpResponse:
    """What the book says of its own points: worked out, looked at, used, and put back."""
    herd = herd_of(request)
    if request.method == "POST":
        return _do(request)
    newest = Fit.objects.select_related("user").first()
    current = current_parameters()
    context = {
        "herd": herd,
        "may_use": parameter_fits.may_use(request.user),
        "contradiction": any(
            trouble["kind"] == "pedigree" for trouble in ensure_current().troubles
        ),
        "job": parameter_fits.under_way(),
        "in_use": parameter_fits.in_use(),
        "fit": newest,
        "uses": FitUse.objects.select_related("fit", "user")[:MOST_USES],
    }
    if newest is not None:
        context |= {
            "lines": fit_lines(newest, current.parameters),
            "is_used": current.fit == newest.pk,
            "is_old": newest.revision != book_revision(),
            "is_otherwise": newest.engine != engine_mark(),
            "moves": moves(newest, request.user) if _stands(newest, current) else "",
        }
    return render(request, "taught.html", context)


def fit_lines(fit: Fit, now: Parameters) -> list[Line]:
    """The parameters of a fit, beside what figures are made with now."""
    milestones = {(one.dose, one.stage): one for one in now.curves.milestones}
    return [
        _frequency_line(row, now.frequency)
        if row["dose"] is None
        else _age_line(row, milestones[row["dose"], row["stage"]])
        for row in fit.lines
    ]


def moves(fit: Fit, user) -> str:
    """How many doses the fit would have moved when it was made, and by how much at most."""
    effect = fit.effect
    if not effect["moved"]:
        return _("No dose would change by more than 1 percentage point.")
    words = {"n": effect["moved"], "most": rounded(100 * effect["most"], 0)}
    says = ngettext(
        "The dose of %(n)d animal would change by more than 1 percentage point, by %(most)s at "
        "most",
        "The doses of %(n)d animals would change by more than 1 percentage point, by %(most)s at "
        "most",
        effect["moved"],
    )
    animal = Animal.objects.for_user(user).filter(pk=effect["animal"]).first()
    if animal is None:
        return _("%(says)s.") % {"says": says % words}
    return _("%(says)s (%(animal)s).") % {"says": says % words, "animal": animal.label}


def _stands(fit: Fit, current: CurrentParameters) -> bool:
    """Whether what the fit would move is still against what is in force."""
    return fit.effect["against"] == current.fit


def _frequency_line(row: dict, now: float) -> Line:
    error = "" if row["error"] is None else f"{rounded(100 * row['error'], 1)}%"
    rests_on = ngettext(
        "%(n)d founder or unknown parent", "%(n)d founders and unknown parents", row["rests_on"]
    )
    return Line(
        _("Share of the points gene among founders"),
        chance(now),
        chance(row["fitted"]),
        error,
        rests_on % {"n": row["rests_on"]},
    )


def _age_line(row: dict, now: Milestone) -> Line:
    """A median, or the ages between which two of three fall; a fit from before spreads were
    learned has medians alone."""
    error = "" if row["error"] is None else _days(row["error"])
    rests_on = ngettext("%(n)d check", "%(n)d checks", row["rests_on"]) % {"n": row["rests_on"]}
    if row.get("measure") == "spread":
        what = _usually(now.dose, now.stage)
        return Line(what, _between(now.usual_days), _between(row["fitted"]), error, rests_on)
    what = _half(now.dose, now.stage)
    return Line(what, _days(now.median_days), _days(row["fitted"]), error, rests_on)


def _half(dose: int, stage: str) -> str:
    names = {
        (1, "coming"): _("Clean marked: half show points by"),
        (1, "full"): _("Clean marked: half are full by"),
        (2, "coming"): _("Overmarked: half show points by"),
        (2, "full"): _("Overmarked: half are full by"),
        (2, "overmarked"): _("Overmarked: half are overmarked by"),
    }
    return names[dose, stage]


def _usually(dose: int, stage: str) -> str:
    names = {
        (1, "coming"): _("Clean marked: two in three begin to show points at"),
        (1, "full"): _("Clean marked: two in three come full at"),
        (2, "coming"): _("Overmarked: two in three begin to show points at"),
        (2, "full"): _("Overmarked: two in three come full at"),
        (2, "overmarked"): _("Overmarked: two in three become overmarked at"),
    }
    return names[dose, stage]


def _days(days: float) -> str:
    return _("%(days)s days") % {"days": rounded(days, 1)}


def _between(days: Sequence[float]) -> str:
    first, last = days
    return _("%(first)s to %(last)s days") % {"first": rounded(first, 0), "last": rounded(last, 0)}


def _do(request: HttpRequest) -> HttpResponse:
    """Work it out, use it, or go back; only an owner may."""
    if not parameter_fits.may_use(request.user):
        raise PermissionDenied(
            _(
                "Only the owner of a herd can change what doses are worked out with. Ask one of "
                "them."
            )
        )
    wanted = request.POST.get("do", "")
    if wanted == "learn":
        parameter_fits.start(request.user)
    elif wanted == "use":
        used = parameter_fits.use(_fit_named(request.POST.get("fit", "")), request.user)
        _say(request, used, _("In use. Doses are being recalculated."))
    elif wanted == "back":
        used = parameter_fits.put_back(request.POST.get("seen", ""), request.user)
        _say(request, used, _("Restored. Doses are being recalculated."))
    return redirect("taught")


def _say(request: HttpRequest, used: FitUse | None, words: str) -> None:
    """Say what came of a tap; of a second one, or of one on an old page, nothing does."""
    if used is None:
        messages.info(request, _("Nothing was changed. What is used now is shown below."))
    else:
        messages.success(request, words)


def _fit_named(public_id: str) -> Fit:
    """The fit that a form names; raises Http404 where there is none."""
    try:
        return get_object_or_404(Fit, public_id=UUID(public_id))
    except ValueError as error:
        raise Http404 from error


urls = [path("taught/", show_what_was_taught, name="taught")]
