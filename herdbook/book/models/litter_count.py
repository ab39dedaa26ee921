"""A count of pups of a litter that could not be identified one by one."""

from typing import ClassVar

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from .base import HerdQuerySet, HerdRow
from .look import Stage, Warmth

#: The columns that say how many showed each stage, in the order of :class:`Stage`.
COUNTED = tuple(str(stage) for stage in Stage)


def _pups(name):
    return models.PositiveSmallIntegerField(name, default=0, validators=[MaxValueValidator(30)])


class LitterCountQuerySet(HerdQuerySet):
    """Counts of pups, with what a page shows of them."""

    def with_pups(self):
        """Fetch the details of counts in few queries."""
        return self.select_related("litter__dam", "herd").prefetch_related("among__animal__litter")


class LitterCount(HerdRow):
    """How many pups of a litter showed what on a day, where nobody can tell which.

    ``among`` are the pups with a line of their own that were there, ``nameless`` how many others:
    those sold or lost before they had one. Where fewer are counted, the rest were not looked at.
    """

    litter = models.ForeignKey("book.Litter", on_delete=models.CASCADE, related_name="counts")
    on = models.DateField(_("date"))
    none = _pups(_("no points"))
    coming = _pups(_("coming"))
    full = _pups(_("full"))
    overmarked = _pups(_("overmarked"))
    nameless = _pups(_("unlisted"))
    warmth = models.CharField(
        _("weather in the weeks before"), max_length=4, choices=Warmth.choices, blank=True
    )
    remarks = models.CharField(_("remarks"), max_length=500, blank=True)

    history = HistoricalRecords()
    objects: ClassVar = LitterCountQuerySet.as_manager()

    class Meta:
        ordering = ["on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(none__gt=0) | Q(coming__gt=0) | Q(full__gt=0) | Q(overmarked__gt=0),
                name="a_count_counts_something",
            )
        ]

    def __str__(self) -> str:
        return f"{self.litter}: {self.counted}, {self.on:%d.%m.%Y}"

    @property
    def counted(self) -> tuple[int, ...]:
        """How many showed none, coming, full and overmarked points."""
        return tuple(getattr(self, column) for column in COUNTED)

    @property
    def pups(self) -> list:
        """Those with a line of their own that were there."""
        return [row.animal for row in self.among.all()]


class CountedPup(HerdRow):
    """A pup with a line of its own that was among those counted."""

    count = models.ForeignKey(LitterCount, on_delete=models.CASCADE, related_name="among")
    animal = models.ForeignKey("book.Animal", on_delete=models.CASCADE, related_name="counted_in")

    history = HistoricalRecords()

    class Meta:
        ordering = ["animal_id"]
        constraints = [
            models.UniqueConstraint(fields=["count", "animal"], name="a_pup_once_a_count")
        ]

    def __str__(self) -> str:
        return str(self.animal)
