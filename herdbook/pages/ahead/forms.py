"""Which rules to try, for how long, and how the herd is run meanwhile."""

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
from ..common.fields import AnimalField

MOST_SEASONS = 10
SEASONS = 5
# So many are ticked at first that a boar may be lost besides.
USUAL_RULES = MOST_SERIES // 2

NAMES = {
    "one-dose-to-self": _("One dose to a self"),
    "overmarked-to-self": _("Overmarked to a self"),
    "least-kin": _("Least kin"),
    "closest-kin": _("Closest kin"),
}


class AheadForm(PlainForm):
    """What is to be tried. Whole numbers are for each season of half a year."""

    policies = forms.MultipleChoiceField(
        label=_("Rules to compare"),
        choices=[(policy, NAMES[policy]) for policy in POLICIES],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose a rule or more.")},
    )
    lost_boar = AnimalField(
        sex="boar",
        label=_("A boar to lose"),
        required=False,
        help_text=_("Each rule is tried a second time without him, so choose two rules at most."),
    )
    seasons = forms.IntegerField(
        label=_("Seasons of half a year"), min_value=1, max_value=MOST_SEASONS
    )
    sows = forms.IntegerField(label=_("Sows mated each season"), min_value=1)
    boars = forms.IntegerField(label=_("Boars used"), min_value=1)
    young_sows = forms.IntegerField(
        label=_("Young sows kept each season"),
        min_value=0,
        help_text=_("Each takes the place of the oldest."),
    )
    young_boars = forms.IntegerField(
        label=_("Young boars kept each season"),
        min_value=0,
        help_text=_("Each takes the place of the oldest."),
    )
    losses = forms.FloatField(
        label=_("Losses by 28 days (% of all born)"),
        min_value=0,
        max_value=100,
    )
    showable = forms.FloatField(
        label=_("One-dose pups good enough to show (%)"),
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
        self.fields["lost_boar"].animals = Animal.objects.filter(herd=herd)

    def clean_lost_boar(self):
        boar = self.cleaned_data["lost_boar"]
        if boar and boar not in self.stock.boars:
            raise ValidationError(
                gettext("%(animal)s is not one of the boars in the herd: choose another.")
                % {"animal": boar.label}
            )
        return boar

    def clean_sows(self):
        most = len(self.stock.sows)
        words = ngettext(
            "%(count)d sow in the herd can be mated.",
            "%(count)d sows in the herd can be mated.",
            most,
        )
        return self._at_most("sows", most, words)

    def clean_boars(self):
        most = len(self.stock.boars)
        words = ngettext("%(count)d boar is in the herd.", "%(count)d boars are in the herd.", most)
        return self._at_most("boars", most, words)

    def _at_most(self, name: str, most: int, words: str) -> int:
        if self.cleaned_data[name] > most:
            raise ValidationError(words % {"count": most})
        return self.cleaned_data[name]

    def clean(self):
        cleaned = super().clean()
        for young, whole in (("young_sows", "sows"), ("young_boars", "boars")):
            if young in cleaned and whole in cleaned and cleaned[young] > cleaned[whole]:
                self.add_error(young, gettext("More than are mated: write fewer."))
        boar, policies = cleaned.get("lost_boar"), cleaned.get("policies", ())
        if boar and len(self.stock.boars) == 1:
            self.add_error(
                "lost_boar", gettext("He is the only boar: without him nothing is bred.")
            )
        elif boar and 2 * len(policies) > MOST_SERIES:
            self.add_error(
                "policies",
                gettext("With a boar to lose, choose two rules at most: each is tried twice."),
            )
        return cleaned

    @property
    def asked(self) -> ProjectionRequest:
        """What a valid form asks for."""
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
    """What a herd of this size may do: one boar to four sows, a quarter of the sows young."""
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
    """What the share that the form starts from rests on."""
    study = gettext("27% in one study of long-haired cavies, most of them born dead")
    if not losses.born_dead.of and not losses.lost.of:
        return gettext("%(study)s; none of your own are written yet.") % {"study": study}
    return gettext(
        "At first your own, drawn towards %(study)s: in this herd %(dead)d of %(born)d were born "
        "dead, and %(lost)d of %(alive)d born alive were lost."
    ) % {
        "study": study,
        "dead": losses.born_dead.count,
        "born": losses.born_dead.of,
        "lost": losses.lost.count,
        "alive": losses.lost.of,
    }


def _good_rests_on(good: Share) -> str:
    """Likewise of the share good enough."""
    empty = gettext("Empty: only the dose is counted.")
    if not good.of:
        taken = gettext(
            "By your own eye; none is judged yet, so a half (common practice, no source)."
        )
        return f"{taken} {empty}"
    told = gettext(
        "At first your own: %(good)d of %(judged)d judged one-dose animals were good enough, as if "
        "four more had been judged, half of them good enough (common practice, no source)."
    ) % {"good": good.count, "judged": good.of}
    return f"{told} {empty}"
