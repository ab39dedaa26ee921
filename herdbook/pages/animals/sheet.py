"""The pedigree sheet of an animal: to print from the browser, and as PDF."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from genetics.figures.refresh import ensure_current
from herdbook.book.models import Animal
from herdbook.papers.build_sheet import sheet_of
from herdbook.papers.exceptions import PrintingError
from herdbook.papers.pedigree_sheet import pedigree_sheet_pdf
from herdbook.papers.sheet import Sheet

from ..common.access import own_or_404


@require_safe
@login_required
def show_sheet(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """The sheet as a page, made to be printed from the browser."""
    animal, sheet = _sheet(request, public_id)
    return render(request, "papers/pedigree_sheet.html", {"animal": animal, "sheet": sheet})


@require_safe
@login_required
def show_sheet_pdf(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """The sheet as PDF; a character that cannot be printed is named on a page of its own."""
    animal, sheet = _sheet(request, public_id)
    try:
        pdf = pedigree_sheet_pdf(sheet)
    except PrintingError as error:
        context = {"animal": animal, "why": str(error)}
        return render(request, "animals/sheet_not_printed.html", context, status=422)
    name = slugify(sheet.name) or "animal"
    headers = {"Content-Disposition": f'inline; filename="{name}-pedigree.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _sheet(request: HttpRequest, public_id: UUID) -> tuple[Animal, Sheet]:
    ensure_current()
    animals = Animal.objects.with_parents().select_related("figure")
    animal = own_or_404(request, animals, public_id)
    return animal, sheet_of(animal, today=timezone.localdate())
