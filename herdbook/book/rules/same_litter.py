"""A litter that may be in the book already: the same dam, the same date."""

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext as _

from ..entries import LitterEntry
from ..findings import Finding, ask

# What the rules ask where a dam's litters lie close, before the key of the other litter.
CLOSE = "litters-close:"


def ask_if_another(findings: Iterable[Finding], entry: LitterEntry) -> Iterator[Finding]:
    """The findings, with the question about a litter '0 days away' put as what it most likely is.

    A page that was saved, gone back to and sent again is the usual cause; still a question, since
    a keeper may write one litter in two parts.
    """
    same = set()
    if entry.dam is not None and entry.born is not None:
        keys = entry.dam.litters.filter(born=entry.born).values_list("pk", flat=True)
        same = {f"{CLOSE}{key}" for key in keys}
    for finding in findings:
        yield _already_written(finding, entry) if finding.code in same else finding


def _already_written(finding: Finding, entry: LitterEntry) -> Finding:
    message = _("%(animal)s has a litter of %(date)s in the book already. Is this another one?")
    words = {"animal": entry.dam.label, "date": entry.born.words()}
    return ask(finding.code, message % words, finding.field)
