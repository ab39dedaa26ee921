"""Pages for judgements: an animal found good enough to show, or a pet; put right, taken out."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from herdbook.book.desk.judgements import correct_judgement, record_judgement
from herdbook.book.models import Animal, Judgement

from ..desk_form import say_saved, submit
from ..who import own_or_404
from .forms import JudgementForm
from .removing import remove_row


@login_required
def record(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Write what a person makes of an animal."""
    animal = own_or_404(request, Animal.objects.with_parents(), public_id)
    today = timezone.localdate()
    form = JudgementForm(request.POST or None, initial={"on": today, "by": animal.herd.keeper})
    if form.is_valid():
        written = submit(
            request,
            form,
            record_judgement,
            herd=animal.herd,
            entry=form.entry(animal),
            today=today,
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", animal.public_id)
    return render(request, "observations/judgement.html", {"form": form, "animal": animal})


@login_required
def correct(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Put a judgement right; what was written before stays in history."""
    judgements = Judgement.objects.select_related("animal__litter", "herd")
    judgement = own_or_404(request, judgements, public_id)
    animal = judgement.animal
    names = ("on", "verdict", "by", "remarks", "version")
    initial = {name: getattr(judgement, name) for name in names}
    form = JudgementForm(request.POST or None, initial=initial)
    if form.is_valid():
        written = submit(
            request,
            form,
            correct_judgement,
            judgement=judgement,
            entry=form.entry(animal),
            version=form.opened_on,
            today=timezone.localdate(),
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("animal", animal.public_id)
    context = {"form": form, "animal": animal, "judgement": judgement}
    return render(request, "observations/judgement.html", context)


@login_required
def remove(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Take out a judgement that never was."""
    return remove_row(request, Judgement, public_id)
