"""What was worked out from the book, and long work under way."""

import uuid
from typing import Any, Self

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class Reckoning(models.Model):
    """The one row that says which revision of the book the figures rest on.

    ``engine`` names the tables and methods they were made with: others make them stale.
    ``troubles`` lists what kept some families without figures, as plain data; ``colour_odds`` how
    colours speak for each possible sire, as rows of litter, boar and odds; ``slow_families`` holds
    the marks of those too tangled to be worked out many times over while a page waits.
    """

    revision = models.PositiveBigIntegerField(default=0)
    engine = models.CharField(max_length=40, blank=True)
    made_at = models.DateTimeField(null=True)
    troubles = models.JSONField(default=list)
    colour_odds = models.JSONField(default=list)
    slow_families = models.JSONField(default=list)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="only_one_reckoning")]

    def __str__(self) -> str:
        return f"figures of revision {self.revision}"


class Figure(models.Model):
    """What was worked out for one animal. A dose that could not be made is null, never zero.

    ``family`` is a digest of all that it rests on, and ``revision`` that of the book when it was
    last made: while the digest stands, so does the figure.
    """

    class Method(models.TextChoices):
        EXACT = "exact", _("exact")
        REFINED = "refined", _("refined")
        APPROXIMATE = "approximate", _("approximate")
        TANGLED = "tangled", _("too tangled to be exact")
        IMPOSSIBLE = "impossible", _("the records cannot all be true")

    animal = models.OneToOneField(
        "book.Animal", primary_key=True, on_delete=models.CASCADE, related_name="figure"
    )
    dose0 = models.FloatField(_("self"), null=True)
    dose1 = models.FloatField(_("one dose"), null=True)
    dose2 = models.FloatField(_("two doses"), null=True)
    method = models.CharField(max_length=11, choices=Method.choices)
    error = models.FloatField(
        null=True, help_text="estimate of a dose's largest absolute error; 0 where exact"
    )
    inbreeding = models.FloatField(
        _("inbreeding"), help_text="each possible sire of any litter by his share"
    )
    inbreeding_as_written = models.FloatField(
        null=True, help_text="each possible sire as written, where that is another figure"
    )
    full_generations = models.PositiveSmallIntegerField()
    deepest_generation = models.PositiveSmallIntegerField()
    completeness = models.FloatField(help_text="share of the ancestors of five generations known")
    revision = models.PositiveBigIntegerField()
    family = models.CharField(max_length=16, default="")

    class Meta:
        indexes = [models.Index(fields=["dose1"]), models.Index(fields=["dose2"])]

    def __str__(self) -> str:
        return f"{self.animal}: {self.method}"

    @property
    def chances(self) -> tuple[float, float, float] | None:
        """The chance of no, one and two doses, or None where none could be made."""
        if self.dose0 is None or self.dose1 is None or self.dose2 is None:
            return None
        return self.dose0, self.dose1, self.dose2

    @property
    def likeliest(self) -> int | None:
        """The dose with the greatest chance."""
        chances = self.chances
        return None if chances is None else max(range(3), key=chances.__getitem__)


class SireShare(models.Model):
    """The chance that a boar is the sire of a litter, by all records: where several may be, or
    where none is written and he was there.

    ``boar`` is null for one who is not among them: a written sire that was another boar.
    """

    litter = models.ForeignKey("book.Litter", on_delete=models.CASCADE, related_name="sire_shares")
    boar = models.ForeignKey(
        "book.Animal", null=True, on_delete=models.CASCADE, related_name="sire_shares"
    )
    share = models.FloatField()

    class Meta:
        ordering = ["litter", "-share", "pk"]

    def __str__(self) -> str:
        return f"{self.litter}: {self.boar or 'another boar'}"


class WeighedRecords(models.Model):
    """Which records of a herd were found doubtful, as the book stood at a revision.

    ``engine`` names what weighed them; ``found`` is as `genetics.record_errors.results` writes it.
    """

    herd = models.OneToOneField(
        "book.Herd", primary_key=True, on_delete=models.CASCADE, related_name="weighed_records"
    )
    revision = models.PositiveBigIntegerField()
    engine = models.CharField(max_length=40)
    found = models.JSONField()
    made_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "weighed records"

    def __str__(self) -> str:
        return f"records of {self.herd} at revision {self.revision}"


class KeptLines(models.Model):
    """The founders of a herd and what is left of each, as the book stood at a revision.

    ``engine`` names what found them; ``found`` is as ``genetics.herd.founders`` writes it.
    """

    herd = models.OneToOneField(
        "book.Herd", primary_key=True, on_delete=models.CASCADE, related_name="kept_lines"
    )
    revision = models.PositiveBigIntegerField()
    engine = models.CharField(max_length=40)
    found = models.JSONField()

    class Meta:
        verbose_name_plural = "kept lines"

    def __str__(self) -> str:
        return f"lines of {self.herd} at revision {self.revision}"


class Carried(models.Model):
    """What an animal may carry unseen, as the book stood at a revision.

    ``engine`` names what worked it out; ``found`` is by gene, as ``genetics.colours.carriers``
    writes it.
    """

    animal = models.OneToOneField(
        "book.Animal", primary_key=True, on_delete=models.CASCADE, related_name="carried"
    )
    revision = models.PositiveBigIntegerField()
    engine = models.CharField(max_length=40)
    found = models.JSONField(default=dict)

    class Meta:
        verbose_name_plural = "carried"

    def __str__(self) -> str:
        return f"carried by {self.animal} at revision {self.revision}"


