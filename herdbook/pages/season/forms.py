"""The settings of a season's plan."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import F, Max
from django.utils import timezone
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from genetics.season.request import LEFT_OUT, LETHAL, MAY_BE_LEFT_OUT, SATIN, KeyPairs, Wishes
from herdbook.book.models import Animal, Herd, Limits
from herdbook.book.models.animal import Sex, State
from herdbook.book.rules.mating_cautions import SHORT

from ..common.error_messages import PlainForm
from ..common.fields import SomeOffered, is_public_id
from ..common.gene_names import BODY, POINTS
from ..observations.forms import PlannedDayField

USUAL_PENS = 10
USUAL_SOWS_A_BOAR = 4
# So many sows, those that littered last, have a box to be rested with.
MOST_SOWS = 100


def _count(**kwargs: Any) -> forms.IntegerField:
    attrs = {"inputmode": "numeric", "autocomplete": "off", "maxlength": 3, "class": "short"}
    return forms.IntegerField(min_value=1, max_value=999, widget=forms.TextInput(attrs), **kwargs)


def _figure(**kwargs: Any) -> forms.DecimalField:
    attrs = {"inputmode": "decimal", "autocomplete": "off", "maxlength": 6, "class": "short"}
    return forms.DecimalField(
        min_value=0, decimal_places=2, required=False, widget=forms.TextInput(attrs), **kwargs
    )


class SeasonForm(PlainForm):
    """Limits and aims of a plan."""

    boar_in = PlannedDayField(label=_("Boar goes in"))
    boar_out = PlannedDayField(
        label=_("Boar comes out"),
        required=False,
        help_text=_("Leave blank for your usual number of days."),
    )
    pens = _count(
        label=_("Pens for litters"),
        help_text=_(
            "Each sow needs one before she litters. Count a shared pen once for each litter it "
            "takes."
        ),
    )
    sows_a_boar = _count(
        label=_("Most sows to a boar"),
        help_text=_(
            "He is with all of them in one pen from the day he goes in to the day he comes out."
        ),
    )
    inbreeding = _figure(
        label=_("Inbreeding of a litter, at most (%)"),
        max_value=100,
        help_text=_("12.5 is half brother to half sister. Leave blank for no limit."),
    )
    coancestry = _figure(
        label=_("Average relatedness of the pups, at most (%)"),
        max_value=100,
        help_text=_(
            "Keeps one boar from siring every litter. Leave it blank at first: the plan shows "
            "the figure."
        ),
    )
    one = _figure(
        label=_("Value of a showable pup"),
        max_value=100,
        help_text=_("Clean marked, alive at 28 days, good enough to show."),
    )
    two = _figure(
        label=_("Value of an overmarked pup"),
        max_value=100,
        help_text=_("Alive at 28 days. Above 0 if you want overmarked pups to breed from."),
    )
    least_one = _figure(
        label=_("Clean marked pups, at least"),
        max_value=9999,
        help_text=_("Expected alive at 28 days, good enough or not."),
    )
    least_two = _figure(
        label=_("Overmarked pups, at least"),
        max_value=9999,
        help_text=_("Expected alive at 28 days."),
    )
    body = forms.ChoiceField(
        label=_("Body colour wanted"),
        required=False,
        choices=[
            ("", _("any")),
            *((name, words) for (gene, name), words in BODY.items() if gene == "albino"),
        ],
        help_text=_("Red, golden and buff are counted together."),
    )
    points = forms.ChoiceField(
        label=_("Colour of points wanted"),
        required=False,
        choices=[("", _("any")), *((name, words) for (_gene, name), words in POINTS.items())],
        help_text=_("They show on a red, golden, buff, cream or white body only."),
    )
    colour_more = _figure(
        label=_("Extra value for the colour"),
        max_value=100,
        help_text=_(
            "Added to the value of a showable pup. At 0 the plan only shows how many to expect."
        ),
    )
    lethal_in = forms.BooleanField(
        label=_("Allow pairs that may give lethal whites"),
        required=False,
        help_text=_(
            "About a quarter of the pups of roan to roan are lethal whites, born without eyes or "
            "teeth (secondary sources only). Roan can be hidden under white, so a chance of 1% "
            "keeps a pair out."
        ),
    )
    satin_in = forms.BooleanField(
        label=_("Allow satins, and pairs that may give satin pups"),
        required=False,
        help_text=_(
            "38% of satins had a bone disease (Jordan and others 2009, as cited in a case report, "
            "Case Rep Vet Med 2017:1321656). A chance of 5% keeps a pair out; a smaller one is "
            "shown as a caution."
        ),
    )
    left_out = forms.MultipleChoiceField(
        label=_("Leave out animals and pairs with these cautions"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[(code, SHORT[code]) for code in MAY_BE_LEFT_OUT],
        help_text=_("Other cautions are shown beside each pair. A vet decides, whatever you tick."),
    )
    resting = SomeOffered(
        Animal.objects.none(),
        label=_("Sows to rest"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, herd: Herd, limits: Limits, **kwargs: Any):
        self.limits = limits
        super().__init__(*args, **kwargs)
        self.fields["resting"].queryset = Animal.objects.filter(
            herd=herd, sex=Sex.SOW, state=State.IN_HERD
        ).select_related("litter")
        self.fields["resting"].label_from_instance = lambda sow: sow.label
        self._bound_the_sows()

    def _bound_the_sows(self) -> None:
        """Boxes for no more than so many sows, those that littered last and those ticked."""
        sows = self.fields["resting"].queryset
        count = sows.count()
        if count <= MOST_SOWS:
            return
        self.fields["resting"].help_text = ngettext(
            "%(n)d more sow is not listed. You can rest her in the plan itself.",
            "%(n)d more sows are not listed. You can rest any of them in the plan itself.",
            count - MOST_SOWS,
        ) % {"n": count - MOST_SOWS}
        last = F("last_litter").desc(nulls_last=True)
        listed = sows.annotate(last_litter=Max("litters__born")).order_by(last, "pk")[:MOST_SOWS]
        ticked = [one for one in map(str, self["resting"].value() or []) if is_public_id(one)]
        offered = dict.fromkeys([*listed, *sows.filter(public_id__in=ticked)])
        self.fields["resting"].choices = [(str(sow.public_id), sow.label) for sow in offered]

    def clean(self):
        cleaned = super().clean()
        first, last = cleaned.get("boar_in"), cleaned.get("boar_out")
        if first and last and last < first:
            self.add_error(
                "boar_out",
                gettext("The boar comes out before he goes in. Change one of the dates."),
            )
        elif first and (last or first + self._stays) < timezone.localdate():
            self.add_error("boar_in", gettext("These dates are in the past. Enter later dates."))
        wanted = cleaned.get("body") or cleaned.get("points")
        more = wanted and cleaned.get("colour_more")
        counts = (cleaned.get("one"), cleaned.get("two"), more)
        if not self.errors and not any(counts):
            raise ValidationError(gettext("Enter a value for showable or overmarked pups."))
        if not self.errors and cleaned.get("coancestry") == 0:
            self.add_error("coancestry", gettext("Enter more than 0, or leave it blank."))
        return cleaned

    @property
    def _stays(self) -> timedelta:
        return timedelta(days=self.limits.boar_stays_days)

    def wishes(self, *, held: KeyPairs, forbidden: KeyPairs) -> Wishes:
        """The settings, with these pairs kept and ruled out."""
        data = self.cleaned_data
        return Wishes(
            boar_in=data["boar_in"],
            boar_out=data["boar_out"] or data["boar_in"] + self._stays,
            pens=data["pens"],
            sows_a_boar=data["sows_a_boar"],
            inbreeding=_share(data["inbreeding"]),
            coancestry=_share(data["coancestry"]),
            one=float(data["one"] or 0),
            two=float(data["two"] or 0),
            least_one=float(data["least_one"] or 0),
            least_two=float(data["least_two"] or 0),
            left_out=(
                *data["left_out"],
                *(() if data["lethal_in"] else LETHAL),
                *(() if data["satin_in"] else SATIN),
            ),
            resting=tuple(sow.pk for sow in data["resting"]),
            held=held,
            forbidden=forbidden,
            body=data["body"],
            points=data["points"],
            colour_more=float(data["colour_more"] or 0),
        )


def starting_values(limits: Limits, today: date) -> dict[str, Any]:
    """The values of a form before anything is asked."""
    return {
        "boar_in": today,
        "boar_out": today + timedelta(days=limits.boar_stays_days),
        "pens": USUAL_PENS,
        "sows_a_boar": USUAL_SOWS_A_BOAR,
        "inbreeding": _plain(limits.inbreeding_deliberate),
        "one": 1,
        "two": 0,
        "colour_more": 1,
        "left_out": list(LEFT_OUT),
    }


def values_of(wishes: Wishes) -> dict[str, Any]:
    """The form filled with earlier settings."""
    return {
        "boar_in": wishes.boar_in,
        "boar_out": wishes.boar_out,
        "pens": wishes.pens,
        "sows_a_boar": wishes.sows_a_boar,
        "inbreeding": _percent(wishes.inbreeding),
        "coancestry": _percent(wishes.coancestry),
        "one": _plain(wishes.one),
        "two": _plain(wishes.two),
        "least_one": _plain(wishes.least_one) if wishes.least_one else "",
        "least_two": _plain(wishes.least_two) if wishes.least_two else "",
        "body": wishes.body,
        "points": wishes.points,
        "colour_more": _plain(wishes.colour_more),
        "lethal_in": not set(LETHAL) <= set(wishes.left_out),
        "satin_in": not set(SATIN) <= set(wishes.left_out),
        "left_out": list(wishes.left_out),
        "resting": Animal.objects.filter(pk__in=wishes.resting),
    }


def _share(percent: Decimal | None) -> float | None:
    return None if percent is None else float(percent) / 100


def _percent(share: float | None) -> str:
    return "" if share is None else _plain(share * 100)


def _plain(number: float | Decimal) -> str:
    """A figure as it is typed: 12.5, 4."""
    return f"{float(number):.2f}".rstrip("0").rstrip(".")
