"""The page after a form with a stale or missing token: the same form, still filled.

The typed values are shown and can be sent again with a new token, but only if the form came from
this very site: another site's form is refused.
"""

import re
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

# Sent along hidden, since they mean nothing to a keeper.
_UNSEEN = re.compile(r"^(.*-)?(submission_key|(litter_)?version|kept_photo|next|[A-Z]+_FORMS)$")


@dataclass(frozen=True)
class Typed:
    """One value that was typed: its field's name as sent, and as a keeper reads it."""

    name: str
    value: str

    @property
    def words(self) -> str:
        return re.sub(r"[_-]+", " ", self.name).strip().capitalize()

    @property
    def shown(self) -> bool:
        return bool(self.value) and not _UNSEEN.match(self.name)


def form_again(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a failed token check with status 403 and the typed form, filled."""
    typed = _typed(request) if _from_here(request) else []
    secret_lost = any("password" in name.lower() for name in request.POST)
    context = {
        "typed": typed,
        "files_lost": bool(request.FILES),
        "secret_lost": secret_lost,
        "address": request.get_full_path(),
    }
    return render(request, "form_again.html", context, status=403)


def _typed(request: HttpRequest) -> list[Typed]:
    """All values but the spent token and passwords, which are never sent back to a page."""
    return [
        Typed(name, value)
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken" and "password" not in name.lower()
        for value in values
    ]


def _from_here(request: HttpRequest) -> bool:
    came_from = request.headers.get("Origin") or request.headers.get("Referer") or ""
    parts = urlsplit(came_from)
    return (parts.scheme, parts.netloc) == (request.scheme, request.get_host())
