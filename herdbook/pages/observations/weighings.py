"""Pages for one animal's weighings: written, put right, taken out."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from herdbook.book.desk.observations import correct_weighing, record_weighings
from herdbook.book.models import Animal, Weighing

from ..desk_form import say_saved, submit
from ..who import own_or_404
from .forms import WeighingForm
from .removing import remove_row


@login_required
def record(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Write what an animal weighed."""
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    today = timezone.localdate()
    form = WeighingForm(request.POST or None, initial={"on": today})
    if form.is_valid():
        written = submit(
            request,
            form,
            record_weighings,
            herd=animal.herd,
            entries=[form.entry(animal)],
            today=today,
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", animal.public_id)
    context = {"form": form, "animal": animal, "last": animal.weighings.last()}
    return render(request, "observations/weighing.html", context)


@login_required
def correct(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Put a weighing right; what was written before stays in history."""
    weighings = Weighing.objects.select_related("animal__litter", "herd")
    weighing = own_or_404(request, weighings, public_id)
    animal = weighing.animal
    names = ("on", "weight_g", "remarks", "version")
    initial = {name: getattr(weighing, name) for name in names}
    form = WeighingForm(request.POST or None, initial=initial)
    if form.is_valid():
        written = submit(
            request,
            form,
            correct_weighing,
            weighing=weighing,
            entry=form.entry(animal),
            version=form.opened_on,
            today=timezone.localdate(),
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", animal.public_id)
    context = {"form": form, "animal": animal, "weighing": weighing}
    return render(request, "observations/weighing.html", context)


@login_required
def remove(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Take out a weighing that never was."""
    return remove_row(request, Weighing, public_id)
