"""What cannot be, and what is hard to believe, of two littermates that were mixed up."""

from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _

from ..models import Animal, Litter
from .findings import Finding, ask, refuse


def mix_up_findings(
    first: Animal, second: Animal, *, since: date, today: date
) -> Iterator[Finding]:
    """What is found of exchanging the looks and weighings of two animals from a day on."""
    if first.litter_id != second.litter_id or first == second:
        yield refuse("not-littermates", _("Choose two different pups of this litter."), "second")
        return
    if since > today:
        yield refuse("future", _("That date is in the future."), "since")
    pups = (first, second)
    if not any(
        rows.filter(on__gte=since).exists()
        for pup in pups
        for rows in (pup.looks, pup.weighings, pup.judgements)
    ):
        yield refuse(
            "nothing-since",
            _(
                "Neither of these two was checked, weighed or judged since then, so there is "
                "nothing to swap. Choose an earlier date."
            ),
            "since",
        )
    for pup in pups:
        if Litter.objects.filter(dam=pup).exists() or pup.sired.exists():
            yield ask(
                f"has-litters:{pup.pk}",
                _("%(animal)s has litters, and they stay with it. Is that right?")
                % {"animal": pup.label},
                "second",
            )
    if first.sex and second.sex and first.sex != second.sex:
        yield ask(
            "sexes-differ",
            _("One is a boar, the other a sow. Were they really mixed up?"),
            "second",
        )
