"""The records of an animal and its relatives that its dose follows from, in words.

Only animals of the reader's own herds are named; of others no more than that they are there.
"""

from collections import Counter
from collections.abc import Iterable, Sequence

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.doses.explanation import Reason, Why
from genetics.doses.progeny_test import JUDGED_SELF_DAYS, MATE_KNOWN
from herdbook.book.models import Animal, CandidateSire, Litter
from herdbook.book.models.animal import BoughtAs, Sex
from herdbook.book.models.look import Stage

from ..common.formatting import age_on, chance, uncertain

# An unmarked pup counts as old enough to tell from nine weeks: of clean marked pups about five in
# six have begun to show points by then (common practice, no source).
OLD_ENOUGH_DAYS = 63

_GROUPS = ("overmarked", "marked", "selfs", "unmarked")


class KinSeen:
    """The animals whose records are the reasons for one animal's dose, as far as a reader may see
    them."""

    def __init__(self, animal: Animal, found: Why, animals) -> None:
        self.animal = animal
        litters = {reason.litter_key for reason in found.reasons} - {None} | {animal.litter_id}
        told = {record.key for reason in found.reasons for record in reason.records}
        told |= {boar.pk for boar in animal.litter.candidate_boars} | {animal.litter.dam_id}
        near = animals.filter(Q(litter__in=litters) | Q(pk__in={animal.pk, *(told - {None})}))
        near = near.select_related("litter", "figure").prefetch_related("looks")
        self.seen = {one.pk: one for one in near}
        parents = Q(litters__in=litters) | Q(sired__litter__in=litters)
        mates = Animal.objects.filter(parents).select_related("figure").distinct()
        self.mates = {one.pk: one for one in mates}
        boars = CandidateSire.objects.filter(litter__in=litters).values_list("litter", "boar")
        several = Counter(litter for litter, _boar in boars)
        #: Litters that are the animal's only if it is the sire: other boars may be.
        self.possibly_sired = {
            litter for litter, boar in boars if boar == animal.pk and several[litter] > 1
        }

    def own(self) -> str:
        """'3 checks, the last: full at 8 months'."""
        looks = list(self.seen[self.animal.pk].looks.all())
        words = {"n": len(looks), "last": self.record(self.animal.pk, "seen")}
        if len(looks) < 2:
            return str(words["last"])
        return _("%(n)d checks, the last: %(last)s") % words

    def among(self, reason: Reason) -> list[Animal]:
        """The animals of a group of records that the reader may see."""
        return [self.seen[key] for key in reason.animals if key in self.seen]

    def bought(self) -> str:
        return str(self.animal.get_bought_as_display())

    def parent(self, reason: Reason, boars: bool) -> str:
        """The parents on one side, each with what was seen of it in favour of what the whole
        group of records speaks for, and how many relatives beyond."""
        litter = self.animal.litter
        sides = [boar.pk for boar in litter.candidate_boars] if boars else [litter.dam_id]
        told = [
            f"{self.seen[key].label}, {what}"
            for key in sides
            if key in self.seen
            and key in reason.animals
            and (what := self._alike(key, reason.ratios))
        ]
        if told and len(sides) > 1:
            told = [_("%(boar)s, if he is the sire") % {"boar": boar} for boar in told]
        return _and_kin("; ".join(told), len(set(reason.animals) - set(sides)))

    def littermates(self, reason: Reason) -> str:
        """'2 marked, none unmarked, and 5 more relatives'."""
        return self._pups(reason, self.animal.litter_id, set())

    def young(self, reason: Reason, litter: Litter) -> str:
        """'6 marked, none unmarked, from a self sow, and 3 more relatives'."""
        mates = {litter.dam_id} if litter.dam_id != self.animal.pk else set()
        if not mates:
            mates = {candidate.boar_id for candidate in litter.sires.all()}
        return self._pups(reason, litter.pk, mates - {None, self.animal.pk})

    def _pups(self, reason: Reason, litter: int, mates: set[int]) -> str:
        pups = [one for one in self.among(reason) if one.litter_id == litter]
        parts = [shown_by(pups)] if pups else []
        if mates:
            parts.append(self._from(mates))
        near = {pup.pk for pup in pups} | mates
        return _and_kin(", ".join(part for part in parts if part), len({*reason.animals} - near))

    def _from(self, mates: set[int]) -> str:
        """'from a self sow', 'by an overmarked boar (74% likely)'."""
        if len(mates) > 1:
            return _("by one of several boars")
        (mate,) = (self.mates[key] for key in mates)
        figure = getattr(mate, "figure", None)
        if figure is None or figure.chances is None or figure.likeliest is None:
            return ""
        known = figure.chances[figure.likeliest] >= MATE_KNOWN
        words = {
            "mate": _mate(figure.likeliest, mate.sex),
            "chance": chance(uncertain(figure.chances)[figure.likeliest]),
        }
        said = _("from %(mate)s") if mate.sex == Sex.SOW else _("by %(mate)s")
        return (said if known else said + _(" (%(chance)s likely)")) % words

    def record(self, key: int, kind: str) -> str:
        """One record: 'full at 8 months' or 'bought as marked'; '' for one of another herd."""
        one = self.seen.get(key)
        if one is None:
            return ""
        looks = list(one.looks.all())
        if kind == "seen" and looks:
            age = age_on(one, looks[-1].on)
            stage = _STAGES[Stage(looks[-1].stage)]()
            return _("%(stage)s at %(age)s") % {"stage": stage, "age": age} if age else stage
        if one.bought_as:
            return _("bought as %(what)s") % {"what": one.get_bought_as_display()}
        return _("from a pedigree file")

    def _alike(self, key: int, ratios: Sequence[float]) -> str:
        """Its last check and what it was bought as, where each speaks the way of `ratios`."""
        one = self.seen[key]
        told = [self.record(key, "seen")] if check_agrees(one, ratios) else []
        if purchase_agrees(one, ratios):
            told.append(_("bought as %(what)s") % {"what": one.get_bought_as_display()})
        return ", ".join(told)

    def named(self, key: int, kind: str) -> str:
        """'Rook: full at 8 months'; of one of another herd no more than that."""
        if key not in self.seen:
            return _("A record in another herd")
        return f"{self.seen[key].label}: {self.record(key, kind)}"


