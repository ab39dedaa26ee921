"""An animal: who it is, what it looks like, where it is."""

from datetime import date
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from ..coat_type import check_coat_type, coat_type_words
from ..partial_date import PartialDate, PartialDateField
from ..search import fold
from .base import HerdQuerySet, HerdRow, Sureness


class Sex(models.TextChoices):
    """Boar, sow, or not yet sexed."""

    BOAR = "boar", _("boar")
    SOW = "sow", _("sow")
    UNKNOWN = "", _("not sexed")


class Coat(models.TextChoices):
    """The colour of the body."""

    WHITE = "white", _("white")
    CREAM = "cream", _("cream")
    BUFF = "buff", _("buff")
    GOLDEN = "golden", _("golden")
    RED = "red", _("red")
    BLACK = "black", _("black")
    CHOCOLATE = "chocolate", _("chocolate")
    AGOUTI = "agouti", _("agouti")
    # Of two roan genes, seen at birth: a body of its own, since other genes make white too.
    LETHAL = "lethal", _("lethal white: white all over, small eyes")
    OTHER = "other", _("other")
    UNKNOWN = "", _("not known")


# Points show on these bodies only (common practice, no source).
RED_SERIES = frozenset({Coat.WHITE, Coat.CREAM, Coat.BUFF, Coat.GOLDEN, Coat.RED})


class PointColour(models.TextChoices):
    """The colour of the points."""

    BLACK = "black", _("black")
    CHOCOLATE = "chocolate", _("chocolate")
    UNKNOWN = "", _("not known")


class EyeColour(models.TextChoices):
    """The colour of the eyes."""

    DARK = "dark", _("dark")
    PINK = "pink", _("pink")
    OTHER = "other", _("other")
    UNKNOWN = "", _("not known")


class State(models.TextChoices):
    """Where an animal is, or how it left."""

    IN_HERD = "in_herd", _("in the herd")
    ON_LOAN = "on_loan", _("on loan")
    SOLD = "sold", _("sold")
    DIED = "died", _("died")
    PAPER = "paper", _("pedigree only")


class BoughtAs(models.TextChoices):
    """The seller's word for a bought animal: evidence of its dose."""

    SELF = "self", _("a self")
    MARKED = "marked", _("clean marked")
    OVERMARKED = "overmarked", _("overmarked")
    UNKNOWN = "", _("not stated")


class ToldApart(models.TextChoices):
    """What identifies a pup among its littermates."""

    MARKINGS = "markings", _("markings")
    TAG = "tag", _("tag")
    PHOTO = "photo", _("photo")
    NOT_YET = "", _("no mark yet")


# More different words than a name, a number and a tag can hold, and less than SQLite's limit.
_MOST_WORDS = 200


class AnimalQuerySet(HerdQuerySet):
    """Animals in a breeder's words."""

    def in_herd(self, *, on: date):
        """Those that lived in the herd on a day, as far as the dates are written."""
        day = str(PartialDate.of(on))
        # Known to the year or the month alone, it may have left on a later day of these.
        left_later = Q(left_on__gt=day) | Q(left_on__in=[day[:4], day[:7]])
        here = Q(state=State.IN_HERD) | left_later
        arrived = Q(came_on__isnull=True) | Q(came_on__lte=day)
        born = Q(litter__born__isnull=True) | Q(litter__born__lte=day)
        return self.exclude(state=State.PAPER).filter(here, arrived, born)

    def boars(self):
        return self.filter(sex=Sex.BOAR)

    def sows(self):
        return self.filter(sex=Sex.SOW)

    def matching(self, words: str):
        """Those whose name, number or tag hold every word, whatever the case or accents."""
        wanted = set(fold(words).split())
        if len(wanted) > _MOST_WORDS:
            return self.none()
        found = self
        for word in wanted:
            found = found.filter(search_text__contains=word)
        return found

    def with_parents(self):
        """Fetch what a page shows of an animal and its parents in few queries."""
        return self.select_related("herd", "litter__dam").prefetch_related("litter__sires__boar")


