"""Taking out a weighing, a look or a judgement that never was: asked first, then done."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from herdbook.book.desk.observations import REMOVE, remove_observation
from herdbook.book.desk.writing import taken_before
from herdbook.book.models import ChangeSet, Judgement, Look, Weighing

from ..desk_form import DeskForm, submit
from ..who import herd_of, own_or_404


def remove_row(
    request: HttpRequest, model: type[Look] | type[Weighing] | type[Judgement], public_id: UUID
) -> HttpResponse:
    """Show what would go, and take it out when told to."""
    again = _done_before(request)
    if again:
        return redirect("animal", again.subject)
    rows = model.objects.select_related("animal__litter", "herd")
    row = own_or_404(request, rows, public_id)
    form = DeskForm(request.POST or None, initial={"version": row.version})
    if form.is_valid():
        done = submit(request, form, remove_observation, row=row, version=form.opened_on)
        if done:
            messages.success(request, _("Taken out."))
            return redirect("animal", row.animal.public_id)
    context = {"form": form, "animal": row.animal, "row": row, "kind": model._meta.model_name}
    return render(request, "observations/remove.html", context)


def _done_before(request: HttpRequest) -> ChangeSet | None:
    """The change-set of this very form, for a second tap: its row is gone already."""
    form = DeskForm(request.POST or None)
    if not form.is_valid():
        return None
    key = form.cleaned_data["submission_key"]
    return taken_before(request.user, herd_of(request), REMOVE, key)
