"""The checks of an animal's points, in words."""

from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils.translation import gettext as _

from herdbook.book.models import Animal, Look, Photo

from ..common.formatting import age_on, counted_words

_DETAILS = ["smut", "ears", "fore_feet", "hind_feet", "spread", "stain", "bare_skin"]


@dataclass(frozen=True)
class LookRow:
    """One check: what was seen, when and at what age, and where to edit it."""

    on: date
    age: str
    stage: str
    details: str
    remarks: str
    photo: Photo | None
    correct: str


def looks_of(animal: Animal) -> list[LookRow]:
    """The latest first, counts that it was among with its littermates with them."""
    return sorted([*_by_name(animal), *_in_counts(animal)], key=lambda row: row.on, reverse=True)


def _in_counts(animal: Animal) -> list[LookRow]:
    among = animal.counted_in.select_related("count").order_by("-count__on", "-pk")
    return [
        LookRow(
            on=row.count.on,
            age=age_on(animal, row.count.on),
            stage=_("Counted with littermates"),
            details=counted_words(row.count),
            remarks=row.count.remarks,
            photo=None,
            correct=reverse("correct-count", args=[row.count.public_id]),
        )
        for row in among
    ]


def _by_name(animal: Animal) -> list[LookRow]:
    looks = animal.looks.select_related("photo").order_by("-on", "-pk")
    return [
        LookRow(
            on=look.on,
            age=age_on(animal, look.on),
            stage=look.get_stage_display().capitalize(),
            details=_details(look),
            remarks=look.remarks,
            photo=look.photo,
            correct=reverse("correct-look", args=[look.public_id]),
        )
        for look in looks
    ]


def _details(look: Look) -> str:
    """'smut dense, ears coming, cold weather': what was recorded beside the stage."""
    places = (
        (Look._meta.get_field(name).verbose_name, getattr(look, f"get_{name}_display")())
        for name in _DETAILS
        if getattr(look, name)
    )
    said = [f"{place} {words}" for place, words in places]
    if look.warmth:
        said.append(_("%(warmth)s weather") % {"warmth": look.get_warmth_display()})
    return ", ".join(said)
