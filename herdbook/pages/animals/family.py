"""An animal's family as its page tells it."""

from collections import Counter
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from herdbook.book.models import Animal, Litter
from herdbook.book.models.animal import Sex


@dataclass(frozen=True)
class LitterRow:
    """One of an animal's litters, seen from that animal."""

    litter: Litter
    animal: Animal

    @property
    def is_dam(self) -> bool:
        return self.litter.dam_id == self.animal.pk

    @property
    def is_doubtful(self) -> bool:
        """Whether the animal is one of several boars that may be the sire."""
        return not self.is_dam and len(self.litter.candidate_boars) > 1

    @property
    def mates(self) -> list[Animal]:
        if self.is_dam:
            return self.litter.candidate_boars
        return [self.litter.dam] if self.litter.dam else []

    @property
    def counted(self) -> str:
        """'4 pups: 2 boars, 1 sow, 1 not sexed', as far as they stand in the book."""
        pups = self.litter.pups.all()
        count = Counter(pup.sex for pup in pups)
        each = [
            ngettext("%(n)d boar", "%(n)d boars", count[Sex.BOAR]) % {"n": count[Sex.BOAR]},
            ngettext("%(n)d sow", "%(n)d sows", count[Sex.SOW]) % {"n": count[Sex.SOW]},
            _("%(n)d not sexed") % {"n": count[Sex.UNKNOWN]},
        ]
        sexes = (Sex.BOAR, Sex.SOW, Sex.UNKNOWN)
        said = [words for words, sex in zip(each, sexes, strict=True) if count[sex]]
        pups_said = ngettext("%(n)d pup", "%(n)d pups", len(pups)) % {"n": len(pups)}
        return f"{pups_said}: {', '.join(said)}" if said else pups_said
