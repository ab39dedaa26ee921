"""Which animals of the list are shown."""

from datetime import date, timedelta

import django_filters
from django import forms
from django.db.models import Case, CharField, F, OuterRef, Q, QuerySet, Subquery, Value, When
from django.db.models.functions import Concat, Length
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Animal, Judgement
from herdbook.book.models.animal import Coat, Sex, State
from herdbook.book.models.judgement import Verdict

ANYWHERE = "any"
UNSEXED = "unsexed"
UNWRITTEN = "unwritten"
UNJUDGED = "unjudged"

# A dose is called proved from this chance on, records that may be wrong allowed for.
PROVED = 0.99
LIKELY = 0.5

#: Name, from so many days, to before so many.
AGE_BANDS = {
    "pup": (_("under 3 weeks"), 0, 21),
    "coming": (_("3 weeks to 5 months"), 21, 152),
    "young": (_("5 months to 1 year"), 152, 365),
    "grown": (_("1 to 3 years"), 365, 3 * 365 + 1),
    "old": (_("3 years and over"), 3 * 365 + 1, None),
}

DOSES = [
    ("0", _("self (no dose)")),
    ("1", _("clean marked (one dose)")),
    ("2", _("overmarked (two doses)")),
    ("open", _("not proved")),
]


def with_birth_day(animals: QuerySet) -> QuerySet:
    """Add ``born_about``: the day in the middle of what a birth date can mean, as ISO text."""
    born = F("litter__born")
    return animals.annotate(
        born_signs=Length("litter__born"),
        born_about=Case(
            When(born_signs=4, then=Concat(born, Value("-07-02"))),
            When(born_signs=7, then=Concat(born, Value("-16"))),
            default=born,
            output_field=CharField(),
        ),
    )


def with_verdict(animals: QuerySet) -> QuerySet:
    """Add ``verdict``: what the latest judgement said, None where there is none."""
    latest = Judgement.objects.filter(animal=OuterRef("pk")).order_by("-on", "-pk")
    return animals.annotate(verdict=Subquery(latest.values("verdict")[:1]))


class AnimalFilter(django_filters.FilterSet):
    """Words to search, and what may be chosen. Without a word on it: those in the herd."""

    words = django_filters.CharFilter(
        method="search",
        label=_("Name, number or tag"),
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    state = django_filters.ChoiceFilter(
        method="place",
        label=_("Place"),
        choices=[*State.choices, (ANYWHERE, _("anywhere"))],
        empty_label=None,
    )
    sex = django_filters.ChoiceFilter(
        method="of_sex",
        label=_("Sex"),
        choices=[(Sex.BOAR, _("boars")), (Sex.SOW, _("sows")), (UNSEXED, _("not sexed"))],
        empty_label=_("any"),
    )
    coat = django_filters.ChoiceFilter(
        method="of_coat",
        label=_("Body colour"),
        choices=[choice for choice in Coat.choices if choice[0]] + [(UNWRITTEN, _("not known"))],
        empty_label=_("any colour"),
    )
    dose = django_filters.ChoiceFilter(
        method="of_dose", label=_("Most likely dose"), choices=DOSES, empty_label=_("any dose")
    )
    age = django_filters.ChoiceFilter(
        method="of_age",
        label=_("Age"),
        choices=[(name, band[0]) for name, band in AGE_BANDS.items()],
        empty_label=_("any age"),
    )

    judged = django_filters.ChoiceFilter(
        method="of_judgement",
        label=_("Judged"),
        choices=[*Verdict.choices, (UNJUDGED, _("not judged yet"))],
        empty_label=_("any"),
    )

    class Meta:
        model = Animal
        fields: list[str] = []

    def __init__(self, data=None, *args, **kwargs):
        data = data.copy()
        if data.get("state") not in [*State.values, ANYWHERE]:
            data["state"] = State.IN_HERD
        super().__init__(data, *args, **kwargs)

    def search(self, animals, name, words):
        return animals.matching(words)

    def place(self, animals, name, state):
        return animals if state == ANYWHERE else animals.filter(state=state)

    def of_sex(self, animals, name, sex):
        return animals.filter(sex="" if sex == UNSEXED else sex)

    def of_coat(self, animals, name, coat):
        return animals.filter(coat="" if coat == UNWRITTEN else coat)

    def of_dose(self, animals, name, dose):
        if dose != "open":
            return animals.filter(**{f"figure__dose{dose}__gte": LIKELY})
        return animals.exclude(settled())

    def of_age(self, animals, name, band):
        _words, least, most = AGE_BANDS[band]
        today = timezone.localdate()
        born = Q(born_about__lte=_days_ago(today, least))
        if most is not None:
            born &= Q(born_about__gt=_days_ago(today, most))
        return animals.filter(born).exclude(state=State.DIED)

    def of_judgement(self, animals, name, verdict):
        animals = with_verdict(animals)
        return animals.filter(verdict=None if verdict == UNJUDGED else verdict)

    @property
    def chosen(self) -> list[str]:
        """What is chosen beside the words, as the page says it."""
        form = self.form
        return [
            str(dict(form.fields[name].choices)[form.cleaned_data[name]])
            for name in ("state", "sex", "coat", "dose", "age", "judged")
            if form.is_valid() and form.cleaned_data[name]
        ]


def settled() -> Q:
    """Animals of which one dose is proved."""
    return (
        Q(figure__dose0__gte=PROVED) | Q(figure__dose1__gte=PROVED) | Q(figure__dose2__gte=PROVED)
    )


def _days_ago(today: date, days: int) -> str:
    return (today - timedelta(days=days)).isoformat()
