"""Pages that write an animal: bought or from paper, corrected, moved."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from herdbook.book.desk.animals import correct_animal, move_animal, record_animal
from herdbook.book.models import Animal

from ..desk_form import public_id_of, say_saved, submit
from ..who import herd_of, own_or_404
from .forms import AnimalForm, MoveForm


@login_required
def record(request: HttpRequest) -> HttpResponse:
    """Write down an animal that was not born here."""
    herd = herd_of(request)
    form = AnimalForm(
        request.POST or None,
        request.FILES or None,
        herd=herd,
        initial={"state": request.GET.get("state")} if "state" in request.GET else {},
    )
    if form.is_valid():
        written = submit(
            request,
            form,
            record_animal,
            herd=herd,
            entry=form.entry(),
            today=timezone.localdate(),
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", public_id_of(written))
    return render(request, "animals/record.html", {"form": form})


@login_required
def correct(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Put an animal's facts right; what was written before stays in its history."""
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    form = AnimalForm(request.POST or None, request.FILES or None, herd=animal.herd, animal=animal)
    if form.is_valid():
        written = submit(
            request,
            form,
            correct_animal,
            animal=animal,
            entry=form.entry(),
            version=form.opened_on,
            litter_version=form.litter_opened_on,
            today=timezone.localdate(),
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", public_id_of(written))
    return render(request, "animals/correct.html", {"form": form, "animal": animal})


@login_required
def move(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Write that an animal was sold or lent, died, or came back."""
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    today = timezone.localdate()
    initial = {"version": animal.version, "on": today.isoformat()}
    form = MoveForm(request.POST or None, animal=animal, initial=initial)
    if form.is_valid():
        written = submit(
            request,
            form,
            move_animal,
            animal=animal,
            state=form.cleaned_data["state"],
            on=form.cleaned_data["on"],
            went_to=form.cleaned_data["went_to"],
            version=form.opened_on,
            today=today,
        )
        if written:
            say_saved(request)
            return redirect("animal", public_id_of(written))
    return render(request, "animals/move.html", {"form": form, "animal": animal})
