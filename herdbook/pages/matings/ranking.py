"""All that are available for one animal, the most promising first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.translation import gettext_lazy as _

from genetics.mating import Mating, rank
from herdbook.book.cautions import BOAR, PAIR, SOW, Caution, TimeTogether
from herdbook.book.models import Animal, Limits
from herdbook.book.models.animal import Sex, State
from herdbook.book.rules import limits
from herdbook.book.rules.matings import mating_cautions, with_mating_records

from ..wording import chance, coefficient, likeliest_dose, rounded
from .colours import PairCautions

_NUMBER = {"td": {"class": "number"}, "th": {"class": "number"}}


@dataclass(frozen=True)
class Ranked:
    """One mate, what the litter would hold and what speaks against it beside the chosen one."""

    mating: Mating
    mate: Animal
    address: str
    cautions: tuple[Caution, ...]

    @property
    def count(self) -> int:
        return len(self.cautions)


@dataclass(frozen=True)
class Ranking:
    """The mates from the best, and what is to be said of the chosen animal whoever it goes to."""

    rows: list[Ranked]
    of_all: tuple[Caution, ...]


def available(animal: Animal, together: TimeTogether) -> Iterable[Animal]:
    """Those of the other sex in the herd that are old enough by the last day together."""
    sow_wanted = animal.sex == Sex.BOAR
    least = limits.SOW_CONCEIVES_FROM_DAYS if sow_wanted else limits.BOAR_SIRES_FROM_DAYS
    others = Animal.objects.filter(
        herd=animal.herd, state=State.IN_HERD, sex=Sex.SOW if sow_wanted else Sex.BOAR
    )
    grown_by = together.last - timedelta(days=least)
    for mate in with_mating_records(others).select_related("figure"):
        if mate.born is None or mate.born.earliest <= grown_by:
            yield mate


def rank_mates(
    animal: Animal, together: TimeTogether, going_by: Limits, days: dict[str, str]
) -> Ranking | None:
    """Every available mate; ``days`` go on into the address of each pair.

    None where the pedigree in the book contradicts itself.
    """
    own = SOW if animal.sex == Sex.SOW else BOAR
    other = BOAR if own == SOW else SOW
    mates = list(available(animal, together))
    matings = rank(animal, mates)
    if matings is None:
        return None
    by_genes = PairCautions([animal, *mates])
    rows: list[Ranked] = []
    of_all: tuple[Caution, ...] = ()
    for mating in matings:
        found = mating_cautions(
            mating.sow, mating.boar, together, going_by, inbreeding=mating.inbreeding
        )
        of_all = tuple(caution for caution in found if caution.about == own)
        rows.append(
            Ranked(
                mating,
                mating.boar if own == SOW else mating.sow,
                pair_address(mating.sow, mating.boar, days),
                (
                    *(caution for caution in found if caution.about in (other, PAIR)),
                    *by_genes.of(mating.sow, mating.boar),
                ),
            )
        )
    return Ranking(rows, of_all)


def pair_address(sow: Animal, boar: Animal, days: dict[str, str]) -> str:
    asked = {"sow": sow.public_id, "boar": boar.public_id, **days}
    return f"{reverse('mating')}?{urlencode(asked)}"


class RankingTable(tables.Table):
    """Mates, one a row; a card on a phone."""

    mate = tables.Column(accessor="mate__full_name", verbose_name=_("Mate"))
    dose = tables.Column(accessor="mate", verbose_name=_("Dose"), orderable=False)
    expected = tables.Column(
        accessor="mating__one_dose_pups",
        verbose_name=_("One-dose pups"),
        attrs=_NUMBER,
        initial_sort_descending=True,
    )
    none = tables.Column(accessor="mating__chances__0", verbose_name=_("Selfs"), attrs=_NUMBER)
    two = tables.Column(accessor="mating__chances__2", verbose_name=_("Two doses"), attrs=_NUMBER)
    inbreeding = tables.Column(
        accessor="mating__inbreeding", verbose_name=_("Inbreeding"), attrs=_NUMBER
    )
    cautions = tables.Column(accessor="count", verbose_name=_("Cautions"), empty_values=())

    class Meta:
        empty_text = _("Nobody is available: none of the other sex in the herd is old enough.")
        attrs = {"class": "stacked"}

    def render_mate(self, record):
        return format_html('<a href="{}">{}</a>', record.address, record.mate.full_name)

    def render_dose(self, value):
        return likeliest_dose(getattr(value, "figure", None)) or "–"

    def render_expected(self, value, record):
        return _("%(pups)s of %(size)d") % {
            "pups": rounded(value, 1),
            "size": record.mating.size.pups,
        }

    def render_none(self, value):
        return chance(value)

    def render_two(self, value):
        return chance(value)

    def render_inbreeding(self, value):
        return coefficient(value)

    def render_cautions(self, record):
        return ", ".join(caution.short for caution in record.cautions) or "–"
