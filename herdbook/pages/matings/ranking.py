"""All that are available for one animal, the most promising first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import django_tables2 as tables
from django.core.paginator import Paginator
from django.urls import reverse
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from genetics.matings.ranking import Prospect, prospects
from genetics.matings.showable_rate import Outlook
from herdbook.book import limits
from herdbook.book.models import Animal, Herd, Limits, RankingWeights
from herdbook.book.models.animal import Sex, State
from herdbook.book.rules.mating_cautions import Caution, TimeTogether
from herdbook.book.rules.matings import with_mating_records

from ..common.formatting import chance, coefficient, likeliest_dose, rounded
from .best import Best, Ranked, best_of, kept_out

_NUMBER = {"td": {"class": "number"}, "th": {"class": "number"}}
#: A figure that a phone leaves to the page of the pair.
_DETAIL = {"td": {"class": "number detail"}, "th": {"class": "number"}}


@dataclass(frozen=True)
class Ranking:
    """The mates, best first; the cautions of the chosen animal with any mate; why the best are the
    best; the pairs put last; and the herd's shares behind the showable pups."""

    rows: list[Ranked]
    of_all: tuple[Caution, ...]
    best: list[Best]
    kept_out: str
    outlook: Outlook


def available(herd: Herd, sex: str, together: TimeTogether) -> list[Animal]:
    """Those of a sex in the herd that are old enough by the last day together."""
    here = Animal.objects.filter(herd=herd, state=State.IN_HERD, sex=sex)
    by = _grown_by(sex, together)
    return [
        mate
        for mate in with_mating_records(here).select_related("figure")
        if mate.born is None or mate.born.earliest <= by
    ]


def available_pages(herd: Herd, sex: str, together: TimeTogether, *, most: int) -> Paginator:
    """The keys of the same animals, so many on a page, by their names."""
    here = Animal.objects.filter(herd=herd, state=State.IN_HERD, sex=sex)
    by = _grown_by(sex, together)
    keys = [
        key
        for key, born in here.values_list("pk", "litter__born")
        if born is None or born.earliest <= by
    ]
    return Paginator(keys, most)


def with_records(keys: Sequence[int]) -> list[Animal]:
    """These animals with their mating records and figures fetched, by their names."""
    return list(with_mating_records(Animal.objects.filter(pk__in=keys)).select_related("figure"))


def _grown_by(sex: str, together: TimeTogether) -> date:
    """The day that one must be born by, to breed in this time."""
    least = limits.SOW_CONCEIVES_FROM_DAYS if sex == Sex.SOW else limits.BOAR_SIRES_FROM_DAYS
    return min(together.last - timedelta(days=least), together.first)


def rank_mates(
    animal: Animal,
    together: TimeTogether,
    going_by: Limits,
    weights: RankingWeights,
    days: dict[str, str],
    *,
    on: date,
) -> Ranking | None:
    """Every available mate; ``days`` go on into the address of each pair.

    None where the pedigree in the book contradicts itself.
    """
    of_sow = animal.sex == Sex.SOW
    mates = available(animal.herd, Sex.BOAR if of_sow else Sex.SOW, together)
    sows, boars = ([animal], mates) if of_sow else (mates, [animal])
    found = prospects(animal.herd, sows, boars, together, going_by, on=on)
    if found is None:
        return None
    ranked = found.ranked(weights)
    rows = [_ranked(prospect, of_sow, weights, days) for prospect in ranked]
    of_all = (ranked[0].of_sow if of_sow else ranked[0].of_boar) if ranked else ()
    best = best_of([(row.mate.full_name, row) for row in rows], ranked)
    return Ranking(rows, of_all, best, kept_out(ranked), found.outlook)


def _ranked(
    prospect: Prospect, of_sow: bool, weights: RankingWeights, days: dict[str, str]
) -> Ranked:
    mating = prospect.mating
    others = prospect.of_boar if of_sow else prospect.of_sow
    return Ranked(
        prospect,
        mating.boar if of_sow else mating.sow,
        pair_address(mating.sow, mating.boar, days),
        prospect.score(weights),
        (*others, *prospect.of_pair),
        mating.sire_known if of_sow else mating.dam_known,
    )


