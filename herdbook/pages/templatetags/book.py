"""What templates say often: an age, a chance, a weight."""

from django import template
from django.utils import timezone
from django.utils.translation import gettext as _

from ..common import formatting
from ..help.glossary import glossary
from ..help.subjects import help_address

register = template.Library()


@register.filter
def age(animal) -> str:
    """How old an animal is today, in words with their unit."""
    return formatting.age_of(animal, timezone.localdate())


@register.filter
def chance(share) -> str:
    return formatting.chance(share)


@register.filter
def coefficient(share) -> str:
    return formatting.coefficient(share)


@register.filter
def places(number, count: int) -> str:
    """A figure to so many places, half up."""
    return "" if number is None else formatting.rounded(number, count)


@register.filter
def grams(weight) -> str:
    return "" if weight is None else _("%(weight)d g") % {"weight": weight}


@register.filter
def likeliest_dose(animal) -> str:
    return formatting.likeliest_dose(getattr(animal, "figure", None))


@register.filter
def said_dose(figure) -> str:
    """The likeliest dose of what was said of an animal, and its chance."""
    return formatting.likeliest_dose(figure)


@register.filter
def how_exact(figure) -> str:
    return formatting.how_exact(figure)


@register.filter
def pups(number) -> str:
    """Pups to expect, to one place."""
    return formatting.rounded(number, 1)


@register.filter
def unlocalized(number) -> str:
    """A number as SVG wants it, whatever the language."""
    return f"{number:g}"


@register.inclusion_tag("help/term.html", name="help")
def explain(key: str) -> dict:
    """`{% help "kinship" %}`: 'Kinship: what is this?', which opens the term of the glossary.

    It is a block, so it stands beside a paragraph or inside a `dd`, `dt`, `td` or `li`.
    """
    term = glossary()[key]
    return {"term": term, "summary": _("%(term)s: what is this?") % {"term": term.name}}


@register.simple_tag(takes_context=True)
def help_with_this_page(context) -> str:
    """Where the handbook explains the page that is shown; error pages have the contents."""
    found = getattr(context.get("request"), "resolver_match", None)
    return help_address(found.url_name if found else "")


@register.inclusion_tag("help/term.html")
def no_source() -> dict:
    """`{% no_source %}`: a small 'no source' mark, which opens what that means."""
    return {"term": glossary()["no-source"], "summary": _("no source"), "is_brief": True}
