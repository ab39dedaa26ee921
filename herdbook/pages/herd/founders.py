"""The founders of a herd, and which are about to be lost."""

from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from genetics.core import PedigreeError
from genetics.figures.refresh import ensure_current
from genetics.herd.founders import DRAWS, FOLLOWED_FROM, Founder, Keeper, lines_of
from herdbook.book.models import Animal, Herd, Litter

from ..common.access import herd_of

MOST_SHOWN = 3


@dataclass(frozen=True)
class Line:
    """One founder as a row of the page: its name and address, who keeps it, and what is left."""

    name: str
    address: str
    founder: Founder
    keepers: tuple[Keeper, ...]
    more: int

    @property
    def is_its_own(self) -> bool:
        """Whether the founder lives and no other animal of the herd has any of its genes."""
        keepers = self.founder.keepers
        return len(keepers) == 1 and keepers[0].animal == self.founder.animal


@require_safe
@login_required
def show_lines(request: HttpRequest) -> HttpResponse:
    """The founders of a herd and their effective number."""
    herd, standing = herd_of(request), ensure_current()
    try:
        found = lines_of(herd, timezone.localdate())
    except PedigreeError as fault:
        return render(request, "lines.html", {"fault": str(fault), "standing": standing})
    context = {
        "found": found,
        "draws": DRAWS,
        "followed_from": FOLLOWED_FROM,
        "standing": standing,
    }
    if found is not None:
        context["lines"] = [_line(founder, herd) for founder in found.founders]
        context["about_to_go"] = [_line(founder, herd) for founder in found.about_to_go]
    return render(request, "lines.html", context)


def _line(founder: Founder, herd: Herd) -> Line:
    shown = founder.keepers[:MOST_SHOWN]
    more = len(founder.keepers) - len(shown)
    if founder.animal is not None:
        return Line(founder.animal.full_name, _address(founder.animal, herd), founder, shown, more)
    names = [pup.full_name for pup in founder.pups[:MOST_SHOWN]]
    if len(founder.pups) > MOST_SHOWN:
        names.append("…")
    name = (
        _("unknown sire of %(pups)s") if founder.unknown == "sire" else _("unknown dam of %(pups)s")
    ) % {"pups": ", ".join(names)}
    return Line(name, _address(founder.pups[0].litter, herd), founder, shown, more)


def _address(row: Animal | Litter, herd: Herd) -> str:
    """Where a row of this herd is shown; another herd's has no page here."""
    return row.get_absolute_url() if row.herd_id == herd.pk else ""


urls = [path("lines/", show_lines, name="lines")]
