"""A person's judgement of an animal: good enough to show, or a pet."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from .base import HerdRow


class Verdict(models.TextChoices):
    """What a person judged an animal to be good for."""

    SHOWABLE = "showable", _("good enough to show")
    PET = "pet", _("a pet")


class Judgement(HerdRow):
    """What a person made of an animal on a day. The latest counts; without one it is not judged.

    No figure is a judgement: one dose is needed to be showable, and is not enough.
    """

    animal = models.ForeignKey("book.Animal", on_delete=models.CASCADE, related_name="judgements")
    on = models.DateField(_("date"))
    verdict = models.CharField(_("judgement"), max_length=8, choices=Verdict.choices)
    by = models.CharField(_("judged by"), max_length=80, blank=True)
    remarks = models.CharField(_("remarks"), max_length=200, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"{self.animal}: {self.verdict}, {self.on:%d.%m.%Y}"