def pair_address(sow: Animal, boar: Animal, days: dict[str, str]) -> str:
    asked = {"sow": str(sow.public_id), "boar": str(boar.public_id), **days}
    return f"{reverse('mating')}?{urlencode(asked)}"


class RankingTable(tables.Table):
    """Matings, one a row; a card on a phone."""

    mate = tables.Column(accessor="mate__full_name", verbose_name=_("Mate"))
    dose = tables.Column(
        accessor="mate",
        verbose_name=_("Dose"),
        order_by="mates_doses",
        attrs={"td": {"class": "all"}},
    )
    score = tables.Column(verbose_name=_("Score"), attrs=_NUMBER, initial_sort_descending=True)
    showable = tables.Column(
        accessor="prospect__showable",
        verbose_name=_("Showable"),
        attrs=_NUMBER,
        initial_sort_descending=True,
    )
    expected = tables.Column(
        accessor="prospect__mating__one_dose_pups",
        verbose_name=_("Clean marked"),
        attrs=_DETAIL,
        initial_sort_descending=True,
    )
    two = tables.Column(
        accessor="prospect__mating__chances__2", verbose_name=_("Overmarked"), attrs=_DETAIL
    )
    inbreeding = tables.Column(
        accessor="prospect__mating__inbreeding", verbose_name=_("Inbreeding"), attrs=_NUMBER
    )
    kinship = tables.Column(
        accessor="prospect__mating__kinship", verbose_name=_("Related to herd"), attrs=_DETAIL
    )
    known = tables.Column(
        accessor="known__completeness",
        verbose_name=_("Pedigree known"),
        attrs=_DETAIL,
        initial_sort_descending=True,
    )
    cautions = tables.Column(
        accessor="count",
        verbose_name=_("Cautions"),
        empty_values=(0,),
        default="–",
        attrs={"td": {"class": "all"}},
    )

    class Meta:
        empty_text = _("No mate is available: none in the herd is old enough.")
        attrs = {"class": "stacked compact"}

    def render_mate(self, record):
        return format_html('<a href="{}">{}</a>', record.address, record.mate.full_name)

    def render_dose(self, value):
        return likeliest_dose(getattr(value, "figure", None)) or "–"

    def render_showable(self, value):
        return rounded(value, 1)

    def render_expected(self, value, record):
        return _("%(pups)s of %(size)s") % {
            "pups": rounded(value, 1),
            "size": rounded(record.prospect.mating.size.expected, 1),
        }

    def render_two(self, value):
        return chance(value)

    def render_inbreeding(self, value):
        return coefficient(value)

    def render_kinship(self, value):
        return coefficient(value)

    def render_known(self, record):
        known = record.known
        words = ngettext("%(n)d gen, %(share)s", "%(n)d gens, %(share)s", known.full_generations)
        return words % {"n": known.full_generations, "share": chance(known.completeness)}

    def render_cautions(self, record):
        grave, others = (
            ", ".join(one.short for one in record.cautions if one.is_grave == is_grave)
            for is_grave in (True, False)
        )
        if not grave:
            return others
        last = format_html("<strong>{}</strong> {}", _("put last:"), grave)
        return format_html("{}; {}", last, others) if others else last

    def render_score(self, record):
        return "–" if record.prospect.showable is None else rounded(record.score, 2)


class PairTable(RankingTable):
    """The same for all pairs: each row names both."""

    mate = tables.Column(accessor="prospect__mating__sow__full_name", verbose_name=_("Sow"))
    boar = tables.Column(
        accessor="prospect__mating__boar__full_name",
        verbose_name=_("Boar"),
        attrs={"td": {"class": "all"}},
    )

    class Meta(RankingTable.Meta):
        empty_text = _("There are no pairs: no sow or no boar in the herd is old enough.")
        sequence = ("mate", "boar", "...")
        exclude = ("dose",)

    def render_mate(self, record):
        sow = record.prospect.mating.sow.full_name
        return format_html('<a href="{}">{}</a>', record.address, sow)
