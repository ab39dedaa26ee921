"""One litter's page: its parents, dates and pups, and what was changed."""

from dataclasses import dataclass
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from genetics.figures.refresh import ensure_current
from genetics.snapshot.reading import counts_left_out
from herdbook.book.models import Animal, Litter, Look, Weighing
from herdbook.book.models.litter import Source
from herdbook.book.rules.counts import without_a_line

from ..common.access import own_or_404
from ..common.formatting import chance, dose_name, likeliest_dose
from ..common.identification import told_apart
from ..common.sires import sire_lines
from ..history import changes_of_litter
from .counts import counts_of

# A dose less likely than this is not named in the table; the pup's own page says it.
NAMED_FROM = 0.05


@dataclass(frozen=True)
class PupRow:
    """A pup with what was seen of it last."""

    pup: Animal
    look: Look | None
    weighing: Weighing | None
    #: How it is told from its littermates, in words.
    told_apart: str

    @property
    def doses(self) -> str:
        """Every dose that the pup may well have with its chance: 'self 50%, clean marked 50%', and
        what that may be off by where it is not exact."""
        figure = getattr(self.pup, "figure", None)
        if figure is None or figure.chances is None:
            return likeliest_dose(figure)
        likely = [(dose, share) for dose, share in enumerate(figure.chances) if share >= NAMED_FROM]
        said = ", ".join(f"{dose_name(dose)} {chance(share)}" for dose, share in likely)
        if not figure.error:
            return said
        words = {"doses": said, "error": chance(figure.error)}
        return _("about %(doses)s, give or take %(error)s") % words


@require_safe
@login_required
def show_litter(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """All that the book knows of a litter."""
    standing = ensure_current()
    litter = own_or_404(request, Litter.objects.with_family(), public_id)
    born_at_home = litter.source == Source.HOME
    ours = Litter.objects.kept_as_born_here().filter(pk=litter.pk)
    context = {
        "litter": litter,
        "born_at_home": born_at_home,
        "may_be_completed": not born_at_home and ours.exists(),
        "standing": standing,
        "sires": sire_lines(litter),
        "rows": _rows(litter),
        "counts": counts_of(litter),
        "counts_left_out": counts_left_out(litter),
        "without_a_line": without_a_line(litter),
        "changes": changes_of_litter(litter),
    }
    return render(request, "litters/litter.html", context)


def _rows(litter: Litter) -> list[PupRow]:
    pups = litter.pups.select_related("litter", "figure").order_by("pk")
    rows = []
    for pup in pups.prefetch_related("looks", "weighings"):
        looks, weighings = list(pup.looks.all()), list(pup.weighings.all())
        last_look, last_weighing = (seen[-1] if seen else None for seen in (looks, weighings))
        rows.append(PupRow(pup, last_look, last_weighing, told_apart(pup, timezone.localdate())))
    return rows
