"""The page of the herd itself: what sheets say of it, and the prefix that pups are given."""

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext_lazy as _

from herdbook.book.desk.herds import describe_herd

from .desk_form import DeskForm, say_saved, submit
from .who import herd_of

COLUMNS = ("name", "stud_prefix", "keeper", "address")


class HerdForm(DeskForm):
    """A herd's own facts."""

    name = forms.CharField(label=_("Name of the herd"), max_length=80)
    stud_prefix = forms.CharField(
        label=_("Stud prefix"),
        max_length=40,
        required=False,
        help_text=_("Goes before the names of pups born from now on."),
    )
    keeper = forms.CharField(
        label=_("Keeper"),
        max_length=80,
        required=False,
        help_text=_("Stands on sheets as the seller, and as breeder of pups born here."),
    )
    address = forms.CharField(
        label=_("Address or contact on sheets"), max_length=200, required=False
    )


@login_required
def describe(request: HttpRequest) -> HttpResponse:
    """Say whose herd this is."""
    herd = herd_of(request)
    initial = {"version": herd.version, **{name: getattr(herd, name) for name in COLUMNS}}
    form = HerdForm(request.POST or None, initial=initial)
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in COLUMNS}
        written = submit(
            request,
            form,
            describe_herd,
            herd=herd,
            values=values,
            version=form.opened_on,
        )
        if written:
            say_saved(request)
            return redirect("home")
    return render(request, "herd.html", {"form": form})


urls = [path("herd/", describe, name="herd")]
