"""The search box of the bar: one animal found is opened, several are listed."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from herdbook.book.models import Animal

from ..common.access import herd_of
from ..common.fields import find_animals
from .filters import ANYWHERE


@require_safe
@login_required
def find_animal(request: HttpRequest) -> HttpResponse:
    """To the animal with this name, number or tag, or to the list of all that fit."""
    words = request.GET.get("words", "").replace("\0", "").strip()
    if words:
        found = find_animals(Animal.objects.filter(herd=herd_of(request)), words)
        if len(found) == 1:
            return redirect(found[0])
    asked = QueryDict(mutable=True)
    asked.update({"words": words, "state": ANYWHERE})
    return redirect(f"{reverse('animals')}?{asked.urlencode()}")
