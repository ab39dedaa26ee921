"""The handbook, the glossary and the search through both, as pages."""

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from .glossary import by_name
from .handbook import CONTENTS, handbook
from .search import search


@require_safe
@login_required
def show_contents(request: HttpRequest) -> HttpResponse:
    """The contents of the handbook."""
    return render(request, "help/page.html", {"page": handbook()[CONTENTS]})


@require_safe
@login_required
def show_page(request: HttpRequest, path: str) -> HttpResponse:
    """One page of the handbook, with those of its section."""
    page = handbook().get(path)
    if page is None or path == CONTENTS:
        raise Http404(_("The handbook has no such page."))
    beside = [other for other in handbook().values() if other.section == page.section]
    return render(request, "help/page.html", {"page": page, "beside": beside})


@require_safe
@login_required
def show_glossary(request: HttpRequest) -> HttpResponse:
    """Every term in alphabetical order."""
    terms = [(term, handbook().get(term.method)) for term in by_name()]
    return render(request, "help/glossary.html", {"terms": terms})


@require_safe
@login_required
def search_help(request: HttpRequest) -> HttpResponse:
    """The pages and terms that hold all the words."""
    words = request.GET.get("words", "").strip()
    return render(request, "help/search.html", {"words": words, "found": search(words)})
