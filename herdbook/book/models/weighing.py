"""A weighing."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from .base import HerdRow


class Weighing(HerdRow):
    """What an animal weighed on a day, in grams."""

    animal = models.ForeignKey("book.Animal", on_delete=models.CASCADE, related_name="weighings")
    on = models.DateField(_("date"))
    weight_g = models.PositiveSmallIntegerField(
        _("weight (g)"), validators=[MinValueValidator(10), MaxValueValidator(4000)]
    )
    remarks = models.CharField(_("remarks"), max_length=200, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"{self.animal}: {self.weight_g} g, {self.on:%d.%m.%Y}"
