"""Pages for one animal's looks at the points: written, put right, taken out."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from herdbook.book.desk.observations import correct_look, record_look
from herdbook.book.models import Animal, Look

from ..desk_form import say_saved, submit
from ..who import own_or_404
from .forms import COLUMNS, LookForm
from .removing import remove_row


@login_required
def record(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Write what an animal's points look like."""
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    today = timezone.localdate()
    form = LookForm(
        request.POST or None, request.FILES or None, herd=animal.herd, initial={"on": today}
    )
    if form.is_valid():
        written = submit(
            request,
            form,
            record_look,
            herd=animal.herd,
            entry=form.entry(animal),
            today=today,
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", animal.public_id)
    context = {"form": form, "animal": animal, "last": animal.looks.last()}
    return render(request, "observations/look.html", context)


@login_required
def correct(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Put a look right; what was written before stays in history."""
    looks = Look.objects.select_related("animal__litter", "herd", "photo")
    look = own_or_404(request, looks, public_id)
    animal = look.animal
    initial = {name: getattr(look, name) for name in ("on", "stage", "version", *COLUMNS)}
    form = LookForm(
        request.POST or None,
        request.FILES or None,
        herd=animal.herd,
        written=look,
        initial=initial,
    )
    if form.is_valid():
        written = submit(
            request,
            form,
            correct_look,
            look=look,
            entry=form.entry(animal),
            version=form.opened_on,
            today=timezone.localdate(),
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", animal.public_id)
    return render(request, "observations/look.html", {"form": form, "animal": animal, "look": look})


@login_required
def remove(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Take out a look that never was."""
    return remove_row(request, Look, public_id)