class Fit(models.Model):
    """What the whole book taught of the points gene: kept when worked out, used when told to.

    ``medians``: the age in days at each milestone, in the order of the table, and ``spreads`` how
    far animals differ in it, empty in a fit from before they were learned; ``lines`` and
    ``effect`` are what a page shows of it, as plain data. ``revision`` is the book's.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    made_at = models.DateTimeField()
    user = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL)
    revision = models.PositiveBigIntegerField()
    engine = models.CharField(max_length=40)
    frequency = models.FloatField()
    medians = models.JSONField()
    spreads = models.JSONField(default=list)
    lines = models.JSONField()
    effect = models.JSONField()
    settled = models.BooleanField()
    animals = models.PositiveIntegerField()
    left_out = models.PositiveIntegerField()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.made_at:%d.%m.%Y}"


class FitUse(models.Model):
    """Which fit the figures are made with from a moment on; only ever added to.

    Without a fit they are made with the common-practice table.
    """

    fit = models.ForeignKey(Fit, null=True, on_delete=models.PROTECT, related_name="uses")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL)
    used_at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.used_at:%d.%m.%Y}: {self.fit or 'the table'}"


class Said(models.Model):
    """What was said of an animal's dose, frozen: only ever added to, so that it can be scored.

    ``revision`` is the book's; ``engine`` names the method and the tables that it was said by,
    ``fit`` what the herd had taught, if that was in use.
    """

    animal = models.ForeignKey("book.Animal", on_delete=models.CASCADE, related_name="said")
    said_at = models.DateTimeField()
    revision = models.PositiveBigIntegerField()
    dose0 = models.FloatField(_("self"))
    dose1 = models.FloatField(_("one dose"))
    dose2 = models.FloatField(_("two doses"))
    method = models.CharField(max_length=11, choices=Figure.Method.choices)
    error = models.FloatField(help_text="as in a figure")
    engine = models.CharField(max_length=40)
    fit = models.ForeignKey(Fit, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.animal}: {self.said_at:%d.%m.%Y}"

    @property
    def chances(self) -> tuple[float, float, float]:
        """The chance of no, one and two doses."""
        return self.dose0, self.dose1, self.dose2

    @property
    def likeliest(self) -> int:
        """The dose with the greatest chance."""
        return max(range(3), key=self.chances.__getitem__)


class Job(models.Model):
    """Long work: started by a page, done beside it, asked after by it.

    ``alone``: no second one of its kind may be under way. ``alive_at`` is renewed while the work
    goes on: a job that has not been for long was left behind by a process that was ended.
    """

    class State(models.TextChoices):
        WAITING = "waiting", _("waiting")
        RUNNING = "running", _("under way")
        DONE = "done", _("done")
        FAILED = "failed", _("failed")

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=40)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.CASCADE)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    progress = models.FloatField(default=0.0)
    note = models.TextField(blank=True)
    alone = models.BooleanField(default=False)
    started_at = models.DateTimeField(auto_now_add=True)
    alive_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-started_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kind"],
                condition=models.Q(alone=True, state__in=["waiting", "running"]),
                name="one_job_of_a_kind_at_a_time",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.state}"

    @property
    def is_over(self) -> bool:
        return self.state in (self.State.DONE, self.State.FAILED)


class LookAhead(models.Model):
    """A herd bred on by some rules, as it was asked for and what came of it, as plain data.

    ``revision`` is the book's when it was asked. ``found`` is empty until the job is done.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    herd = models.ForeignKey("book.Herd", on_delete=models.CASCADE, related_name="looks_ahead")
    job = models.ForeignKey(Job, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    revision = models.PositiveBigIntegerField()
    asked = models.JSONField()
    found = models.JSONField(default=dict)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.herd}: {self.asked_at:%d.%m.%Y}"


class SeasonPlanQuerySet(models.QuerySet):
    """Season plans, asked for in a breeder's words."""

    def for_user(self, user: Any) -> Self:
        """The plans that this user may see: those of the herds that they have a part in."""
        if not user.is_authenticated:
            return self.none()
        return self.filter(herd__memberships__user=user)


class SeasonPlan(models.Model):
    """A season's matings chosen together, with what was asked for, kept to be looked at again.

    ``asked`` and ``found`` are plain data (`genetics.season.planner` says which); ``found`` is null
    until the job is done. ``revision`` is that of the book it rests on.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    herd = models.ForeignKey("book.Herd", on_delete=models.CASCADE, related_name="season_plans")
    job = models.ForeignKey(Job, null=True, on_delete=models.SET_NULL)
    asked = models.JSONField()
    found = models.JSONField(null=True)
    revision = models.PositiveBigIntegerField(default=0)
    made_at = models.DateTimeField(auto_now_add=True)

    objects = SeasonPlanQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"plan of {self.herd}, {self.made_at:%d %b %Y %H:%M}"

    def get_absolute_url(self) -> str:
        return reverse("season-plan", args=[self.public_id])
