"""What weighs in a herd's rankings of matings, as its breeder has set it."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from .base import HerdRow


def _pups(name, default: str):
    bounds = [MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(10))]
    return models.DecimalField(
        name, max_digits=4, decimal_places=2, default=Decimal(default), validators=bounds
    )


class RankingWeights(HerdRow):
    """How many showable pups a breeder would give up to be spared something; one row a herd.

    So a mating's points are the showable pups to expect of it, less these. The defaults are common
    practice, no source.
    """

    herd = models.OneToOneField(
        "book.Herd", on_delete=models.CASCADE, related_name="ranking_weights"
    )
    per_inbreeding = _pups(_("pups for each 10% of inbreeding"), "0.5")
    per_kinship = _pups(_("pups for each 10% of kinship to the herd"), "0.25")
    per_caution = _pups(_("pups for each caution"), "0.25")

    history = HistoricalRecords()

    def __str__(self) -> str:
        return f"ranking weights of {self.herd}"

    @classmethod
    def of(cls, herd) -> "RankingWeights":
        """A herd's own weights; the defaults, not saved and of version 0, where it has none."""
        return cls.objects.filter(herd=herd).first() or cls(herd=herd, version=0)


#: The names of all that a breeder may set.
WEIGHTS = ("per_inbreeding", "per_kinship", "per_caution")
