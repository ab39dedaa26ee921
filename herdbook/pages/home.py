"""The first page: what a breeder needs in the morning."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from .who import herd_of


@login_required
def home(request: HttpRequest) -> HttpResponse:
    return render(request, "home.html", {"herd": herd_of(request)})


urls = [path("", home, name="home")]
