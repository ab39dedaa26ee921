"""What a keeper sees when a form comes in with a stale or missing token: their form, still filled.

The typed values are shown and can be sent again with a fresh token, but only where the form came
from this very site: another site's form gets a plain refusal.
"""

from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

_NEVER_SHOWN = {"csrfmiddlewaretoken", "password"}


def _from_here(request: HttpRequest) -> bool:
    came_from = request.headers.get("Origin") or request.headers.get("Referer") or ""
    return urlsplit(came_from).netloc == request.get_host()


def form_again(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a failed token check with status 403 and the typed form, filled."""
    typed = []
    if _from_here(request):
        typed = [
            (name, value)
            for name, values in request.POST.lists()
            if name not in _NEVER_SHOWN
            for value in values
        ]
    context = {"typed": typed, "files_lost": bool(request.FILES), "address": request.path}
    return render(request, "form_again.html", context, status=403)
