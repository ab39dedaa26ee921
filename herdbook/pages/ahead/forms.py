"""Which rules to compare, for how long, and how the herd is run meanwhile."""

from math import ceil

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from genetics.herd.projection import MOST_SERIES, POLICIES, Losses, ProjectionRequest, Stock
from genetics.matings.showable_rate import Share
from herdbook.book.models import Animal, Herd

from ..common.error_messages import PlainForm
from ..common.fields import AnimalField, animal_field

MOST_SEASONS = 10
SEASONS = 5
# So many are ticked at first that a boar may be lost besides.
USUAL_RULES = MOST_SERIES // 2

NAMES = {
    "one-dose-to-self": _("Clean marked to self"),
    "overmarked-to-self": _("Overmarked to self"),
    "least-kin": _("Most unrelated"),
    "closest-kin": _("Line breeding (closest relatives)"),
}


class AheadForm(PlainForm):
    """The settings of a run. Whole numbers are for each season of half a year."""

    policies = forms.MultipleChoiceField(
        label=_("Rules to compare"),
        choices=[(policy, NAMES[policy]) for policy in POLICIES],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose at least one rule.")},
    )
    lost_boar = AnimalField(
        sex="boar",
        label=_("Without this boar too"),
        required=False,
        help_text=_("Each rule runs a second time without him. Choose at most two rules."),
    )
    seasons = forms.IntegerField(
        label=_("Seasons (half a year each)"), min_value=1, max_value=MOST_SEASONS
    )
    sows = forms.IntegerField(label=_("Sows mated each season"), min_value=1)
    boars = forms.IntegerField(label=_("Boars used"), min_value=1)
    young_sows = forms.IntegerField(
        label=_("Young sows kept each season"),
        min_value=0,
        help_text=_("Each replaces the oldest."),
    )
    young_boars = forms.IntegerField(
        label=_("Young boars kept each season"),
        min_value=0,
        help_text=_("Each replaces the oldest."),
    )
    losses = forms.FloatField(
        label=_("Losses by 28 days (% of all born)"),
        min_value=0,
        max_value=100,
    )
    showable = forms.FloatField(
        label=_("Clean marked pups good enough to show (%)"),
        min_value=0,
        max_value=100,
        required=False,
    )

    def __init__(
        self, data: QueryDict | None, *, herd: Herd, stock: Stock, losses: Losses, good: Share
    ):
        own = {"losses": round(100 * losses.value), "showable": round(100 * good.value)}
        super().__init__(data, initial=_usual(stock) | own)
        self.stock = stock
        self.fields["losses"].help_text = _losses_rest_on(losses)
        self.fields["showable"].help_text = _good_rests_on(good)
        animal_field(self, "lost_boar").animals = Animal.objects.filter(herd=herd)

    def clean_lost_boar(self):
        boar = self.cleaned_data["lost_boar"]
        if boar and boar not in self.stock.boars:
            raise ValidationError(
                gettext("%(animal)s is not a boar in the herd. Choose another.")
                % {"animal": boar.label}
            )
        return boar

    def clean_sows(self):
        most = len(self.stock.sows)
        words = ngettext(
            "Only %(count)d sow in the herd can be mated.",
            "Only %(count)d sows in the herd can be mated.",
            most,
        )
        return self._at_most("sows", most, words)

    def clean_boars(self):
        most = len(self.stock.boars)
        words = ngettext(
            "Only %(count)d boar is in the herd.", "Only %(count)d boars are in the herd.", most
        )
        return self._at_most("boars", most, words)

    def _at_most(self, name: str, most: int, words: str) -> int:
        if self.cleaned_data[name] > most:
            raise ValidationError(words % {"count": most})
        return self.cleaned_data[name]

    def clean(self):
        super().clean()
        cleaned = self.cleaned_data
        for young, whole in (("young_sows", "sows"), ("young_boars", "boars")):
            if young in cleaned and whole in cleaned and cleaned[young] > cleaned[whole]:
                self.add_error(young, gettext("This is more than are mated. Enter fewer."))
        boar, policies = cleaned.get("lost_boar"), cleaned.get("policies", ())
        if boar and len(self.stock.boars) == 1:
            self.add_error(
                "lost_boar", gettext("He is the only boar: nothing can be bred without him.")
            )
        elif boar and 2 * len(policies) > MOST_SERIES:
            self.add_error(
                "policies",
                gettext("Choose at most two rules: each runs a second time without the boar."),
            )
        return cleaned

    @property
    def asked(self) -> ProjectionRequest:
        """The settings of a valid form."""
        values = self.cleaned_data
        whole = ("seasons", "boars", "sows", "young_boars", "young_sows")
        return ProjectionRequest(
            policies=tuple(values["policies"]),
            losses=values["losses"] / 100,
            showable=None if values["showable"] is None else values["showable"] / 100,
            lost_boar=values["lost_boar"].pk if values["lost_boar"] else None,
            **{name: values[name] for name in whole},
        )


def _usual(stock: Stock) -> dict:
    """Usual settings for a herd of this size: one boar to four sows, a quarter of them young."""
    sows = len(stock.sows)
    boars = max(1, min(len(stock.boars), ceil(sows / 4)))
    return {
        "policies": [*POLICIES][:USUAL_RULES],
        "seasons": SEASONS,
        "sows": sows,
        "boars": boars,
        "young_sows": ceil(sows / 4),
        "young_boars": ceil(boars / 3),
    }


def _losses_rest_on(losses: Losses) -> str:
    """What the default share is based on."""
    study = gettext("27% in one study of long-haired cavies, most of them born dead")
    if not losses.born_dead.of and not losses.lost.of:
        return gettext("%(study)s. You have recorded no losses yet.") % {"study": study}
    return gettext(
        "Estimated from your own records (%(dead)d of %(born)d born dead, %(lost)d of %(alive)d "
        "born alive lost) and %(study)s."
    ) % {
        "study": study,
        "dead": losses.born_dead.count,
        "born": losses.born_dead.of,
        "lost": losses.lost.count,
        "alive": losses.lost.of,
    }


def _good_rests_on(good: Share) -> str:
    """Likewise of the share good enough."""
    empty = gettext("Leave blank to count the dose only.")
    if not good.of:
        taken = gettext(
            "You have judged none yet, so half is assumed (common practice, no source)."
        )
        return f"{taken} {empty}"
    told = gettext(
        "You judged %(good)d of %(judged)d good enough; four more, half of them good enough, are "
        "added to that (common practice, no source)."
    ) % {"good": good.count, "judged": good.of}
    return f"{told} {empty}"
