"""Who is asking, which herd they keep, and how a row of another herd stays unseen."""

from typing import Any

from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from herdbook.book.models import Herd


def herd_of(request: HttpRequest) -> Herd:
    """The herd that the signed-in user keeps; raises Http404 for a user without one."""
    herd = Herd.objects.for_user(request.user).order_by("pk").first()
    if herd is None:
        raise Http404(_("You keep no herd in this book yet. Ask whoever keeps the book."))
    return herd


def own_or_404(request: HttpRequest, rows: QuerySet, public_id) -> Any:
    """The row with this public id, if it is in a herd of the signed-in user; else Http404.

    ``rows`` is a queryset that knows ``for_user``, with what it should fetch along.
    """
    return get_object_or_404(rows.for_user(request.user), public_id=public_id)
