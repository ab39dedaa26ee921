"""The possible sires of a litter, as entered and by all records."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from herdbook.book.models import Animal, Litter

from .formatting import chance

# Boars that were there, but are less likely the sire than this, are not named.
NAMED_FROM = 0.005


@dataclass(frozen=True)
class SireLine:
    """A boar that may be the sire; ``boar`` is None for one that is not among those written.

    ``written`` and ``worked out`` are his shares before and after all records are weighed, None
    where nothing was written or worked out.
    """

    boar: Animal | None
    written: float | None
    reckoned: float | None

    @property
    def says(self) -> str:
        """'78% from all records, 50% as entered'."""
        said = []
        if self.reckoned is not None:
            said.append(_("%(share)s from all records") % {"share": chance(self.reckoned)})
        if self.written is not None:
            said.append(_("%(share)s as entered") % {"share": chance(self.written)})
        return ", ".join(said)


def sire_lines(litter: Litter) -> list[SireLine]:
    """The sire, or each boar that may be, the likeliest first; empty where nobody was there.

    Where no sire is written, these are the boars of the herd that were there.
    """
    candidates = list(litter.sires.all())
    total = sum(candidate.weight for candidate in candidates)
    written = {candidate.boar: candidate.weight / total for candidate in candidates}
    if len(written) == 1:
        return [SireLine(boar, None, None) for boar in written]
    shares = {row.boar: row.share for row in litter.sire_shares.select_related("boar__litter")}
    boars = [*written, *(boar for boar in shares if boar not in written)]
    lines = [SireLine(boar, written.get(boar), shares.get(boar)) for boar in boars]
    likely = [
        line for line in lines if line.written is not None or (line.reckoned or 0.0) >= NAMED_FROM
    ]
    return sorted(likely, key=lambda line: -(line.reckoned or line.written or 0.0))