def check_agrees(one: Animal, ratios: Sequence[float]) -> bool:
    """Whether the last check of a relative speaks the way of a group of records.

    `ratios`: how likely the group is at each dose. Points speak for one dose or two, their absence
    for none: a relative seen unmarked is no reason for points that others of its family bring.
    """
    looks = list(one.looks.all())
    return bool(looks) and _agrees(looks[-1].stage == Stage.NONE, ratios)


def purchase_agrees(one: Animal, ratios: Sequence[float]) -> bool:
    """As `check_agrees`, of what it was bought as."""
    return bool(one.bought_as) and _agrees(one.bought_as == BoughtAs.SELF, ratios)


def _agrees(without_points: bool, ratios: Sequence[float]) -> bool:
    return without_points == (ratios[0] >= max(ratios[1:]))


def too_young(pups: Iterable[Animal]) -> int:
    """How many pups were unmarked at their last check and not yet old enough to tell."""
    young = [pup for pup in pups if _group(pup) == "unmarked"]
    ages = [pup.age_days(list(pup.looks.all())[-1].on) for pup in young]
    return sum(age is not None and age < OLD_ENOUGH_DAYS for age in ages)


def shown_counts(pups: Iterable[Animal]) -> Counter[str]:
    """How many pups were overmarked, marked, selfs or unmarked at their last check."""
    return Counter(group for pup in pups if (group := _group(pup)))


def shown_by(pups: Iterable[Animal]) -> str:
    """What pups showed at their last check: '3 marked, 1 overmarked, none unmarked'."""
    counts = shown_counts(pups)
    if not counts:
        return ""
    words = {
        "overmarked": _("%(n)d overmarked"),
        "marked": _("%(n)d marked"),
        "selfs": ngettext("%(n)d self", "%(n)d selfs", counts["selfs"]),
        "unmarked": _("%(n)d unmarked so far"),
    }
    said = [words[group] % {"n": counts[group]} for group in _GROUPS if counts[group]]
    if not counts["selfs"] and not counts["unmarked"]:
        said.append(_("none unmarked"))
    return ", ".join(said)


def _group(pup: Animal) -> str:
    looks = list(pup.looks.all()) if pup.shows_points else []
    if not looks:
        return ""
    stage = looks[-1].stage
    if stage != Stage.NONE:
        return "overmarked" if stage == Stage.OVERMARKED else "marked"
    age = pup.age_days(looks[-1].on)
    return "selfs" if age is not None and age >= JUDGED_SELF_DAYS else "unmarked"


def _and_kin(said: str, others: int) -> str:
    if not others:
        return said
    words = {"said": said, "n": others}
    if not said:
        return ngettext("%(n)d animal with records", "%(n)d animals with records", others) % words
    more = ngettext(
        "%(said)s; and %(n)d more relative", "%(said)s; and %(n)d more relatives", others
    )
    return more % words


def _mate(dose: int, sex: str) -> str:
    sow = (_("a self sow"), _("a clean marked sow"), _("an overmarked sow"))
    boar = (_("a self boar"), _("a clean marked boar"), _("an overmarked boar"))
    return (sow if sex == Sex.SOW else boar)[dose]


_STAGES = {
    Stage.NONE: lambda: _("unmarked"),
    Stage.COMING: lambda: _("points coming"),
    Stage.FULL: lambda: _("full points"),
    Stage.OVERMARKED: lambda: _("overmarked"),
}
