"""The list of animals: sorted, filtered, searched as you type."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from genetics.figures.refresh import ensure_current
from herdbook.book.models import Animal

from ..common.access import herd_of
from .filters import ANYWHERE, AnimalFilter, with_birth_day
from .tables import AnimalTable

A_PAGE = 100


@require_safe
@login_required
def list_animals(request: HttpRequest) -> HttpResponse:
    """A page of the list; for htmx only the found ones and their count."""
    herd = herd_of(request)
    standing = ensure_current()
    animals = with_birth_day(Animal.objects.filter(herd=herd)).select_related("litter", "figure")
    chosen = AnimalFilter(request.GET, queryset=animals)
    # Where all are in one place, saying so in each row is no use.
    everywhere = chosen.data["state"] == ANYWHERE
    table = AnimalTable(chosen.qs, exclude=() if everywhere else ("state",))
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    found = table.paginator.count
    context = {
        "filter": chosen,
        "table": table,
        "found": found,
        "elsewhere": _everywhere(request, animals) - found if request.GET.get("words") else 0,
        "standing": standing,
    }
    partly = request.htmx and not request.htmx.history_restore_request
    response = render(request, "animals/found.html" if partly else "animals/list.html", context)
    patch_vary_headers(response, ["HX-Request"])
    return response


def _everywhere(request: HttpRequest, animals) -> int:
    """How many would be found wherever they are."""
    asked = request.GET.copy()
    asked["state"] = ANYWHERE
    return AnimalFilter(asked, queryset=animals).qs.count()
