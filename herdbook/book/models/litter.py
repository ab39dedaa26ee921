"""A litter: the one place where birth and parentage are written."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from ..partial_date import PartialDateField
from .base import HerdQuerySet, HerdRow


class Source(models.TextChoices):
    """Where the record of a litter comes from."""

    HOME = "home", _("born here")
    PAPER = "paper", _("pedigree only")


class LitterQuerySet(HerdQuerySet):
    """Litters, asked for in a breeder's words."""

    def of_known_parents(self):
        """Those born at home, and those from paper of which a parent is written."""
        sired = CandidateSire.objects.filter(litter=models.OuterRef("pk"))
        return self.filter(Q(source=Source.HOME) | Q(dam__isnull=False) | models.Exists(sired))

    def kept_as_born_here(self):
        """Those born at home, and those taken in from paper whose dam is, or was, kept here."""
        dam_kept = Q(dam__herd=models.F("herd")) & ~Q(dam__state="paper")
        return self.filter(Q(source=Source.HOME) | dam_kept)

    def with_family(self):
        """Fetch dam, candidate sires and pups in few queries."""
        return self.select_related("herd", "dam").prefetch_related("sires__boar", "pups")


class Litter(HerdRow):
    """Pups of one dam, born together, by one or more boars that may be the sire.

    Every animal belongs to a litter: one bought without papers has a litter of its own, with
    neither parent known. Pups of one litter are full sibs, and share what is not known.
    """

    dam = models.ForeignKey(
        "book.Animal", null=True, blank=True, on_delete=models.PROTECT, related_name="litters"
    )
    boar_in = PartialDateField(_("boar put in"))
    boar_out = PartialDateField(_("boar taken out"))
    born = PartialDateField(_("born"))
    born_alive = models.PositiveSmallIntegerField(
        _("born alive"), null=True, blank=True, validators=[MaxValueValidator(30)]
    )
    born_dead = models.PositiveSmallIntegerField(
        _("born dead"), null=True, blank=True, validators=[MaxValueValidator(30)]
    )
    source = models.CharField(max_length=5, choices=Source.choices, default=Source.HOME)
    remarks = models.TextField(_("remarks"), max_length=2000, blank=True)

    history = HistoricalRecords()
    objects: ClassVar = LitterQuerySet.as_manager()

    class Meta:
        ordering = ["-born", "-pk"]
        indexes = [models.Index(fields=["herd", "born"])]

    def __str__(self) -> str:
        dam = self.dam.full_name if self.dam else gettext("unknown dam")
        born = self.born.words() if self.born else gettext("no date")
        return f"{dam}, {born}"

    @property
    def candidate_boars(self) -> list:
        """The boars that may be the sire, likeliest first as written."""
        return [candidate.boar for candidate in self.sires.all()]

    @property
    def has_known_parent(self) -> bool:
        return self.dam_id is not None or bool(self.candidate_boars)

    def get_absolute_url(self) -> str:
        return reverse("litter", args=[self.public_id])


class CandidateSire(HerdRow):
    """A boar that may have sired a litter, and how likely beside the others."""

    litter = models.ForeignKey(Litter, on_delete=models.CASCADE, related_name="sires")
    boar = models.ForeignKey("book.Animal", on_delete=models.PROTECT, related_name="sired")
    weight = models.FloatField(default=1.0, validators=[MinValueValidator(1e-9)])

    history = HistoricalRecords()

    class Meta:
        ordering = ["-weight", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["litter", "boar"], name="a_boar_once_a_litter"),
            models.CheckConstraint(condition=Q(weight__gt=0), name="a_candidate_has_weight"),
        ]

    def __str__(self) -> str:
        return str(self.boar)
