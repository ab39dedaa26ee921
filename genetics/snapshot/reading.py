"""The one door from the book's tables to the core's arrays: rows in, a frozen pedigree out.

Everything that the calculation takes for granted about the book is decided here: which boars may be
the sire of a litter whose sire is not written, what a founder was bought as, which looks count.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from types import MappingProxyType

import numpy as np
from django.db import transaction
from django.db.models import QuerySet
from numpy.typing import NDArray

from genetics.core.estimation.likelihood import Parameters
from genetics.core.pedigree.group_records import GroupCount, LabelSwap
from genetics.core.pedigree.litter import Litter as CoreLitter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.group_counts import GroupCountData, tallies_under
from genetics.core.penetrance.likelihood import founder_shares, likelihood_of_rows
from genetics.core.penetrance.observation import Observation
from genetics.models import Reckoning
from genetics.snapshot.conception import (
    boars_that_were_there,
    dam_of,
    weighed_by_dates,
    without_own_young,
)
from genetics.snapshot.group_counts import counted, likely_mix_ups
from genetics.snapshot.kept import Kept, book_revision, records_of_book
from genetics.snapshot.parameters import CurrentParameters, current_parameters
from herdbook.book.models import (
    Animal,
    Book,
    CandidateSire,
    GivenEvidence,
    Litter,
    LitterCount,
    Look,
)
from herdbook.book.models.animal import BoughtAs, Sex
from herdbook.book.models.look import Stage

# An animal whose birth is not known is taken for grown when its points were full.
GROWN_DAYS = 300

# Looks in the first fortnight are the very look that the animal was bought on.
BOUGHT_ON_DAYS = 14

# The stage that an animal must have shown to be sold as this.
_STAGE_OF = {
    BoughtAs.SELF: Stage.NONE,
    BoughtAs.MARKED: Stage.FULL,
    BoughtAs.OVERMARKED: Stage.OVERMARKED,
}


# Times that the book is read again, where somebody wrote to it meanwhile, before writers must wait.
TRIES = 3

# By keys of litter and boar: how many times likelier what is written of colours and coats makes a
# possible sire than the likeliest of his litter.
ColourOdds = Mapping[int, Mapping[int, float]]


@dataclass(frozen=True)
class Reading:
    """The whole book as arrays, one row an animal, in the order of ``keys``.

    ``litter_keys`` are those of the book's litters, in the order of ``assumed.litters``.
    ``likelihood`` (n, 3) is of all that was seen of each animal, ones where nothing says
    anything. ``founder_prior`` (n, 3) holds genotype shares of founders by what they were bought
    as, NaN elsewhere. ``recorded`` is the pedigree as written; in ``assumed`` a litter born at
    home without a sire has the boars that were there as candidates, pups may have been taken for
    each other, and counts of pups not told apart stand at their litter; ``counted`` are the same
    counts by its number, before they are weighed. ``looks`` are those by name that count and
    ``given`` (n, 3) is evidence that came with an animal; ``likelihood`` weighs both under the
    parameters ``current_parameters``, which all that is worked out from this reading goes by.
    """

    keys: tuple[int, ...]
    place: Mapping[int, int]
    litter_keys: tuple[int, ...]
    recorded: Pedigree
    assumed: Pedigree
    likelihood: NDArray[np.float64]
    founder_prior: NDArray[np.float64]
    looks: tuple[tuple[Observation, ...], ...]
    counted: Mapping[int, GroupCountData]
    given: NDArray[np.float64]
    current_parameters: CurrentParameters

    @property
    def parameters(self) -> Parameters:
        return self.current_parameters.parameters

    def __len__(self) -> int:
        return len(self.keys)

    def sire_is_written(self, number: int) -> bool:
        """Whether a boar, or several, is written as the sire of a litter of ``assumed``; also of
        one without pups that have a line, of which nothing is recorded."""
        pups = self.assumed.litters[number].pups
        written = int(self.recorded.litter_of[pups[0]]) if pups else -1
        return not pups or (written != -1 and bool(self.recorded.litters[written].sires))

    def weighed_by_colours(self, odds: ColourOdds) -> Reading:
        """The same with the weights of possible sires times what their colours say of them."""
        if not odds:
            return self
        litters = list(self.assumed.litters)
        for number, key in enumerate(self.litter_keys):
            litter, said = litters[number], odds.get(key, {})
            pairs = zip(litter.sires, litter.sire_weights, strict=True)
            weights = tuple(weight * said.get(self.keys[row], 1.0) for row, weight in pairs)
            litters[number] = replace(litter, sire_weights=weights)
        return replace(self, assumed=Pedigree(self.assumed.ids, tuple(litters)))


# As read, and with possible sires weighed by the colours that were worked out with the figures.
_AS_READ: Kept[Reading] = Kept(1, records_of_book)
_BY_COLOURS: Kept[Reading] = Kept(1)


def read_book(
    parameters: Parameters | None = None, *, colours: ColourOdds | None = None
) -> Reading:
    """Read every animal of the book, under the parameters in force or others that are given.

    `colours`: how they speak for each possible sire, by default as it was worked out with the
    figures of this revision. Raises PedigreeError where it contradicts itself. A reading under the
    parameters in force is kept while the book stands, and shared: its arrays are read-only.
    """
    if parameters is not None:
        reading = _at_rest(CurrentParameters(parameters))
        return reading.weighed_by_colours(_colours_for(reading) if colours is None else colours)
    reading = _AS_READ.get("all", lambda: _at_rest(current_parameters()))
    if colours is not None:
        return reading.weighed_by_colours(colours)
    return _BY_COLOURS.get("all", lambda: reading.weighed_by_colours(_colours_for(reading)))


def _at_rest(current: CurrentParameters) -> Reading:
    """Read the book while nobody writes to it: what is read between two writes is of neither."""
    for _ in range(TRIES):
        before = book_revision()
        try:
            reading = _read(current)
        except Exception:
            if book_revision() == before:
                raise
        else:
            if book_revision() == before:
                return reading
    with transaction.atomic():
        Book.objects.select_for_update().filter(pk=1).first()  # writers wait
        return _read(current)


def _read(current: CurrentParameters) -> Reading:
    animals = list(Animal.objects.select_related("litter").order_by("pk"))
    by_key = {animal.pk: animal for animal in animals}
    place = {animal.pk: row for row, animal in enumerate(animals)}
    boars: dict[int, list[Animal]] = defaultdict(list)
    for animal in animals:
        if animal.sex == Sex.BOAR:
            boars[animal.herd_id].append(animal)
    sires = _written_sires()
    litters = [*Litter.objects.order_by("pk")]
    pups = _pups(animals)
    ids = tuple(animal.full_name for animal in animals)
    written = {litter.pk: sires.get(litter.pk, ()) for litter in litters}
    there = {
        litter.pk: weighed_by_dates(litter, written[litter.pk], by_key)
        or boars_that_were_there(litter, dam_of(litter, by_key), boars[litter.herd_id])
        for litter in litters
    }
    dams = {litter.pk: litter.dam_id for litter in litters}
    assumed = without_own_young(there, sires, dams, pups, place)
    parentless = {
        litter.pk for litter in litters if litter.dam_id is None and not assumed[litter.pk]
    }
    looks = _looks_by_name(animals, parentless, Look.objects.all())
    mix_ups = _mix_ups(by_key, looks, place)
    counts, _ = counted(by_key, looks, LitterCount.objects.all())
    counts = {litter: together.renumbered(place) for litter, together in counts.items()}
    tally = tallies_under(counts, curves=current.parameters.curves)
    telling = _core_litters(litters, pups, assumed, place, mix_ups, tally)
    given = _given(place)
    reading = Reading(
        keys=tuple(place),
        place=MappingProxyType(place),
        litter_keys=tuple(telling),
        recorded=Pedigree(ids, tuple(_core_litters(litters, pups, written, place).values())),
        assumed=Pedigree(ids, tuple(telling.values())),
        likelihood=_likelihood(place, looks, current.parameters) * given,
        founder_prior=_founder_prior(animals, parentless),
        looks=tuple(tuple(looks[key]) for key in place),
        counted=MappingProxyType(
            {number: counts[key] for number, key in enumerate(telling) if key in counts}
        ),
        given=given,
        current_parameters=current,
    )
    for table in (reading.likelihood, reading.founder_prior, reading.given):
        table.flags.writeable = False
    return reading


def _colours_for(reading: Reading) -> ColourOdds:
    """What was worked out of colours, where more than one boar may be the sire of some litter."""
    uncertain = any(len(litter.sires) > 1 for litter in reading.assumed.litters)
    return _kept_colour_odds() if uncertain else {}


def _kept_colour_odds() -> ColourOdds:
    """What was worked out of colours with the figures, if the book has not moved on since."""
    made = Reckoning.objects.filter(pk=1, revision=book_revision()).first()
    odds: dict[int, dict[int, float]] = defaultdict(dict)
    for litter, boar, one in made.colour_odds if made else ():
        odds[litter][boar] = one
    return odds


def counts_left_out(litter: Litter) -> int:
    """How many of a litter's counts are too many to be weighed: the oldest ones."""
    if not litter.counts.exists():
        return 0
    pups = {pup.pk: pup for pup in litter.pups.select_related("litter")}
    parentless = set() if litter.has_known_parent else {litter.pk}
    rows = Look.objects.filter(animal__litter=litter)
    looks = _looks_by_name([*pups.values()], parentless, rows)
    return counted(pups, looks, litter.counts.all())[1].get(litter.pk, 0)


