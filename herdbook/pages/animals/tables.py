"""The list of animals as a table: its columns and how each is sorted."""

import django_tables2 as tables
from django.db.models import F, QuerySet
from django.db.models.functions import Length, Round
from django.utils import timezone
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Animal

from ..common.formatting import age_of, coefficient, likeliest_dose

NUMBER = {"td": {"class": "number"}, "th": {"class": "number"}}


def _sorted(rows: QuerySet, descending: bool, *by) -> tuple[QuerySet, bool]:
    """Sort with what is not known last, both ways round, and the name to part what is equal."""
    turned = [
        term.desc(nulls_last=True) if descending else term.asc(nulls_last=True) for term in by
    ]
    return rows.order_by(*turned, "stud_prefix", "name", "pk"), True


class AnimalTable(tables.Table):
    """Animals, one a row; a card on a phone."""

    name = tables.Column(accessor="full_name", verbose_name=_("Name"))
    number = tables.Column(verbose_name=_("Number"))
    sex = tables.Column(accessor="get_sex_display", verbose_name=_("Sex"))
    age = tables.Column(accessor="litter", verbose_name=_("Age"), empty_values=())
    coat = tables.Column(accessor="get_coat_display", verbose_name=_("Body colour"))
    dose = tables.Column(accessor="figure", verbose_name=_("Dose"))
    inbreeding = tables.Column(accessor="figure", verbose_name=_("Inbreeding"), attrs=NUMBER)
    state = tables.Column(accessor="get_state_display", verbose_name=_("Place"))

    class Meta:
        model = Animal
        fields: tuple[str, ...] = ()
        sequence = ("name", "number", "sex", "age", "coat", "dose", "inbreeding", "state")
        order_by = "name"
        empty_text = _("No animals found.")
        attrs = {"class": "stacked"}

    def render_name(self, record):
        return format_html('<a href="{}">{}</a>', record.get_absolute_url(), record.full_name)

    def render_dose(self, value):
        return likeliest_dose(value)

    def render_age(self, record):
        return age_of(record, timezone.localdate()) or "–"

    def render_inbreeding(self, value):
        # Without a known ancestor the coefficient is nought by ignorance.
        return coefficient(value.inbreeding) if value.deepest_generation else "–"

    def order_name(self, rows, descending):
        return _sorted(rows, descending, F("stud_prefix"), F("name"), Length("number"), F("number"))

    def order_number(self, rows, descending):
        return _sorted(rows, descending, Length("number"), F("number"))

    def order_sex(self, rows, descending):
        return _sorted(rows, descending, F("sex"))

    def order_age(self, rows, descending):
        # The youngest first: the latest birth.
        known = F("born_about")
        turned = known.asc(nulls_last=True) if descending else known.desc(nulls_last=True)
        return rows.order_by(turned, "stud_prefix", "name", "pk"), True

    def order_coat(self, rows, descending):
        return _sorted(rows, descending, F("coat"))

    def order_dose(self, rows, descending):
        # The doses to be expected: the chance of one, and twice the chance of two. Rounded, so
        # that littermates whose figures differ by a last digit stand by name.
        expected = F("figure__dose1") + 2 * F("figure__dose2")
        return _sorted(rows, descending, Round(expected, precision=6))

    def order_inbreeding(self, rows, descending):
        return _sorted(rows, descending, F("figure__inbreeding"))

    def order_state(self, rows, descending):
        return _sorted(rows, descending, F("state"))
