"""The reasons for a dose as clauses: "her sire throws half", "both littermates show points"."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.doses.explanation import Reason
from herdbook.book.models import Animal
from herdbook.book.models.animal import Sex
from herdbook.book.models.look import Stage

from ..common.formatting import age_on
from .evidence_words import KinSeen, check_agrees, purchase_agrees, shown_counts, too_young

# From this chance on a parent is taken at its likeliest dose.
_PARENT_KNOWN = 0.9


@dataclass(frozen=True)
class Sign:
    """Records that one clause speaks of: their factor in the odds on the likeliest dose, and how
    likely they are at each dose, on any scale."""

    kind: str
    odds: float
    ratios: Sequence[float]
    reasons: tuple[Reason, ...]

    @property
    def strength(self) -> float:
        """The factor, or its inverse where that is larger."""
        return max(self.odds, 1 / self.odds) if self.odds > 0 else float("inf")

    def points_lower(self, dose: int) -> bool:
        """Whether these records speak for fewer doses rather than for more."""
        if self.odds > 1:
            return dose == 0 or (dose == 1 and self.ratios[0] > self.ratios[2])
        return max(self.ratios[:dose], default=0) > max(self.ratios[dose + 1 :], default=0)


def pronouns(animal: Animal) -> tuple[str, str]:
    """('she', 'her') and the like."""
    return {
        Sex.SOW: (_("she"), _("her")),
        Sex.BOAR: (_("he"), _("his")),
    }.get(Sex(animal.sex), (_("it"), _("its")))


class Clauses:
    """Words the signs of one animal as parts of a sentence."""

    def __init__(self, animal: Animal, kin: KinSeen, dose: int) -> None:
        self.animal, self.kin, self.dose = animal, kin, dose
        self.she, self.her = pronouns(animal)

    def of(self, signs: Sequence[Sign]) -> list[str]:
        """A clause for each sign; one for both parents where they throw alike."""
        clauses = {sign.kind: self._clause(sign) for sign in signs}
        alike = self._both_parents() if {"sire", "dam"} <= clauses.keys() else ""
        if alike:
            first, second = (kind for kind in clauses if kind in ("sire", "dam"))
            clauses[first] = alike
            del clauses[second]
        return [words for words in clauses.values() if words]

    def _clause(self, sign: Sign) -> str:
        reason = sign.reasons[0]
        if sign.kind == "own":
            shown = _shown(self.kin.seen[self.animal.pk], self.she, self.her)
            return shown or _("a pedigree file gives evidence of it")
        if sign.kind == "bought":
            words = {"she": self.she, "what": self.kin.bought()}
            return _("%(she)s was bought as %(what)s") % words
        if sign.kind == "sire" and len(self._boars) > 1:
            return self._possible_sires()
        if sign.kind in ("sire", "dam"):
            return self._parent(sign)
        if sign.kind == "littermates":
            return self._littermates(reason, sign.points_lower(self.dose))
        if sign.kind == "litter":
            return self._young(sign)
        if sign.kind == "possible litter":
            young = self._young(sign)
            return _("%(young)s, if %(she)s is the sire") % {"young": young, "she": self.she}
        return _("%(she)s is one of several littermates counted together") % {"she": self.she}

    @property
    def _boars(self) -> list[Animal]:
        return self.animal.litter.candidate_boars

    def _one_of(self, kind: str) -> Animal | None:
        """Its sire or its dam, where there is one that the reader may see."""
        keys = [boar.pk for boar in self._boars] if kind == "sire" else [self.animal.litter.dam_id]
        return self.kin.seen.get(keys[0]) if len(keys) == 1 else None

    def _both_parents(self) -> str:
        doses = {_known_dose(self._one_of(kind)) for kind in ("sire", "dam")}
        dose = doses.pop() if len(doses) == 1 else None
        if dose is None:
            return ""
        said = (
            _("both %(her)s parents are selfs"),
            _("both %(her)s parents throw half"),
            _("both %(her)s parents pass points to every pup"),
        )
        return said[dose] % {"her": self.her}

    def _possible_sires(self) -> str:
        doses = [_known_dose(self.kin.seen.get(boar.pk)) for boar in self._boars]
        words = {"her": self.her}
        if all(dose == 0 for dose in doses):
            return _("every boar that may be %(her)s sire is a self") % words
        if all(dose in (1, 2) for dose in doses):
            return _("every boar that may be %(her)s sire throws points") % words
        if any(dose in (1, 2) for dose in doses):
            return _("a boar that may be %(her)s sire throws points") % words
        return _("the boars that may be %(her)s sire point that way") % words

    def _parent(self, sign: Sign) -> str:
        """'her sire throws half' of a parent whose dose is known, else what is recorded of it."""
        name = _("sire") if sign.kind == "sire" else _("dam")
        parent = _("%(her)s %(parent)s") % {"her": self.her, "parent": name}
        one = self._one_of(sign.kind)
        reason = sign.reasons[0]
        recorded = _recorded(one, parent, reason) if one and one.pk in reason.animals else ""
        return _throws(one, parent) or recorded or self._family(parent, sign)

    def _family(self, parent: str, sign: Sign) -> str:
        words = {"parent": parent}
        if sign.odds > 1:
            return _("the family of %(parent)s points that way") % words
        return _("the family of %(parent)s points the other way") % words

    def _littermates(self, reason: Reason, lower: bool) -> str:
        litter = self.animal.litter_id
        pups = [one for one in self.kin.among(reason) if one.litter_id == litter]
        marked, over, seen, ages = pup_numbers(pups)
        words = {"n": marked, "all": seen, "her": self.her, "over": over, **ages}
        if not seen:
            words = {"her": self.her}
            return _("%(her)s littermates were counted together") % words if reason.counts else ""
        if not marked:
            return _none_of_the_litter(seen, words)
        if lower and marked == seen and not over:
            return (
                ngettext(
                    "%(her)s littermate%(aged)s is not overmarked",
                    "none of %(her)s %(all)d littermates%(aged)s is overmarked",
                    seen,
                )
                % words
            )
        if over == marked and not lower:
            said = ngettext("a littermate is overmarked", "%(n)d littermates are overmarked", over)
        elif marked == seen:
            said = _all_of_the_litter(seen)
        else:
            said = _some_of_the_litter(marked, lower)
        return _with_overmarked(said, 0 if lower or over == marked else over) % words

    def _young(self, sign: Sign) -> str:
        pups = [
            one
            for reason in sign.reasons
            for one in self.kin.among(reason)
            if one.litter_id == reason.litter_key
        ]
        lower = sign.points_lower(self.dose)
        marked, over, seen, ages = pup_numbers(pups)
        words = {"n": marked, "all": seen, "her": self.her, "over": over, **ages}
        if not seen:
            return self._descendants(sign)
        if not marked:
            return (
                ngettext(
                    "%(her)s one pup%(aged)s shows no points%(so_far)s",
                    "none of %(her)s %(all)d pups%(aged)s shows points%(so_far)s",
                    seen,
                )
                % words
            )
        if lower and marked == seen and not over:
            return (
                ngettext(
                    "%(her)s one pup%(aged)s is not overmarked",
                    "none of %(her)s %(all)d pups%(aged)s is overmarked",
                    seen,
                )
                % words
            )
        if over == marked and not lower:
            said = ngettext(
                "%(n)d of %(her)s %(all)d pups%(aged)s is overmarked",
                "%(n)d of %(her)s %(all)d pups%(aged)s are overmarked",
                over,
            )
            return said % words
        said = _all_young(seen) if marked == seen else _some_young(marked, lower)
        return _with_overmarked(said, 0 if lower else over) % words

    def _descendants(self, sign: Sign) -> str:
        words = {"her": self.her}
        if sign.odds > 1:
            return _("%(her)s descendants point that way") % words
        return _("%(her)s descendants point the other way") % words


def pup_numbers(pups: Sequence[Animal]) -> tuple[int, int, int, dict[str, str]]:
    """How many show points, how many of these are overmarked, of how many, and the words that
    say which these are.

    Pups too young to tell are left out; where there are no others, none shows points "so far".
    """
    shown = shown_counts(pups)
    young = too_young(pups)
    seen = shown.total() - young
    marked = shown["marked"] + shown["overmarked"]
    ages = {
        "aged": _(" old enough to tell") if young and seen else "",
        "so_far": "" if seen else _(" so far"),
    }
    return marked, shown["overmarked"], seen or young, ages


def _with_overmarked(said: str, over: int) -> str:
    return said + _(" (%(over)d overmarked)") if over else said


def _none_of_the_litter(seen: int, words: dict) -> str:
    return (
        ngettext(
            "%(her)s littermate%(aged)s shows no points%(so_far)s",
            "none of %(her)s %(all)d littermates%(aged)s shows points%(so_far)s",
            seen,
        )
        % words
    )


def _all_of_the_litter(seen: int) -> str:
    if seen == 2:
        return _("both littermates%(aged)s show points")
    return ngettext("a littermate shows points", "all %(n)d littermates%(aged)s show points", seen)


def _some_of_the_litter(marked: int, lower: bool) -> str:
    if lower:
        return ngettext(
            "only %(n)d of %(all)d littermates%(aged)s shows points",
            "only %(n)d of %(all)d littermates%(aged)s show points",
            marked,
        )
    return ngettext(
        "%(n)d of %(all)d littermates%(aged)s shows points",
        "%(n)d of %(all)d littermates%(aged)s show points",
        marked,
    )


def _all_young(seen: int) -> str:
    if seen == 2:
        return _("both %(her)s pups%(aged)s show points")
    return ngettext(
        "%(her)s one pup%(aged)s shows points",
        "all %(her)s %(all)d pups%(aged)s show points",
        seen,
    )


def _some_young(marked: int, lower: bool) -> str:
    if lower:
        return ngettext(
            "only %(n)d of %(her)s %(all)d pups%(aged)s shows points",
            "only %(n)d of %(her)s %(all)d pups%(aged)s show points",
            marked,
        )
    return ngettext(
        "%(n)d of %(her)s %(all)d pups%(aged)s shows points",
        "%(n)d of %(her)s %(all)d pups%(aged)s show points",
        marked,
    )


def _shown(one: Animal, subject: str, whose: str) -> str:
    """'she shows no points at 5 weeks' of an animal's last check; '' without one."""
    looks = list(one.looks.all())
    if not looks:
        return ""
    said = {
        Stage.NONE: _("%(subject)s shows no points"),
        Stage.COMING: _("%(whose)s points were coming"),
        Stage.FULL: _("%(subject)s has full points"),
        Stage.OVERMARKED: _("%(subject)s is overmarked"),
    }[Stage(looks[-1].stage)]
    age = age_on(one, looks[-1].on)
    words = {"subject": subject, "whose": whose, "age": age}
    return (said + _(" at %(age)s") if age else said) % words


def _known_dose(one: Animal | None) -> int | None:
    """The dose of an animal where it is as good as known."""
    figure = getattr(one, "figure", None)
    if figure is None or figure.likeliest is None:
        return None
    return figure.likeliest if figure.chances[figure.likeliest] >= _PARENT_KNOWN else None


def _throws(one: Animal | None, parent: str) -> str:
    """What a parent hands on where its dose is as good as known; '' where it is not."""
    dose = _known_dose(one)
    if dose is None:
        return ""
    said = (
        _("%(parent)s is a self"),
        _("%(parent)s throws half"),
        _("%(parent)s passes points to every pup"),
    )
    return said[dose] % {"parent": parent}


def _recorded(one: Animal, parent: str, reason: Reason) -> str:
    """What is recorded of a parent, if it speaks the way of the whole group of records."""
    if check_agrees(one, reason.ratios):
        return _shown(one, parent, _("%(parent)s's") % {"parent": parent})
    if not purchase_agrees(one, reason.ratios):
        return ""
    words = {"parent": parent, "what": one.get_bought_as_display()}
    return _("%(parent)s was bought as %(what)s") % words