def _written_sires() -> dict[int, tuple[tuple[int, float], ...]]:
    found: dict[int, list[tuple[int, float]]] = defaultdict(list)
    rows = CandidateSire.objects.order_by("pk").values_list("litter_id", "boar_id", "weight")
    for litter, boar, weight in rows:
        found[litter].append((boar, weight))
    return {litter: tuple(boars) for litter, boars in found.items()}


def _pups(animals: Sequence[Animal]) -> dict[int, list[int]]:
    pups: dict[int, list[int]] = defaultdict(list)
    for row, animal in enumerate(animals):
        pups[animal.litter_id].append(row)
    return pups


def _core_litters(
    litters: Sequence[Litter],
    pups: dict[int, list[int]],
    sires: dict[int, tuple[tuple[int, float], ...]],
    place: dict[int, int],
    mix_ups: Mapping[int, tuple[LabelSwap, ...]] = MappingProxyType({}),
    tally: Mapping[int, GroupCount] = MappingProxyType({}),
) -> dict[int, CoreLitter]:
    """Litters with something to say, by key: a known parent, or littermates that share unknown
    ones. One without pups that have a line says something by a count of the others."""
    made = {}
    for litter in litters:
        rows = pups.get(litter.pk, [])
        dams = () if litter.dam_id is None else (place[litter.dam_id],)
        boars = sires[litter.pk]
        if (rows and (dams or boars or len(rows) > 1)) or litter.pk in tally:
            made[litter.pk] = CoreLitter(
                pups=tuple(rows),
                sires=tuple(place[boar] for boar, _ in boars),
                sire_weights=tuple(weight for _, weight in boars),
                dams=dams,
                tally=tally.get(litter.pk),
                mix_ups=mix_ups.get(litter.pk, ()),
            )
    return made


