"""What templates say often: an age, a chance, a weight."""

from django import template
from django.utils import timezone
from django.utils.translation import gettext as _

from .. import wording

register = template.Library()


@register.filter
def age(animal) -> str:
    """How old an animal is today, in words with their unit."""
    return wording.age_of(animal, timezone.localdate())


@register.filter
def chance(share) -> str:
    return wording.chance(share)


@register.filter
def coefficient(share) -> str:
    return wording.coefficient(share)


@register.filter
def places(number, count: int) -> str:
    """A figure to so many places, half up."""
    return "" if number is None else wording.rounded(number, count)


@register.filter
def grams(weight) -> str:
    return "" if weight is None else _("%(weight)d g") % {"weight": weight}


@register.filter
def likeliest_dose(animal) -> str:
    return wording.likeliest_dose(getattr(animal, "figure", None))


@register.filter
def said_dose(figure) -> str:
    """The likeliest dose of what was said of an animal, and its chance."""
    return wording.likeliest_dose(figure)


@register.filter
def how_exact(figure) -> str:
    return wording.how_exact(figure)


@register.filter
def pups(number) -> str:
    """Pups to expect, to one place."""
    return wording.rounded(number, 1)


@register.filter
def unlocalized(number) -> str:
    """A number as SVG wants it, whatever the language."""
    return f"{number:g}"
