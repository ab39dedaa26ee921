"""The glossary as a page."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from .glossary import by_name


@require_safe
@login_required
def show_glossary(request: HttpRequest) -> HttpResponse:
    """Every term in alphabetical order."""
    return render(request, "help/glossary.html", {"terms": by_name()})