class Animal(HerdRow):
    """One cavy. Its birth and parents are recorded in its litter, and nowhere else."""

    litter = models.ForeignKey("book.Litter", on_delete=models.PROTECT, related_name="pups")
    stud_prefix = models.CharField(_("stud prefix"), max_length=40, blank=True)
    name = models.CharField(_("name"), max_length=80, blank=True)
    number = models.CharField(_("number"), max_length=20, blank=True)
    tag = models.CharField(_("tag"), max_length=40, blank=True)
    sex = models.CharField(_("sex"), max_length=4, choices=Sex.choices, blank=True)
    coat = models.CharField(_("body colour"), max_length=10, choices=Coat.choices, blank=True)
    point_colour = models.CharField(
        _("point colour"), max_length=10, choices=PointColour.choices, blank=True
    )
    eye_colour = models.CharField(
        _("eye colour"), max_length=10, choices=EyeColour.choices, blank=True
    )
    coat_type = models.CharField(
        _("coat and marks"), max_length=40, blank=True, validators=[check_coat_type]
    )
    type_notes = models.TextField(_("notes on type"), max_length=2000, blank=True)
    remarks = models.TextField(_("remarks"), max_length=2000, blank=True)
    breeder = models.CharField(_("breeder"), max_length=80, blank=True)
    owner = models.CharField(_("owner"), max_length=80, blank=True)
    came_from = models.CharField(_("where it came from"), max_length=120, blank=True)
    bought_as = models.CharField(
        _("bought as"), max_length=10, choices=BoughtAs.choices, blank=True
    )
    state = models.CharField(_("place"), max_length=8, choices=State.choices, default=State.IN_HERD)
    came_on = PartialDateField(_("date it came"))
    left_on = PartialDateField(_("date it left"))
    went_to = models.CharField(_("buyer or new home"), max_length=120, blank=True)
    told_apart = models.CharField(
        _("identified by"), max_length=8, choices=ToldApart.choices, blank=True
    )
    told_apart_note = models.CharField(_("details of the mark"), max_length=120, blank=True)
    sureness = models.CharField(
        _("how sure"), max_length=6, choices=Sureness.choices, default=Sureness.SURE
    )
    birth_weight_g = models.PositiveSmallIntegerField(_("birth weight (g)"), null=True, blank=True)
    photo = models.ForeignKey(
        "book.Photo", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    search_text = models.TextField(editable=False, blank=True)

    history = HistoricalRecords(excluded_fields=["search_text"])
    objects: ClassVar = AnimalQuerySet.as_manager()

    class Meta:
        ordering = ["stud_prefix", "name", "number", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["herd", "number"],
                condition=~Q(number=""),
                name="one_animal_a_number",
                violation_error_message=_("Another animal of this herd has that number."),
            )
        ]
        indexes = [models.Index(fields=["herd", "state"])]

    def __str__(self) -> str:
        return self.full_name

    @property
    def full_name(self) -> str:
        """The name with the stud prefix; the number, else the tag, where it has no name yet."""
        name = f"{self.stud_prefix} {self.name}".strip() if self.name else ""
        if name:
            return name
        return (
            gettext("No. %(number)s") % {"number": self.number} if self.number else self.tag or "?"
        )

    @property
    def label(self) -> str:
        """Name and number, as a list or a choice shows it."""
        if self.name and self.number:
            return f"{self.full_name} ({self.number})"
        return self.full_name

    @property
    def born(self) -> PartialDate | None:
        return self.litter.born

    @property
    def dam(self) -> "Animal | None":
        return self.litter.dam

    @property
    def shows_points(self) -> bool:
        """Whether the body colour lets points be seen; an unknown colour counts as not."""
        return self.coat in RED_SERIES

    @property
    def coat_type_words(self) -> str:
        """'satin, long' as a page says it; '' where nothing was noted."""
        return coat_type_words(self.coat_type)

    def age_days(self, on: date) -> int | None:
        """Days since birth (from the middle of what its date can mean), or None if not known."""
        return None if self.born is None else (on - self.born.middle).days

    def refresh_search_text(self) -> None:
        """Fold the texts that a search reads; the services call it before each save."""
        self.search_text = fold(self.stud_prefix, self.name, self.number, self.tag)

    def get_absolute_url(self) -> str:
        return reverse("animal", args=[self.public_id])
