"""What the book says of pups that were not told apart: counts without names, and likely mix-ups.

Which littermates can be taken for each other is decided here: those born here, of one sex and one
body colour as far as either is written, whose evidence is of looks made here. How surely a pup is
told from them is what its keeper wrote: a tag, a sign, or nothing yet.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import combinations

from django.db.models import QuerySet

from genetics.core.pedigree.group_records import LabelSwap
from genetics.core.peeling.unidentified_pups import exchange_chances
from genetics.core.penetrance.group_counts import GroupCountData, SeenTogether, count_of_litter
from genetics.core.penetrance.observation import Observation
from herdbook.book.models import Animal, LitterCount
from herdbook.book.models.animal import State, ToldApart
from herdbook.book.models.base import Sureness
from herdbook.book.models.litter import Source
from herdbook.book.partial_date import PartialDate

# From this age on nobody waits for a sign to tell littermates by: a look at an animal so old was
# made at the animal that its keeper knows (common practice, no source).
KNOWN_FROM_DAYS = 150

Looks = Mapping[int, Sequence[Observation]]


def likely_mix_ups(pups: Sequence[Animal], looks: Looks, given: Collection[int]) -> list[LabelSwap]:
    """The pups of one litter that may have been taken for each other, by key.

    `looks`: what was seen of each by name; `given`: those whose evidence came with them.
    """
    here = [pup for pup in pups if _looked_at_here(pup) and pup.pk not in given]
    alike = [
        (one.pk, other.pk)
        for one, other in combinations(here, 2)
        if _alike(one.sex, other.sex) and _alike(one.coat, other.coat)
    ]
    return exchange_chances({pup.pk: told_apart_by(pup, looks[pup.pk]) for pup in here}, alike)


def told_apart_by(pup: Animal, looks: Sequence[Observation]) -> str:
    """How surely a pup is told from its littermates, as a word of the core's table."""
    if pup.sureness != Sureness.SURE:
        return "unsure" if pup.sureness == Sureness.UNSURE else "fairly"
    if pup.tag or pup.told_apart == ToldApart.TAG:
        return "tag"
    known = max((look.age_days for look in looks), default=0) >= KNOWN_FROM_DAYS
    return "signs" if pup.told_apart or known else "not yet"


def counted(
    animals: Mapping[int, Animal], looks: Looks, rows: QuerySet[LitterCount]
) -> tuple[dict[int, GroupCountData], dict[int, int]]:
    """The counts of each litter that are weighed, its pups by key; and of how many counts no
    notice is taken, where a litter has too many of them: the oldest. `looks` are by name, of
    `animals`."""
    counts: dict[int, list[LitterCount]] = defaultdict(list)
    for count in rows.select_related("litter").prefetch_related("among"):
        counts[count.litter_id].append(count)
    found, left_out = {}, {}
    for litter, own in counts.items():
        together, dropped = _together(own, animals, looks)
        if together is not None:
            found[litter] = together
        if dropped:
            left_out[litter] = dropped
    return found, left_out


def _together(
    counts: Iterable[LitterCount], animals: Mapping[int, Animal], looks: Looks
) -> tuple[GroupCountData | None, int]:
    seen = [
        _as_seen(count, born, animals)
        for count in counts
        if (born := count.litter.born) is not None
    ]
    pups = {pup for one in seen for pup in one.pups}
    silent = [pup for pup in pups if not animals[pup].shows_points]
    return count_of_litter(seen, looks, silent=silent)


def _as_seen(count: LitterCount, born: PartialDate, animals: Mapping[int, Animal]) -> SeenTogether:
    """A count, at the age of a litter born then; a pup that was moved to another litter since
    stands for one without a line."""
    none, coming, full, overmarked = count.counted
    pups = [
        row.animal_id
        for row in count.among.all()
        if row.animal_id in animals and animals[row.animal_id].litter_id == count.litter_id
    ]
    there = max(len(count.among.all()) + count.nameless, sum(count.counted))
    return SeenTogether(
        tuple(pups),
        there - len(pups),
        (none, coming, full, overmarked),
        max((count.on - born.middle).days, 0),
        count.warmth,
    )


def _looked_at_here(pup: Animal) -> bool:
    return (
        pup.litter.source == Source.HOME
        and pup.state != State.PAPER
        and not pup.bought_as
        and not pup.came_on
    )


def _alike(one: str, other: str) -> bool:
    """Whether a sex or a colour, as far as it is written, tells two apart."""
    return one == other or not one or not other
