"""Questions about a dam's other litters, each with a way to that litter."""

from dataclasses import asdict

from django.urls import reverse
from django.utils.translation import gettext as _

from herdbook.book.models import Herd, Litter
from herdbook.book.models.litter import Source
from herdbook.book.rules.findings import ASK, Finding
from herdbook.book.rules.litters import CLOSE

from ..common.entry_form import LinkedQuestion


def with_links(findings: tuple[Finding, ...], herd: Herd) -> tuple[Finding, ...]:
    """The findings, those about another litter of the herd's with a link to it."""
    codes = {finding.code for finding in findings if finding.kind == ASK}
    keys = [code.removeprefix(CLOSE) for code in codes if code.startswith(CLOSE)]
    litters = {f"{CLOSE}{one.pk}": one for one in Litter.objects.filter(herd=herd, pk__in=keys)}
    return tuple(
        _linked(finding, litters[finding.code]) if finding.code in litters else finding
        for finding in findings
    )


def _linked(finding: Finding, litter: Litter) -> LinkedQuestion:
    if litter.source == Source.HOME:
        address, link = reverse("correct-litter", args=[litter.public_id]), _("Correct that litter")
    else:
        address, link = litter.get_absolute_url(), _("See that litter")
    return LinkedQuestion(**asdict(finding), address=address, link=link)
