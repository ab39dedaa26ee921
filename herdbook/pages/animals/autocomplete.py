"""Animals suggested while a name or number is typed."""

from django.contrib.auth.decorators import login_required
from django.db.models import Case, Count, F, IntegerField, Value, When, Window
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from herdbook.book.models import Animal
from herdbook.book.models.animal import Sex, State

from ..common.access import herd_of
from ..common.fields import choice_of

MOST = 20


@require_safe
@login_required
def suggest_animals(request: HttpRequest) -> HttpResponse:
    """The options that fit what was typed, those in the herd first."""
    herd = herd_of(request)
    typed = request.GET.get(request.htmx.trigger_name or "words", "").replace("\0", "")
    found = Animal.objects.filter(herd=herd).matching(typed).select_related("litter")
    if request.GET.get("sex") in (Sex.BOAR, Sex.SOW):
        found = found.filter(sex__in=[request.GET["sex"], Sex.UNKNOWN])
    away = Case(
        When(state=State.IN_HERD, then=Value(0)), default=Value(1), output_field=IntegerField()
    )
    namesakes = Window(Count("pk"), partition_by=[F("stud_prefix"), F("name"), F("number")])
    found = found.annotate(namesakes=namesakes).order_by(away, *Animal._meta.ordering)[:MOST]
    options = [(choice_of(animal, alone=animal.namesakes == 1), animal) for animal in found]
    return render(request, "animals/suggestions.html", {"options": options})
