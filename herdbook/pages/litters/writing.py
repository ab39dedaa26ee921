"""Pages that write a litter: at birth, put right later, a pup that was overlooked."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import ngettext

from herdbook.book.desk.litters import add_pups, correct_litter, record_litter
from herdbook.book.models import Animal, Litter
from herdbook.book.models.litter import Source

from ..desk_form import public_id_of, say_saved, submit
from ..who import herd_of, own_or_404
from .forms import LitterForm, MorePupsForm, NewLitterForm, with_more_lines

HOME_LITTERS = Litter.objects.filter(source=Source.HOME)


@login_required
def record(request: HttpRequest) -> HttpResponse:
    """A litter at birth: one page, one save."""
    herd, today = herd_of(request), timezone.localdate()
    dam = None
    if "dam" in request.GET:
        dam = own_or_404(request, Animal.objects.all(), _public_id(request.GET["dam"]))
    form = NewLitterForm(*_sent(request), herd=herd, dam=dam, today=today, **_more(request))
    if form.is_valid():
        written = submit(
            request,
            form,
            record_litter,
            herd=herd,
            entry=form.entry(),
            today=today,
            answered=form.answered,
        )
        if written:
            return _to_litter(request, written)
    return render(request, "litters/record.html", {"form": form, "dam": dam})


@login_required
def correct(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """A litter's own facts put right, for all its pups at once."""
    litter = own_or_404(request, Litter.objects.kept_as_born_here().with_family(), public_id)
    today = timezone.localdate()
    form = LitterForm(request.POST or None, herd=litter.herd, litter=litter, today=today)
    if form.is_valid():
        written = submit(
            request,
            form,
            correct_litter,
            litter=litter,
            entry=form.entry(),
            version=form.opened_on,
            today=today,
            answered=form.answered,
        )
        if written:
            say_saved(request)
            return redirect("litter", public_id_of(written))
    taken_in = litter.source == Source.PAPER
    context = {"form": form, "litter": litter, "taken_in": taken_in}
    return render(request, "litters/correct.html", context)


@login_required
def add(request: HttpRequest, public_id: UUID) -> HttpResponse:
    """Pups that were overlooked when the litter was written."""
    litter = own_or_404(request, HOME_LITTERS.with_family(), public_id)
    form = MorePupsForm(*_sent(request), litter=litter, **_more(request))
    if form.is_valid():
        written = submit(
            request,
            form,
            add_pups,
            litter=litter,
            pups=form.entries,
            counted=form.counted,
            version=form.opened_on,
            today=timezone.localdate(),
            answered=form.answered,
        )
        if written:
            return _to_litter(request, written)
    return render(request, "litters/add.html", {"form": form, "litter": litter})


def _sent(request: HttpRequest) -> tuple:
    """The form's data and files where it was sent to be judged."""
    if request.method != "POST" or "more" in request.POST:
        return (None,)
    return (request.POST,)


def _more(request: HttpRequest) -> dict[str, Any]:
    """What else the form takes: its files, or the typed values where more lines were wanted."""
    if request.method == "POST" and "more" in request.POST:
        return with_more_lines(request.POST)
    return {"files": request.FILES or None}


def _to_litter(request: HttpRequest, written) -> HttpResponse:
    litter = own_or_404(request, Litter.objects.all(), public_id_of(written))
    count = litter.pups.count()
    words = ngettext(
        "Saved: a litter of %(count)d pup in the book.",
        "Saved: a litter of %(count)d pups in the book.",
        count,
    )
    messages.success(request, words % {"count": count})
    return redirect("litter", litter.public_id)


def _public_id(text: str) -> UUID | None:
    """The id in an address; one that is none at all finds no row."""
    try:
        return UUID(text)
    except ValueError:
        return None