def _looks_by_name(
    animals: Sequence[Animal], parentless: set[int], rows: QuerySet[Look]
) -> dict[int, list[Observation]]:
    """What was seen of each animal by name, by its key, as far as it counts."""
    looks: dict[int, list[Look]] = defaultdict(list)
    for look in rows.order_by("on", "pk"):
        looks[look.animal_id].append(look)
    return {
        animal.pk: looks_that_count(
            animal, looks[animal.pk], founder=animal.litter_id in parentless
        )
        for animal in animals
    }


def _mix_ups(
    animals: Mapping[int, Animal], looks: Mapping[int, list[Observation]], place: dict[int, int]
) -> dict[int, tuple[LabelSwap, ...]]:
    """Of each litter, the pups that may have been taken for each other, by row."""
    pups: dict[int, list[Animal]] = defaultdict(list)
    for animal in animals.values():
        pups[animal.litter_id].append(animal)
    given = set(GivenEvidence.objects.values_list("animal_id", flat=True))
    return {
        litter: tuple(
            LabelSwap(place[first], place[second], chance)
            for first, second, chance in likely_mix_ups(littermates, looks, given)
        )
        for litter, littermates in pups.items()
    }


def _likelihood(
    place: dict[int, int], looks: Mapping[int, list[Observation]], parameters: Parameters
) -> NDArray[np.float64]:
    """Of what was written of each: that may be of an animal that nobody thinks of, whether or not
    it may be of a littermate, which is weighed with the litter."""
    return likelihood_of_rows([looks[key] for key in place], curves=parameters.curves)


