"""The list of litters: newest first, chosen by dam, sire and year."""

import django_filters
import django_tables2 as tables
from django.contrib.auth.decorators import login_required
from django.db.models import Count, F, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from herdbook.book.models import Animal, Litter
from herdbook.book.models.litter import Source

from ..common.access import herd_of

A_PAGE = 100
_NUMBER = {"td": {"class": "number"}, "th": {"class": "number"}}


class LitterTable(tables.Table):
    """Litters, one a row; a card on a phone."""

    born = tables.Column(verbose_name=_("Born"), empty_values=())
    dam = tables.Column(verbose_name=_("Dam"))
    sires = tables.Column(accessor="candidate_boars", verbose_name=_("Sire"), orderable=False)
    alive = tables.Column(accessor="born_alive", verbose_name=_("Born alive"), attrs=_NUMBER)
    dead = tables.Column(accessor="born_dead", verbose_name=_("Born dead"), attrs=_NUMBER)
    boars = tables.Column(verbose_name=_("Boars"), attrs=_NUMBER)
    sows = tables.Column(verbose_name=_("Sows"), attrs=_NUMBER)

    class Meta:
        model = Litter
        fields: tuple[str, ...] = ()
        order_by = "-born"
        empty_text = _("No litters found.")
        attrs = {"class": "stacked"}

    def render_born(self, record):
        # A date keeps together on one line.
        words = record.born.words().replace(" ", "\u00a0") if record.born else _("not known")
        paper = "" if record.source == Source.HOME else _("pedigree only")
        return format_html(
            '<a href="{}">{}</a> <span class="faded">{}</span>',
            record.get_absolute_url(),
            words,
            paper,
        )

    def render_dam(self, value):
        return _link(value)

    def render_sires(self, value):
        return format_html_join(_(" or "), "{}", ((_link(boar),) for boar in value)) or _(
            "not known"
        )

    def order_born(self, rows, descending):
        born = F("born")
        turned = born.desc(nulls_last=True) if descending else born.asc(nulls_last=True)
        return rows.order_by(turned, "-pk"), True


class LitterFilter(django_filters.FilterSet):
    """By dam and sire as typed, and by year of birth."""

    dam = django_filters.CharFilter(method="of_dam", label=_("Dam"))
    sire = django_filters.CharFilter(method="of_sire", label=_("Sire"))
    year = django_filters.ChoiceFilter(method="of_year", label=_("Year"), empty_label=_("any year"))

    class Meta:
        model = Litter
        fields: list[str] = []

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        dates = self.queryset.exclude(born=None).values_list("born", flat=True).distinct()
        years = sorted({born.year for born in dates}, reverse=True)
        self.filters["year"].extra["choices"] = [(str(year), str(year)) for year in years]

    def of_dam(self, litters, name, words):
        return litters.filter(dam__in=self._animals(words))

    def of_sire(self, litters, name, words):
        # By key, so that a litter is found once and its other boars stay in sight.
        found = Litter.objects.filter(sires__boar__in=self._animals(words))
        return litters.filter(pk__in=found.values("pk"))

    def of_year(self, litters, name, year):
        return litters.filter(born__startswith=year)

    def _animals(self, words: str) -> QuerySet:
        return Animal.objects.for_user(self.request.user).matching(words)


@require_safe
@login_required
def list_litters(request: HttpRequest) -> HttpResponse:
    """A page of the list."""
    litters = (
        Litter.objects.filter(herd=herd_of(request))
        .of_known_parents()
        .select_related("dam")
        .prefetch_related("sires__boar")
        .annotate(
            boars=Count("pups", filter=Q(pups__sex="boar")),
            sows=Count("pups", filter=Q(pups__sex="sow")),
        )
    )
    chosen = LitterFilter(request.GET, queryset=litters, request=request)
    table = LitterTable(chosen.qs)
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    context = {"filter": chosen, "table": table, "found": table.paginator.count}
    return render(request, "litters/list.html", context)


def _link(animal: Animal):
    return format_html('<a href="{}">{}</a>', animal.get_absolute_url(), animal.label)
