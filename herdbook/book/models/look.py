"""A check: one observation of the points."""

from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from .base import HerdRow


class Stage(models.TextChoices):
    """How far the points have come, all in all."""

    NONE = "none", _("none")
    COMING = "coming", _("coming")
    FULL = "full", _("full")
    OVERMARKED = "overmarked", _("overmarked")


class Density(models.TextChoices):
    """How much dark hair a place shows."""

    NONE = "none", _("none")
    FAINT = "faint", _("faint")
    COMING = "coming", _("coming")
    DENSE = "dense", _("dense")
    HIDDEN = "hidden", _("hidden by white")
    NOT_LOOKED = "", _("not checked")


class Spread(models.TextChoices):
    """How far the smut reaches over the face."""

    NOSE = "nose", _("nose only")
    CHEEKS = "cheeks", _("onto the cheeks")
    EYES = "eyes", _("up to the eyes")
    FACE = "face", _("over the face")
    NOT_LOOKED = "", _("not checked")


class Stain(models.TextChoices):
    """Dark hair on the body, where none should be."""

    CLEAN = "clean", _("clean")
    LIGHT = "light", _("lightly stained")
    HEAVY = "heavy", _("heavily stained")
    NOT_LOOKED = "", _("not checked")


class BareSkin(models.TextChoices):
    """Pads, ears and nose leather: dark at birth even on some selfs, so kept apart from hair."""

    PALE = "pale", _("pale")
    DARK = "dark", _("dark")
    NOT_LOOKED = "", _("not checked")


class Warmth(models.TextChoices):
    """The weather in the weeks before: warm weather pales new hair, cold darkens it."""

    COLD = "cold", _("cold")
    MILD = "mild", _("mild")
    HOT = "hot", _("hot")
    UNKNOWN = "", _("not noted")


def _place(name):
    return models.CharField(name, max_length=6, choices=Density.choices, blank=True)


class Look(HerdRow):
    """What was seen of an animal's points on a day."""

    animal = models.ForeignKey("book.Animal", on_delete=models.CASCADE, related_name="looks")
    on = models.DateField(_("date"))
    stage = models.CharField(_("points"), max_length=10, choices=Stage.choices)
    smut = _place(_("smut"))
    ears = _place(_("ears"))
    fore_feet = _place(_("fore feet"))
    hind_feet = _place(_("hind feet"))
    spread = models.CharField(
        _("smut over the face"), max_length=6, choices=Spread.choices, blank=True
    )
    stain = models.CharField(_("body stain"), max_length=5, choices=Stain.choices, blank=True)
    bare_skin = models.CharField(
        _("pads and bare skin"), max_length=4, choices=BareSkin.choices, blank=True
    )
    warmth = models.CharField(
        _("weather in the weeks before"), max_length=4, choices=Warmth.choices, blank=True
    )
    remarks = models.CharField(_("remarks"), max_length=500, blank=True)
    photo = models.ForeignKey(
        "book.Photo", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["on", "pk"]

    def __str__(self) -> str:
        return f"{self.animal}: {self.stage}, {self.on:%d.%m.%Y}"