def _given(place: dict[int, int]) -> NDArray[np.float64]:
    table = np.ones((len(place), 3))
    for given in GivenEvidence.objects.all():
        table[place[given.animal_id]] *= [given.like0, given.like1, given.like2]
    return table


def looks_that_count(animal: Animal, looks: Sequence[Look], *, founder: bool) -> list[Observation]:
    """Each look that says something of an animal's dose, as it was seen; oldest first."""
    return [seen for _, seen in looks_behind(animal, looks, founder=founder)]


def looks_behind(
    animal: Animal, looks: Sequence[Look], *, founder: bool
) -> list[tuple[Look | None, Observation]]:
    """The same with the look itself; None stands for what the animal was bought as.

    Points show on red-series coats only. What a founder was bought as is in its prior, so the look
    that it was bought on does not count again. What an animal with known parents was bought as
    counts as a look on the day it came.
    """
    if not animal.shows_points:
        return []
    if founder and animal.bought_as:
        looks = _made_here(animal, looks)
    seen: list[tuple[Look | None, Observation]] = [
        (look, _as_seen(look, age))
        for look in looks
        if (age := _age(animal, look.on, look.stage)) is not None
    ]
    if animal.bought_as and not founder and not looks:
        stage = _STAGE_OF[BoughtAs(animal.bought_as)]
        came = None if animal.came_on is None else animal.came_on.middle
        age = GROWN_DAYS if came is None else _age(animal, came, stage)
        if age is not None:
            seen.append((None, Observation(stage, age)))
    return seen


def _as_seen(look: Look, age_days: int) -> Observation:
    """All of a look that counts: bare skin does not, pads may be dark at birth on a self."""
    return Observation(
        look.stage,
        age_days,
        warmth=look.warmth,
        spread=look.spread,
        stain=look.stain,
        smut=look.smut,
        ears=look.ears,
        fore_feet=look.fore_feet,
        hind_feet=look.hind_feet,
    )


def _made_here(animal: Animal, looks: Sequence[Look]) -> Sequence[Look]:
    """The looks after the one that the animal was bought on; where nobody wrote when it came,
    the first look is taken for that one."""
    if animal.came_on is None:
        return looks[1:]
    last = animal.came_on.latest + timedelta(days=BOUGHT_ON_DAYS)
    return [look for look in looks if look.on > last]


def _age(animal: Animal, on: date, stage: str) -> int | None:
    """Age in days at a look; without a birth date, grown where the points were already there."""
    age = animal.age_days(on)
    if age is not None:
        return max(age, 0)
    return GROWN_DAYS if stage in (Stage.FULL, Stage.OVERMARKED) else None


def _founder_prior(animals: Sequence[Animal], parentless: set[int]) -> NDArray[np.float64]:
    prior = np.full((len(animals), 3), np.nan)
    for row, animal in enumerate(animals):
        if animal.litter_id in parentless and animal.bought_as:
            prior[row] = founder_shares(animal.bought_as)
    return prior
