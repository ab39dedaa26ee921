"""Evidence that came with an animal as bare likelihoods, without the checks behind them."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from .base import HerdRow


class GivenEvidence(HerdRow):
    """The likelihood, on any scale, of all that was seen elsewhere at dose 0, 1 and 2.

    Taken in from a pedigree file's ``like0``, ``like1`` and ``like2``. Used as given; looks made
    here afterwards count beside it.
    """

    animal = models.OneToOneField(
        "book.Animal", on_delete=models.CASCADE, related_name="given_evidence"
    )
    like0 = models.FloatField(validators=[MinValueValidator(0)])
    like1 = models.FloatField(validators=[MinValueValidator(0)])
    like2 = models.FloatField(validators=[MinValueValidator(0)])

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(like0__gt=0) | Q(like1__gt=0) | Q(like2__gt=0),
                name="some_dose_explains_it",
            )
        ]

    def __str__(self) -> str:
        return f"{self.animal}: {self.like0:g} : {self.like1:g} : {self.like2:g}"
